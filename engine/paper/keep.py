"""The dates that a customer keeps, in the words that sheet, card and message have alike.

An end is told by what begins then: nobody has to ask whether a day is still within it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from functools import partial

from msgspec.structs import replace

from cartclock.engine.after.dates import About, ToldDate, date_of
from cartclock.engine.dates import day_of, local, spoken, spoken_day, up_to_minute
from cartclock.engine.figures.air import TemperatureUnit, full_degrees
from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.strip import Lies, Strip, StripScale, StripSpan
from cartclock.engine.record.customer import CustomerSheet, Visit
from cartclock.engine.times import Instant

# So many days a strip shows at the least and at the most; our own judgement.
_LEAST_DAYS, _MOST_DAYS = 14, 18
# How many cells of days the words behind a cut need.
_ROOM_DAYS = 4.5
# Letters of a label that still stands over its date.
_MOST_NAME = 30
_WET, _WASH = "Keep it dry", "First wash"
_Put = Callable[[ToldDate, str, Instant], Date]
_ROWS: tuple[tuple[About, str], ...] = (("touch", "Touch"), ("wet", "Get wet"), ("wash", "Wash"))


def when_text(at_us: Instant, zone: str, now_us: Instant) -> str:
    """An instant as a customer reads it, raised to the next minute: "Sun 5 Apr, 18:17".

    The year is told where it is not that of `now_us`.
    """
    whole_us = up_to_minute(at_us)
    weekday, day, month, year, clock = spoken(whole_us, zone).split(" ", 4)
    near = local(whole_us, zone).year == local(now_us, zone).year
    return f"{weekday} {day} {month}{'' if near else f' {year}'}, {clock}"


def begins_text(told: ToldDate, zone: str, now_us: Instant) -> str:
    """What begins with a date, from when on: a day, or an hour. Its instant must be known."""
    if told.day:
        return spoken_day(date.fromisoformat(told.day) + timedelta(days=1))
    return "" if told.at_us is None else when_text(told.at_us, zone, now_us)


def dates_to_keep(sheet: CustomerSheet, unit: TemperatureUnit = "C") -> tuple[Date, ...]:
    """The dates of a sheet: dry, touch, wash, then the next visit of each kind.

    What is over is left out. The first of them is told before all others. What is still worked
    on has no date, and says so. unit: of temperatures.
    """
    made: dict[str, _Put] = {"wet": _wet, "touch": partial(_touch, unit=unit), "wash": _wash}
    found = [made[one.about](one, sheet.zone, sheet.now_us) for one in _still_told(sheet)]
    for say in dict.fromkeys(visit.say for visit in sheet.visits):
        ahead = [one for one in sheet.visits if one.say == say and not _over(one, sheet)]
        if ahead:
            found.append(_visit(ahead, sheet.zone))
    return tuple(replace(one, first=index == 0) for index, one in enumerate(found))


def _still_told(sheet: CustomerSheet) -> list[ToldDate]:
    """Until when it must stay dry, not be touched and not be washed, where that is not over."""
    abouts: tuple[About, ...] = ("wet", "touch", "wash")
    known = (date_of(sheet.dates, about) for about in abouts)
    return [
        one for one in known if one is not None and (one.at_us is None or one.at_us > sheet.now_us)
    ]


def remedies(sheet: CustomerSheet) -> tuple[str, ...]:
    """What to do where a date of `dates_to_keep` is not kept, a sentence each; of a line that none
    of them tells nothing, because nobody would know what "it" is."""
    told = {said for date in _still_told(sheet) for said in date.sayings()}
    found = (care.if_not for care in sheet.cares if care.say in told)
    return tuple(dict.fromkeys(said for said in found if said))


def _unknown(label: str, told: ToldDate) -> Date:
    # An example that nobody can count on yet needs no mark.
    return Date(label, "not known yet", f"when {told.stage} is finished", known=False)


def _wet(told: ToldDate, zone: str, now_us: Instant) -> Date:
    label = f"{_WET} until"
    if told.at_us is None:
        return _unknown(label, told)
    says = rest_of(told.line, _WET) or f"No water on it: {told.what}."
    if told.day:
        label, when = f"{_WET} up to and including", spoken_day(told.day)
        begins = f"From {begins_text(told, zone, now_us)} on it may get wet again."
    else:
        when = when_text(told.at_us, zone, now_us)
        begins = "From then on it may get wet again."
    return Date(label, when, f"{says} {begins}", False, told.example)


def _touch(told: ToldDate, zone: str, now_us: Instant, unit: TemperatureUnit) -> Date:
    label = "Do not touch before"
    if told.at_us is None:
        return _unknown(label, told)
    said = [told.line] if told.line else [f"{_capital(told.what)}: leave it alone."]
    if told.stretched:
        said.append("Longer because it was cold.")
    if told.mild_us is not None and told.below_c is not None:
        mild = when_text(told.mild_us, zone, now_us)
        said.append(f"If it stays at {full_degrees(told.below_c, unit)} and more, already {mild}.")
    if told.cold_us is not None and told.below_c is not None:
        cold = when_text(told.cold_us, zone, now_us)
        said.append(f"If it gets colder than {full_degrees(told.below_c, unit)} till then, {cold}.")
    return Date(label, begins_text(told, zone, now_us), " ".join(said), False, told.example)


def _wash(told: ToldDate, zone: str, now_us: Instant) -> Date:
    label = f"{_WASH} from"
    said = []
    if told.line:
        last = f"up to and including {_short(told.day)}" if told.day else "until then"
        said.append(f"{told.line.rstrip('. ')} {last}.")
    if told.then:
        said.append(rest_of(told.then, _WASH))
    return Date(label, begins_text(told, zone, now_us), " ".join(said), False, told.example)


def _visit(visits: Sequence[Visit], zone: str) -> Date:
    first, *others = visits
    label, rest = visit_name(first.say)
    said = [f"{first.nth} of {first.of}"] if first.of > 1 else []
    if others:
        said.append(f"then {visit_day(others[0], zone)}")
    note = f"{'; '.join(said)}." if said else ""
    note = f"{rest} {_capital(note)}".strip()
    return Date(label, visit_day(first, zone), note, False, first.example)


def _over(visit: Visit, sheet: CustomerSheet) -> bool:
    if visit.at_us is not None:
        return visit.at_us <= sheet.now_us
    return visit.day < day_of(sheet.now_us, sheet.zone).isoformat()


def visit_name(say: str) -> tuple[str, str]:
    """What a visit is for in a word, and what else its sentence says: "Wash: in the shade."."""
    head, colon, rest = say.partition(": ")
    if not colon or len(head) > _MOST_NAME:
        return say.rstrip(". "), ""
    return head, f"{_capital(rest).rstrip('. ')}."


def visit_day(visit: Visit, zone: str) -> str:
    """The day of a visit, with its hour if it has one."""
    return spoken(visit.at_us, zone) if visit.at_us is not None else spoken_day(visit.day)


def rest_of(said: str, head: str) -> str:
    """A sentence without its beginning where that is said already: "Keep it dry: no rain."""
    rest = said.removeprefix(f"{head}: ")
    return said if rest == said else _capital(rest)


