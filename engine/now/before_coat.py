"""What the page before a coat says: what the program knows, judged, and what only eyes can see.

What it says of rest and gate is a screening estimate; whether a layer is begun is the worker's to
decide, and what only the worker can see is a line to look at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from msgspec import Struct

from cartclock.engine.body.rest_words import left_minutes
from cartclock.engine.body.watch import Watch, drink_text
from cartclock.engine.dates import age_said, hours_text, spoken_near
from cartclock.engine.facts.call_backs import CallBack
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.shift import Break, Shift
from cartclock.engine.films.gate import SCREENING_ESTIMATE, asks, gate_verdict
from cartclock.engine.films.waves import PLANNED, Factors, wave_minutes
from cartclock.engine.products.booked import booked_by
from cartclock.engine.products.stock import Stock
from cartclock.engine.products.supply import amount_words, needed
from cartclock.engine.times import Instant

EYES = "Look: doors shut, towels counted, applicator, lamp, phone away or silent"
"""What only the worker can see. Common practice, no source."""
ASKED_NEXT = "asked about next"
GATE_LINE = "Gate:"


class CoatLine(Struct, frozen=True):
    """A sentence of the page.

    Fields:
        text: what it says.
        wrong: True if it tells against beginning; it comes first, as a low screen shows few lines.
    """

    text: str
    wrong: bool = False


class BeforeCoat(Struct, frozen=True):
    """The page.

    Fields:
        judged: what the program knows, what tells against beginning first; it goes into the log.
        asks: True if the gate asks when the page is read.
        eyes: what is to be looked at.
    """

    judged: tuple[str, ...]
    asks: bool = False
    eyes: str = EYES

    @property
    def lines(self) -> tuple[str, ...]:
        """The page, a paragraph each."""
        asked = f"; {ASKED_NEXT}" if self.asks else ""
        said = (f"{one}{asked}" if one.startswith(GATE_LINE) else one for one in self.judged)
        return (*said, self.eyes)


def before_coat(
    job: Job,
    move: Move,
    shift: Shift,
    watch: Watch | None,
    stock: Stock | None,
    now_us: Instant,
    calls: Iterable[CallBack] = (),
    factors: Factors = PLANNED,
) -> BeforeCoat:
    """What the page says before a layer of a coat is begun.

    Args:
        job: as it is when what is in hand has ended.
        shift, watch: of whoever takes up the move; watch None: nothing is known of the hour.
        stock: what is on the cart; None: no pack was ever opened.
        calls: promised and not made yet, about any job; those that fall into the layer are told.
        factors: of the work of the job.
    """
    takes = wave_minutes(job, move.stage, move.turn.layer, factors)
    asked = bool(asks(job, move.stage, move.sections, move.turn, shift, now_us, None, factors))
    told = (
        _rest(shift, watch, takes, now_us),
        _drink(watch, now_us),
        *_calls(job, calls, takes, now_us),
        *_contents(job, move, stock),
        _gate(job, move, shift, now_us, asked),
    )
    ordered = sorted(told, key=lambda one: not one.wrong)
    return BeforeCoat(tuple(one.text for one in ordered), asked)


def _ago(at_us: int, now_us: int) -> str:
    return f"{age_said((now_us - at_us) // MINUTE_US)} ago"


def _rest(shift: Shift, watch: Watch | None, takes: float, now_us: Instant) -> CoatLine:
    """The last break, and how the hour stands against the layer."""
    last = next((s for s in reversed(shift.spans) if isinstance(s.doing, Break)), None)
    if isinstance(shift.doing, Break):
        said = "until now"
    elif last is None:
        said = f"none, clocked on {_ago(shift.on_us, now_us)}"
    else:
        said = f"{hours_text((last.end_us - last.start_us) / 1e6)}, {_ago(last.end_us, now_us)}"
    pace = None if watch is None else watch.pace
    layer = f"this layer about {takes:.0f} min"
    if pace is None or (pace.why_none and pace.left_s is None):
        why = "not judged" if pace is None else pace.why_none
        return CoatLine(f"Rest: {said}; {layer}. {why}".rstrip())
    left = left_minutes(pace)
    if left is None:
        ahead = "none due within the hour"
    elif pace.rest_s:
        ahead = f"{left} min of work to the next one"
    else:
        ahead = f"{left} min of work left, and no rest here makes more of it"
    near = pace.left_s is not None and pace.left_s < takes * 60
    return CoatLine(f"Rest: {said}; {ahead}, {layer} ({SCREENING_ESTIMATE})", near)


def _drink(watch: Watch | None, now_us: Instant) -> CoatLine:
    if watch is None or watch.water.last_us is None:
        said = "none noted today"
    else:
        said = _ago(watch.water.last_us, now_us)
    due = "" if watch is None else drink_text(watch.water)
    late = watch is not None and watch.water.due
    return CoatLine(f"Drink: {said}; {due}" if due else f"Drink: {said}", late)


def _calls(
    job: Job, calls: Iterable[CallBack], takes: float, now_us: Instant
) -> Iterator[CoatLine]:
    """The calls back that fall into the layer, in which no call is rung; nobody is named."""
    for at_us in sorted(call.at_us for call in calls):
        when = spoken_near(at_us, now_us, job.opened.zone)
        if at_us <= now_us:
            yield CoatLine(f"Call back: since {when} (C)", True)
        elif at_us < now_us + takes * MINUTE_US:
            yield CoatLine(f"Call back: {when}, within this layer (C)", True)


def _contents(job: Job, move: Move, stock: Stock | None) -> Iterator[CoatLine]:
    """What the layer needs of each product against what is there, by the plan and what was put
    right of it so far.
    """
    layer, several = move.turn.layer, move.turn.layer < job.stage(move.stage).layers
    whole = needed(job, move.stage)
    for (product, unit), by_plan in needed(job, move.stage, layer).items():
        factor = _put_right(job, product)
        now, all_left = by_plan * factor, whole[product, unit] * factor
        planned = job.opened.plan.product(product)
        item = None if stock is None else stock.items.get(product)
        called = item.called if item is not None else product if planned is None else planned.name
        seen = "counted" if unit == "each" else "weighed"
        need = f"this layer {amount_words(now, unit, 'up')}"
        need += f", with those to come {amount_words(all_left, unit, 'up')}" if several else ""
        need += " at your use so far" if factor != 1 else ""
        if item is None or item.book is None or item.unit != unit or item.unclear:
            yield CoatLine(f"{called}: not {seen} (O); {need}")
            continue
        there = max(item.book, Fraction(0))
        weighed = "" if item.weighed_us is not None else f" (not {seen})"
        left = f"{amount_words(there, unit, 'down')} left{weighed}"
        enough = _enough(there, now, all_left, unit)
        yield CoatLine(f"{called}: {left}; {need}: {enough}", there < now)


def _enough(there: Fraction, now: Fraction, all_left: Fraction, unit: str) -> str:
    if there < now:
        return f"{amount_words(now - there, unit, 'up')} SHORT"
    if there < all_left:
        return f"enough for this layer, {amount_words(all_left - there, unit, 'up')} short of all"
    return "enough"


def _put_right(job: Job, product: str) -> Fraction:
    """How many times the booked amounts were used, by what was put right of them; at least a
    fifth of them, or the figures say nothing.
    """
    uses = [one for one in booked_by(job) if one.product == product and one.amount is not None]
    first = sum((one.amount or Fraction(0) for one in uses if one.stage), Fraction(0))
    whole = sum((one.amount or Fraction(0) for one in uses), Fraction(0))
    return whole / first if first > 0 and whole * 5 >= first else Fraction(1)


def _gate(job: Job, move: Move, shift: Shift, now_us: Instant, asked: bool) -> CoatLine:
    found = gate_verdict(job, move.stage, shift, now_us)
    if found.weight == "none":
        return CoatLine(f"{GATE_LINE} no reading that holds", True)
    against = [*found.said("ask"), *found.said("warn")]
    said = f"{'; '.join(against)} ({SCREENING_ESTIMATE})" if against else found.line
    return CoatLine(f"{GATE_LINE} {said}", asked or bool(against))
