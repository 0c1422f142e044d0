"""A vehicle's card as a page: what it brings with it when it comes again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cartclock.engine.dates import hours_text, local, spoken_day
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.history.answers import job_handle
from cartclock.engine.history.job_lines import JobLine
from cartclock.engine.history.vehicle_card import CardCare, CardDamage, CardPaint, VehicleCard
from cartclock.engine.paper.keep import visit_day, visit_name
from cartclock.engine.record.customer import FilmLaid, Visit, due_text
from cartclock.engine.vehicle.paint import build_text, gloss_text
from cartclock.engine.vehicle.vehicle import PanelPaint
from cartclock.tui.face.page import Cells, Column, Heading, Page, PageRow, Table, Words

NO_JOB = Page("Vehicle", (Words("No job yet."),), reading=True)
BY_NAME = "Known by the name of the vehicle alone: it may be another one."

# Visits to come that are said by themselves. Our own judgement.
_NEXT_VISITS = 3
_VISITS, _FACTS = 0, 1
_TABLES = (
    Table(
        (
            Column("visit", right=True),
            Column("day"),
            Column("plan", least=12, folds=True),
            Column("planned", right=True, rank=1),
            Column("taken", right=True),
        )
    ),
    Table((Column(dim=True, least=10, most=24, folds=True), Column(least=16, folds=True))),
)


def card_page(card: VehicleCard, goes_on: bool = False, unread: int = 0) -> Page:
    """The page.

    Args:
        goes_on: True where a press goes on with a new job.
        unread: jobs of the log that are still to be read.
    """
    count = len(card.visits)
    times = "once" if count == 1 else f"{count} times"
    rows: list[PageRow] = []
    if goes_on:
        rows.append(Words("SPACE goes on with the new job.", bold=True))
    if unread:
        jobs = f"{unread} job{'' if unread == 1 else 's'}"
        rows.append(Words(f"Not all is here yet: {jobs} still to be read.", bold=True))
    if not card.by_plate:
        rows.append(Words(BY_NAME))
    parts: tuple[tuple[str, Sequence[PageRow]], ...] = (
        ("owed", list(_owed(card))),
        ("on it", [_film(one.number, one.film) for one in card.films]),
        ("paint then, total build", [_paint(one, card.zone) for one in card.paints]),
        ("damage then", [_damage(one) for one in card.damages]),
    )
    for name, found in parts:
        if found:
            rows += (Heading(name), *found)
    missing = [name.partition(",")[0] for name, found in parts if not found]
    rows.append(Heading(table=_VISITS))
    rows += [_visit(job, line) for job, line in card.visits]
    if missing and not unread:
        rows.append(Words(f"The log has nothing of: {', '.join(missing)}.", dim=True))
    older = count - card.read
    if older > 0:
        said = f"Told of {card.read} of {count} visits, the newest; the others have their records."
        rows.append(Words(said, dim=True))
    name = f"{card.vehicle}, {card.plate}" if card.plate else card.vehicle
    top = (Heading(name, f"here {times}"),)
    return Page("Vehicle", tuple(rows), "", _TABLES, top, reading=True)


def _owed(card: VehicleCard) -> Iterator[PageRow]:
    """What is over and was not done as far as the log knows; then what holds and the next visits,
    by when they are due.
    """
    for over in (one for one in card.booked if one.state == "over"):
        day, what = _booked(over.visit, card.zone)
        yield Words(f"was due {day}, not here since: {what}", hang=2)
    ahead = [one for one in card.booked if one.state == "to come"]
    owed = [(one.at_us, _care(one, card.zone)) for one in card.cares]
    for visit in ahead[:_NEXT_VISITS]:
        day, what = _booked(visit.visit, card.zone)
        owed.append((visit.at_us, f"{day}: {what}"))
    for _at_us, said in sorted(owed, key=lambda one: one[0]):
        yield Words(said, hang=2)
    more = len(ahead) - _NEXT_VISITS
    if more > 0:
        yield Words(f"and {more} more visit{'' if more == 1 else 's'} after that", dim=True)


def _care(care: CardCare, zone: str) -> str:
    since = "until" if care.due.kind == "until" else "from"
    return f"{since} {due_text(care.due, zone)}: {care.say}"


def _booked(visit: Visit, zone: str) -> tuple[str, str]:
    """The day of a visit, and what it is for."""
    head, rest = visit_name(visit.say)
    return visit_day(visit, zone), f"{head}. {rest}".strip()


def _film(number: int, film: FilmLaid) -> Cells:
    names = ", ".join(put.name for put in film.products)
    layers = f"{film.layers} layers" if film.layers > 1 else "1 layer"
    days = " and ".join(dict.fromkeys(_day(day) for day in (*film.days[:1], *film.days[-1:])))
    fewer = f"fewer on {', '.join(name for name, _many in film.fewer)}" if film.fewer else ""
    parts = (names, film.lots_text, layers, days, f"job {number}", fewer)
    return Cells(_FACTS, (film.stage, ", ".join(part for part in parts if part)))


def _paint(one: CardPaint, zone: str) -> Cells:
    said = _reading(one.paint)
    day = _day(local(one.at_us, zone).date().isoformat())
    return Cells(_FACTS, (one.paint.panel, f"{said}, {day}, job {one.number}"))


def _damage(one: CardDamage) -> Cells:
    return Cells(_FACTS, (one.damage.panel, f"{one.damage.what}, job {one.number}"))


def _reading(paint: PanelPaint) -> str:
    """The newest of each: after the work if it was read then."""
    parts = []
    build = paint.after or paint.before
    if build is not None:
        when = "" if paint.after else " before the work"
        parts.append(f"{build_text(build.low_um, build.high_um)}{when}")
    gloss = paint.gloss_after or paint.gloss_before
    if gloss is not None:
        when = "" if paint.gloss_after else " before the work"
        parts.append(f"{gloss_text(gloss.gu, gloss.angle)}{when}")
    return ", ".join(parts)


def _visit(job: str, line: JobLine) -> Cells:
    day = _day(local(line.opened_us, line.zone).date().isoformat())
    planned = hours_text(line.planned_us / SECOND_US) if line.planned_us else ""
    taken = "open" if line.state == "open" else hours_text(line.hands_us / SECOND_US)
    return Cells(_VISITS, (job_handle(job, line), day, line.plan, planned, taken))


def _day(day: str) -> str:
    """A date without its weekday."""
    return spoken_day(day).partition(" ")[2]