def _capital(text: str) -> str:
    # A word that has a capital further on is written so: "pH-neutral".
    return f"{text[:1].upper()}{text[1:]}" if text[1:2].islower() else text


def _short(day: str) -> str:
    return spoken_day(day).rsplit(" ", 1)[0]


# The first days.


def first_days(sheet: CustomerSheet) -> tuple[StripScale, tuple[Strip, ...]] | None:
    """The days from the one on which it leaves, and what may not be done on them; None if no end
    of anything is known."""
    zone = sheet.zone
    rows = [
        (label, told)
        for about, label in _ROWS
        if (told := date_of(sheet.dates, about)) is not None and told.at_us is not None
    ]
    if not rows:
        return None
    start = day_of(sheet.leaves_us, zone)
    ends = [_days(told, start, zone) for _label, told in rows]
    count = min(_MOST_DAYS, max(_LEAST_DAYS, int(max(ends)) + 2))
    days = [start + timedelta(days=index) for index in range(count)]
    scale = StripScale(
        float(count),
        tuple(
            (float(at), "\n".join(spoken_day(day).split(" ")[:2])) for at, day in enumerate(days)
        ),
        columns=True,
        weak=frozenset(index for index, day in enumerate(days) if day.weekday() > 4),
    )
    strips = tuple(
        _strip(label, told, end, count, sheet)
        for (label, told), end in zip(rows, ends, strict=True)
    )
    return scale, strips


def _days(told: ToldDate, start: date, zone: str) -> float:
    """How many days from the beginning of `start` on a date is over."""
    assert told.at_us is not None
    here = local(up_to_minute(told.at_us), zone)
    clock = (here.hour * 60 + here.minute) / (24 * 60)
    return (here.date() - start).days + clock


def _strip(label: str, told: ToldDate, end: float, count: int, sheet: CustomerSheet) -> Strip:
    begins = f"from {begins_text(told, sheet.zone, sheet.now_us)}"
    cut = max(0.0, min(float(count), end))
    lies: Lies = "hatch" if told.example else "full"
    behind = count - cut >= _ROOM_DAYS
    spans = []
    if cut > 0:
        spans.append(StripSpan(0.0, cut, lies, "no" if behind else f"no; {begins}"))
    if cut < count:
        spans.append(StripSpan(cut, float(count), "low", begins if behind else ""))
    return Strip(label, tuple(spans), begins)


def with_examples(dates: Iterable[Date]) -> bool:
    """True if one of the dates is from no label."""
    return any(one.example for one in dates)
