"""The record of a job: its first page tells the days, the pages behind it all the rest."""

from __future__ import annotations

from cartclock.engine.dates import spoken
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.hours.partition import Piece
from cartclock.engine.paper.chapters.dealings import put_dealings
from cartclock.engine.paper.chapters.exposure import put_exposures
from cartclock.engine.paper.chapters.incidents import put_incidents
from cartclock.engine.paper.chapters.notes import put_notes
from cartclock.engine.paper.chapters.products import put_products
from cartclock.engine.paper.chapters.readings import put_readings
from cartclock.engine.paper.chapters.sections import put_sections
from cartclock.engine.paper.chapters.shift_strips import (
    HEAT_LEGEND,
    LEGEND,
    heat_legend,
    put_strips_of,
)
from cartclock.engine.paper.chapters.ten_lines import put_ten_lines
from cartclock.engine.paper.chapters.time_sheet import (
    breaks_text,
    open_questions,
    put_hours,
    put_law,
    put_stages,
    put_told,
    shift_remark,
    shift_span,
)
from cartclock.engine.paper.chapters.vehicle import price_text, put_vehicle
from cartclock.engine.paper.chapters.window_strips import put_windows
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.drawing import Pictures
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.said import short_moment
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.paper.sheets.revision import put_revision
from cartclock.engine.paper.sheets.told_dates import put_told_dates
from cartclock.engine.record.record import Record


def put_record(medium: Medium, facts: PaperFacts) -> None:
    """All chapters of the record."""
    record = facts.of_job
    zone = record.zone
    _put_head(medium, facts)
    put_ten_lines(medium, record, facts.unit)
    _put_shifts(medium, record, facts.unit)
    put_windows(medium, record.windows, {stage.stage: stage.layers for stage in record.stages})
    put_incidents(medium, record.incidents, zone)
    _put_hours(medium, record, facts.round_minutes)
    put_sections(medium, record, facts.unit)
    put_vehicle(medium, record, facts.currency)
    put_readings(medium, record.readings, record.exposures, record.coated, zone, facts.unit)
    put_exposures(medium, record.exposures, zone, facts.unit)
    put_products(medium, record.used, record.products, zone, facts.currency)
    put_told_dates(medium, record, facts.unit)
    put_dealings(medium, record.dealings, zone)
    put_notes(medium, record, facts.unit)
    _put_proof(medium, record)
    put_revision(medium, facts.out, zone, True)
    medium.drawing(Pictures(facts.pictures, zone))


RECORD = Sheet("Job record", put_record, body_pt=8.3)


def _put_head(medium: Medium, facts: PaperFacts) -> None:
    record = facts.of_job
    zone, closed_us, promised_us = record.zone, record.closed_us, record.promised_us
    medium.head(SheetHead(f"job {record.number}", record.now_us, zone, facts.shop))
    price = price_text(record.price, facts.currency)
    promised = "" if promised_us is None else f"promised {short_moment(promised_us, zone)}"
    closed = "not closed yet" if closed_us is None else f"closed {short_moment(closed_us, zone)}"
    who = (record.customer, record.phone, record.plan)
    when = (f"Opened {spoken(record.opened_us, zone)}", promised, closed, zone)
    lines = (", ".join(part for part in who if part), "; ".join(part for part in when if part))
    medium.lead(record.vehicle, record.plate, lines, price and f"Price agreed {price}")


def _put_shifts(medium: Medium, record: Record, unit: TemperatureUnit) -> None:
    numbers = {share.job: share.number for share in record.shares}

    def name(piece: Piece) -> str:
        """Stages of this job by name, other jobs by number alone."""
        return piece.stage if piece.job == record.job else f"Job {numbers.get(piece.job, 0)}"

    courses = {one.shift: one for one in record.courses}
    for account in record.accounts:
        medium.heading(f"Shift {shift_span(account, record.zone)}", shift_remark(account))
        heat = courses.get(account.shift)
        put_strips_of(medium, account, record.windows, record.zone, name, heat, unit)
    if record.accounts:
        medium.legend(LEGEND)
    if any(one.limits for one in record.courses):
        medium.legend(HEAT_LEGEND, heat_legend(unit))


def _put_hours(medium: Medium, record: Record, round_minutes: int) -> None:
    accounts, zone = record.accounts, record.zone
    medium.heading("Hours", "hours:minutes")
    if not accounts:
        medium.words("No shift was worked on this job.")
    else:
        medium.beside(
            lambda left: put_hours(left, accounts, record.job, zone),
            lambda right: put_stages(right, accounts, record.job, zone),
        )
    medium.words(breaks_text(accounts, zone), hangs=True)
    put_told(medium, accounts, zone, round_minutes)
    for said in open_questions(accounts, zone):
        medium.words(f"Not answered: {said}", hangs=True)
    put_law(medium, [account.rule_set for account in accounts])


def _put_proof(medium: Medium, record: Record) -> None:
    made, proof = spoken(record.now_us, record.zone), record.proof
    digest = f"; its newest row has the digest {proof.digest}" if proof.digest else ""
    medium.words(
        f"Made {made} from a log of {proof.rows} rows{digest}. Reckoned by version "
        f"{record.reckoning} of the rules.",
        small=True,
    )
