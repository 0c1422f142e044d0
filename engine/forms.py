"""Which documents there are, in which forms, and what makes each of them.

Everything a form needs is imported where it is made, so that a text costs no PDF.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from engine.job.arrival_sheet import arrival_sheet
from engine.job.customer_sheet import customer_sheet
from engine.job.day import Day
from engine.job.entries import Entry
from engine.job.picture import Picture
from engine.job.record import Record
from engine.job.revision import Revision
from engine.paper.shop_head import ShopHead
from engine.store.settings import Settings


class Source(Struct, frozen=True):
    """What a document is made from; of record and day the one that its kind needs is there.

    Fields:
        settings: what the worker has settled.
        record: of the job; None for a day.
        day: the day; None for a job.
        revision: which one this is or, for a copy, would be; None for a day.
        issued: False for a copy that is only looked at.
        handed_out: the calendar entries that earlier revisions held.
    """

    settings: Settings
    record: Record | None = None
    day: Day | None = None
    revision: Revision | None = None
    issued: bool = False
    handed_out: tuple[Entry, ...] = ()

    @property
    def of_job(self) -> Record:
        """The record; raises ValueError if the document is of no job."""
        if self.record is None:
            raise ValueError("this document is of no job")
        return self.record

    @property
    def out(self) -> Revision | None:
        """The revision that the paper names: a copy that is only looked at names none."""
        return self.revision if self.issued else None

    @property
    def of_day(self) -> Day:
        """The day; raises ValueError if the document is of no day."""
        if self.day is None:
            raise ValueError("this document is of no day")
        return self.day


Maker = Callable[[Source], bytes]
# What a form's file is called at its end, where that is not the form's own name.
ENDINGS = {"text": "txt", "products": "products.csv"}


def _head(source: Source) -> ShopHead:
    shop = source.settings.shop
    return ShopHead(shop.name, shop.lines, shop.phone)


def _text(source: Source, text: str, inside: bool = False) -> bytes:
    """A text in UTF-8, with its revision behind it if it leaves the laptop."""
    from engine.paper.page.text import Page
    from engine.paper.sheets.revision import put_revision

    if source.out is None:
        return text.encode()
    page = Page()
    put_revision(page, source.out, source.of_job.zone, inside)
    return f"{text}{page}".encode()


def _pictures(source: Source) -> tuple[Picture, ...]:
    from engine.store.picture_file import pictures

    return pictures(source.of_job.condition.files)


# The record of a job.


def _record_text(source: Source) -> bytes:
    from engine.paper.sheets.record import record_text

    settings = source.settings
    text = record_text(source.of_job, settings.round_minutes, settings.currency)
    return _text(source, text, inside=True)


def _record_html(source: Source) -> bytes:
    from engine.paper.html import record_html

    settings = source.settings
    return record_html(
        source.of_job,
        settings.round_minutes,
        settings.currency,
        _pictures(source),
        source.out,
    ).encode()


def _record_json(source: Source) -> bytes:
    from engine.paper.forms.json_form import record_json

    return record_json(source.of_job, source.out).encode()


def _record_csv(source: Source) -> bytes:
    from engine.paper.forms.csv_form import segments_csv

    return segments_csv(source.of_job.accounts, source.of_job.zone).encode()


def _record_products(source: Source) -> bytes:
    from engine.paper.forms.csv_form import products_csv

    return products_csv(source.of_job, source.settings.currency).encode()


def _record_pdf(source: Source) -> bytes:
    from engine.paper.record_pdf import record_pdf

    settings = source.settings
    return record_pdf(
        source.of_job,
        _head(source),
        settings.printing.paper,
        settings.round_minutes,
        settings.currency,
        pictures=_pictures(source),
        revision=source.out,
    )


# A day.


def _day_text(source: Source) -> bytes:
    from engine.paper.sheets.day import day_text

    return day_text(source.of_day, source.settings.round_minutes).encode()


def _day_html(source: Source) -> bytes:
    from engine.paper.html import day_html

    return day_html(source.of_day, source.settings.round_minutes).encode()


def _day_json(source: Source) -> bytes:
    from engine.paper.forms.json_form import day_json

    return day_json(source.of_day).encode()


def _day_csv(source: Source) -> bytes:
    from engine.paper.forms.csv_form import segments_csv

    day = source.of_day
    return segments_csv([shift.account for shift in day.shifts], day.zone).encode()


def _day_pdf(source: Source) -> bytes:
    from engine.paper.day_pdf import day_pdf

    settings = source.settings
    paper = settings.printing.paper
    return day_pdf(source.of_day, _head(source), paper, settings.round_minutes)


# The customer's sheet.


def _sheet_text(source: Source) -> bytes:
    from engine.paper.sheets.customer import customer_text

    return _text(source, customer_text(customer_sheet(source.of_job), _head(source)))


def _sheet_html(source: Source) -> bytes:
    from engine.paper.html import customer_html

    return customer_html(customer_sheet(source.of_job), _head(source), source.out).encode()


def _sheet_json(source: Source) -> bytes:
    from engine.paper.forms.json_form import customer_json

    return customer_json(customer_sheet(source.of_job), _head(source), source.out).encode()


def _sheet_pdf(source: Source) -> bytes:
    from engine.paper.customer_pdf import customer_pdf

    sheet, paper = customer_sheet(source.of_job), source.settings.printing.paper
    return customer_pdf(sheet, _head(source), paper, revision=source.out)


# The arrival sheet.


def _arrival_text(source: Source) -> bytes:
    from engine.paper.sheets.arrival import arrival_text

    sheet, currency = arrival_sheet(source.of_job), source.settings.currency
    return _text(source, arrival_text(sheet, _head(source), currency))


def _arrival_html(source: Source) -> bytes:
    from engine.paper.html import arrival_html

    sheet, currency = arrival_sheet(source.of_job), source.settings.currency
    return arrival_html(sheet, _head(source), currency, source.out).encode()


def _arrival_json(source: Source) -> bytes:
    from engine.paper.forms.json_form import arrival_json

    sheet, currency = arrival_sheet(source.of_job), source.settings.currency
    return arrival_json(sheet, _head(source), currency, source.out).encode()


def _arrival_pdf(source: Source) -> bytes:
    from engine.paper.customer_pdf import arrival_pdf

    settings = source.settings
    sheet, paper = arrival_sheet(source.of_job), settings.printing.paper
    return arrival_pdf(sheet, _head(source), paper, settings.currency, revision=source.out)


# The dates of the aftercare.


def _aftercare_text(source: Source) -> bytes:
    from engine.paper.page.text import Page
    from engine.paper.sheets.aftercare import put_aftercare, put_films

    record = source.of_job
    page = Page()
    page.title("AFTERCARE", f"job {record.number}")
    page.line()
    page.line(record.vehicle)
    if not record.cures and not record.recoats and not record.cares:
        page.line()
        page.line("The plan of this job names no aftercare and no cure.")
    put_films(page, record)
    put_aftercare(page, record.cares, record.zone)
    return _text(source, str(page))


def _aftercare_ics(source: Source) -> bytes:
    from engine.paper.forms.calendar_form import calendar_file

    shop = source.settings.shop
    number = 0 if source.revision is None else source.revision.number
    return calendar_file(source.of_job, number, source.handed_out, shop.name, shop.phone)


def _message_text(source: Source) -> bytes:
    from engine.paper.forms.message import message

    # Nothing stands behind it: it is copied into a phone as it is.
    shop = source.settings.shop
    return f"{message(source.of_job, shop.name, shop.phone)}\n".encode()


def _windscreen_text(source: Source) -> bytes:
    from engine.paper.sheets.windscreen import windscreen_text

    shop = source.settings.shop
    return windscreen_text(source.of_job, shop.name, shop.phone).encode()


FORMS: Mapping[str, Mapping[str, Maker]] = {
    "sheet": {"text": _sheet_text, "html": _sheet_html, "json": _sheet_json, "pdf": _sheet_pdf},
    "record": {
        "text": _record_text,
        "html": _record_html,
        "json": _record_json,
        "csv": _record_csv,
        "products": _record_products,
        "pdf": _record_pdf,
    },
    "arrival": {
        "text": _arrival_text,
        "html": _arrival_html,
        "json": _arrival_json,
        "pdf": _arrival_pdf,
    },
    "day": {
        "text": _day_text,
        "html": _day_html,
        "json": _day_json,
        "csv": _day_csv,
        "pdf": _day_pdf,
    },
    "aftercare": {"text": _aftercare_text, "ics": _aftercare_ics},
    "message": {"text": _message_text},
    "windscreen": {"text": _windscreen_text},
}
