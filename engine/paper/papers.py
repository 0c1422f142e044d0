"""Which papers there are, in which forms: one table, from which all else is derived.

Commands, the list of what is printed, the page of the papers and what a refusal names go by it.
What a form needs is imported where it is made, so that a text costs no PDF.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

if TYPE_CHECKING:
    from cartclock.engine.paper.facts import PaperFacts
    from cartclock.engine.paper.page.medium import Medium
    from cartclock.engine.paper.sheet import Sheet

Maker = Callable[["PaperFacts"], bytes]

# What a form's file is called at its end, where that is not the form's own name.
ENDINGS = {"text": "txt", "products": "products.csv"}
# Forms that are no text; a terminal would take their bytes for commands.
BINARY = frozenset({"pdf"})
# What is printed: the first of these that a paper has.
PRINTED = ("pdf", "text")


class Paper(Struct, frozen=True):
    """A paper.

    Fields:
        said: what it is, in few words.
        sheet: where it is in `engine.paper.sheets`, "record.RECORD"; "" if no form is set.
        forms: by name, in the order in which they are named; None: its sheet, set in the
            medium of that name.
        of: what it is asked for by: a job, a day, or a vehicle, which any of its jobs names.
        hot: the letter that prints it; "" if it is not printed from the list.
        inside: True if it stays in the shop: hours, reasons and private notes stand in it.
        help: what its command does; "" if it is no command.
        under: the command that gives it by a flag of its name; "": it is a command itself.
        flags: forms that its command gives by a flag, with the help of each.
    """

    said: str
    sheet: str
    forms: Mapping[str, Maker | None]
    of: Literal["job", "day", "vehicle"] = "job"
    hot: str = ""
    inside: bool = False
    help: str = ""
    under: str = ""
    flags: Mapping[str, str] = {}

    def made(self, form: str, facts: PaperFacts) -> bytes:
        """The paper in one of its forms; raises KeyError for another."""
        maker = self.forms[form]
        if maker is not None:
            return maker(facts)
        from cartclock.engine.paper.sheet import render

        return render(self.as_sheet, facts, medium(form, facts))

    @property
    def as_sheet(self) -> Sheet:
        """What it says; raises ValueError if it has none."""
        name, _dot, attribute = self.sheet.partition(".")
        if not name:
            raise ValueError("this paper is not set")
        sheet: Sheet = getattr(import_module(f"cartclock.engine.paper.sheets.{name}"), attribute)
        return sheet


def medium(form: str, facts: PaperFacts) -> Medium:
    """An empty medium by its name; raises ValueError for another."""
    match form:
        case "text":
            from cartclock.engine.paper.page.text.medium import Text

            return Text(facts.width)
        case "html":
            from cartclock.engine.paper.page.html.medium import Html

            return Html()
        case "pdf":
            from cartclock.engine.paper.page.pdf.medium import Pdf

            return Pdf(facts.size)
        case _:
            raise ValueError(f"nothing is set in {form}")


def _record_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.json_form import record_json

    return record_json(facts.of_job, facts.out, facts.currency).encode()


def _record_csv(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.csv_form import segments_csv

    return segments_csv(facts.of_job.accounts, facts.of_job.zone).encode()


def _record_products(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.csv_form import products_csv

    return products_csv(facts.of_job, facts.currency).encode()


def _day_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.json_form import day_json

    return day_json(facts.of_day).encode()


def _day_csv(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.csv_form import segments_csv

    accounts = [shift.account for shift in facts.of_day.shifts]
    return segments_csv(accounts, facts.of_day.zone).encode()


def _sheet_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.json_form import customer_json
    from cartclock.engine.record.customer import customer_sheet

    return customer_json(customer_sheet(facts.of_job), facts.shop, facts.out).encode()


def _arrival_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.json_form import arrival_json
    from cartclock.engine.record.arrival import arrival_sheet

    sheet = arrival_sheet(facts.of_job)
    return arrival_json(sheet, facts.shop, facts.currency, facts.out).encode()


def _vehicle_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.json_form import vehicle_json

    return vehicle_json(facts.of_vehicle, facts.currency).encode()


def _together_json(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.chapters.parts import not_told_texts
    from cartclock.engine.paper.forms.json_form import customer_json
    from cartclock.engine.record.whole_vehicle import joined_sheet

    whole = facts.of_vehicle
    missing = not_told_texts(whole)
    return customer_json(joined_sheet(whole), facts.shop, facts.out, missing).encode()


def _aftercare_ics(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.calendar_form import calendar_file

    number = 0 if facts.revision is None else facts.revision.number
    shop = facts.shop
    return calendar_file(facts.of_job, number, facts.handed_out, shop.name, shop.phone)


def _message(facts: PaperFacts) -> bytes:
    from cartclock.engine.paper.forms.message import message

    # Nothing stands behind it: it is copied into a phone as it is.
    return f"{message(facts.of_job, facts.shop.name, facts.shop.phone)}\n".encode()


PAPERS: Mapping[str, Paper] = {
    "sheet": Paper(
        "the customer's sheet",
        "customer.CUSTOMER",
        {"text": None, "html": None, "json": _sheet_json, "pdf": None},
        hot="c",
        help="Print the customer's sheet of a job: what was done, and what to mind until when.",
    ),
    "record": Paper(
        "the record",
        "record.RECORD",
        {
            "text": None,
            "html": None,
            "json": _record_json,
            "csv": _record_csv,
            "products": _record_products,
            "pdf": None,
        },
        hot="r",
        inside=True,
        help="Print the record of a job, by its number.",
    ),
    "arrival": Paper(
        "the arrival sheet",
        "arrival.ARRIVAL",
        {"text": None, "html": None, "json": _arrival_json, "pdf": None},
        hot="a",
        help="Print the arrival sheet of a job: how the vehicle came, and what was agreed.",
    ),
    "day": Paper(
        "the day",
        "day.DAY",
        {"text": None, "html": None, "json": _day_json, "csv": _day_csv, "pdf": None},
        of="day",
        hot="d",
        help="Print the summary of a day (YYYY-MM-DD; today if left out).",
    ),
    "vehicle": Paper(
        "the record of a vehicle worked on in parts",
        "vehicle.VEHICLE",
        {"text": None, "html": None, "json": _vehicle_json, "pdf": None},
        of="vehicle",
        hot="v",
        inside=True,
        help="Print the record of a vehicle with all its parts, by the number of one of them.",
    ),
    "together": Paper(
        "the customer's sheet of a vehicle worked on in parts",
        "customer.TOGETHER",
        {"text": None, "html": None, "json": _together_json, "pdf": None},
        of="vehicle",
        hot="t",
        help="Print the customer's sheet of a vehicle with all its parts.",
    ),
    "aftercare": Paper(
        "the dates of a job's aftercare",
        "aftercare.AFTERCARE",
        {"text": None, "ics": _aftercare_ics},
        help="Print the dates of a job's aftercare.",
        flags={"ics": "The dates as a calendar file."},
    ),
    "message": Paper("a short message to the customer", "", {"text": _message}, under="aftercare"),
    "windscreen": Paper(
        "a card for the windscreen",
        "windscreen.WINDSCREEN",
        {"text": None, "html": None, "pdf": None},
        hot="w",
        under="aftercare",
    ),
}
