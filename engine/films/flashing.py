"""How long a film will flash: the marks of its window, reckoned when the window opens.

Label, reading and the worker's own watched sections give start looking, expected and off by;
`closes` stays the plan's. Where the reading is missing or the line is not to be trusted, the
label stands alone and a sentence says why. Only a section that was watched is learned from: a
wipe at our own mark would teach us our own advice.

Source of the limits here: our own judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import clock_text
from cartclock.engine.facts.in_force import reading_in_force
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import SECOND_US, Window, wait_after, work_of
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.figures import flash
from cartclock.engine.figures.flash import FlashClimate, OwnFlash, early_text
from cartclock.engine.plan.plan import FlashKind, LabelRow, Stage, Wait
from cartclock.engine.times import Instant

Own = Mapping[str, tuple[OwnFlash, ...]]
"""A worker's own watched sections that are learned from, by product id, oldest first. The id is
the product's name on the whole cart, as it is for packs."""

NO_OWN: Own = {}
# Of fewer own ones those of others in the shop are gone by, if they watched as many. As many near
# the climate set a time (`engine.figures.flash.predict`).
LEAST_OWN = 3
# The newest of a product are learned from: an old batch or an old habit fades.
MOST_OWN = 60

NO_PANEL = "No panel reading in the last hour: the label only."
NO_AIR = "No air and humidity with the panel's reading: the label only."
NOT_USABLE = "The reading is outside what can be reckoned with: the label only."
NO_KIND = "The plan does not say what makes it flash: the label only."


class Flash(Struct, frozen=True):
    """A labelled flash behind a work step: its wait, and the first product of that work.

    Fields:
        wait: with at least one label row.
        product: id; "" if the work uses none.
    """

    wait: Wait
    product: str


class Forecast(Struct, frozen=True):
    """What is to be expected of a flash.

    Fields:
        marks: as they are frozen when it opens.
        reckoned: True if they follow the reading; False: the label alone.
        refusals: why the label stands alone, in whole sentences.
        own: how many watched sections stand behind it.
        whose: who watched them, if that was not the worker.
        early: why LOOK does not stand where the label has it, a sentence; "" if it does.
    """

    marks: Marks
    reckoned: bool
    refusals: tuple[str, ...]
    own: int
    early: str = ""
    whose: str = ""


class WatchedFlash(Struct, frozen=True):
    """A section whose film was watched until it was ready.

    Fields:
        product, kind, label: what flashed, by the plan of its job.
        worker: who laid the film.
        seen_us: when it was seen ready.
        flash: how long it took, and where.
    """

    product: str
    kind: flash.FilmKind
    label: tuple[LabelRow, ...]
    worker: str
    seen_us: Instant
    flash: OwnFlash


def flash_after(stage: Stage, turn: Turn) -> Flash | None:
    """The labelled flash that begins when `turn` is finished; None if none does."""
    follows = turn.step + 1
    step = stage.steps[follows] if follows < len(stage.steps) else None
    if not isinstance(step, Wait) or step.say != "flash" or not step.label:
        return None
    uses = work_of(stage, turn).uses
    return Flash(step, uses[0].product if uses else "")


def flash_before(stage: Stage, window: Window) -> Flash | None:
    """The labelled flash that this window is; None for a dwell, a gap or one without a label."""
    if window.kind != "flash" or window.turn.step < 2:
        return None
    return flash_after(stage, laid_by(window))


def laid_by(window: Window) -> Turn:
    """The work that laid the film of a dwell or flash window."""
    return replace(window.turn, step=window.turn.step - 2)


def climate_at(shift: Shift | None, at_us: Instant) -> FlashClimate | str:
    """Panel and air by the shift's readings of the hour before `at_us`, or why there is none.

    Each is the newest that was measured; a reading of the panel alone leaves the air's in force.
    """
    newest = reading_in_force(shift, at_us)
    panel = reading_in_force(shift, at_us, "panel_c")
    air = reading_in_force(shift, at_us, "air_c", "rh")
    if newest is None or panel is None:
        return NO_PANEL
    if air is None:
        return NO_AIR
    panel_c, air_c, rh = panel.panel_c, air.air_c, air.rh
    assert panel_c is not None and air_c is not None and rh is not None
    try:
        return FlashClimate(panel_c, air_c, rh, newest.moving in ("fan", "windy"))
    except ValueError:
        return NOT_USABLE


@lru_cache(maxsize=256)
def label_rows(label: tuple[LabelRow, ...], kind: FlashKind) -> tuple[flash.LabelRange, ...]:
    """A plan's label as the figures take it; the panel of its climate is as warm as its air.

    A solvent does not ask for humidity, so its row needs none.
    """
    rows = []
    for row in label:
        rh = 50.0 if row.rh is None and kind == "solvent" else row.rh
        climate = None
        if row.air_c is not None and rh is not None:
            try:
                climate = FlashClimate(row.air_c, row.air_c, rh)
            except ValueError:
                climate = None
        rows.append(flash.LabelRange(climate, row.low_s, row.high_s))
    return tuple(rows)


# Asked for at every repaint, and the line through sixty sections takes two milliseconds.
@lru_cache(maxsize=256)
def forecast(wait: Wait, climate: FlashClimate | str, own: tuple[OwnFlash, ...] = ()) -> Forecast:
    """What is to be expected of a labelled flash.

    Args:
        wait: with at least one label row.
        climate: at the panel, or the sentence that says why it is not known.
        own: this worker's watched sections with the product, oldest first; where there are too
            few, others' (`OwnFlash.whose`).

    Opens is p10 (start looking), due is p50 (expected), off by is p90 but not over the label's
    longest, and none of them lies behind `closes`. The label alone means the plan's own opens
    and due, and the label's longest to be off by. Where the film may be ready before that, or
    own films say when, it opens there, and due is the same mark: no time is expected.
    """
    many, whose = len(own), own[0].whose if own else ""
    if isinstance(climate, str):
        longest_s = max(row.high_s for row in wait.label)
        return Forecast(
            _label_alone(wait, wait.due_s, longest_s), False, (climate,), many, "", whose
        )
    if wait.kind == "":
        longest_s = max(row.high_s for row in wait.label)
        return Forecast(
            _label_alone(wait, wait.due_s, longest_s), False, (NO_KIND,), many, "", whose
        )
    found = flash.predict(label_rows(wait.label, wait.kind), climate, own, wait.kind)
    if found.refusals:
        # Expected behind the label's longest time, that time is shown.
        late_s = round(found.off_by_s) if found.p50_s >= found.off_by_s else 0
        marks = _label_alone(wait, max(wait.due_s, late_s), round(found.off_by_s))
        early = ""
        if found.look_s is not None:
            look_s = round(found.look_s)
            if not found.near:
                look_s = min(look_s, wait.opens_s)
            look_s = min(look_s, wait.closes_s)
            # No time is expected: the mark stands where the looking begins.
            marks = replace(marks, opens_s=look_s, due_s=look_s)
            marks = replace(marks, off_by_s=max(look_s, marks.off_by_s or 0))
            early = early_text(found, clock_text(look_s))
        return Forecast(marks, False, found.refusals, many, early, whose)
    opens_s, due_s, off_by_s = (
        min(round(seconds), wait.closes_s) for seconds in (found.p10_s, found.p50_s, found.off_by_s)
    )
    return Forecast(Marks(opens_s, due_s, wait.closes_s, off_by_s), True, (), many, "", whose)


def _label_alone(wait: Wait, due_s: int, longest_s: int) -> Marks:
    due_s = min(max(wait.opens_s, due_s), wait.closes_s)
    off_by_s = min(max(due_s, longest_s), wait.closes_s)
    return Marks(wait.opens_s, due_s, wait.closes_s, off_by_s)


def opening_marks(
    job: Job, hands: Hands, shift: Shift | None, now_us: Instant, own: Own = NO_OWN
) -> Marks | None:
    """The marks of the wait that begins if what is in hand is finished at `now_us`.

    The plan's for a dwell, a gap and a flash without a label; None if no wait begins.
    """
    stage = job.stage(hands.stage)
    found = flash_after(stage, hands.turn)
    if found is None:
        wait = wait_after(stage, hands.turn)
        return None if wait is None else wait[1]
    return forecast(found.wait, climate_at(shift, now_us), own.get(found.product, ())).marks


def watched_flashes(job: Job, shifts: Iterable[Shift]) -> list[WatchedFlash]:
    """The watched flashes of a job, by the time they were seen.

    shifts: those in which it was worked. Left out is what cannot be placed: no label, no product,
    no reading in force at the last touch, and a film that closed before it opened. Sections under
    one press are one film.
    """
    stays = list(shifts)
    found: dict[tuple[object, ...], WatchedFlash] = {}
    for window in job.every_window:
        behind = flash_before(job.stage_of(window), window)
        if behind is None or not behind.product or window.seen_us is None:
            continue
        worker = _worker(job, window)
        shift = next((s for s in stays if s.worker == worker and _within(s, window.last_us)), None)
        own = _own_flash(window, shift, window.seen_us)
        if own is None or behind.wait.kind == "":
            continue
        found.setdefault(
            (window.stage, window.turn, window.first_us, window.last_us, window.seen_us),
            WatchedFlash(
                behind.product, behind.wait.kind, behind.wait.label, worker, window.seen_us, own
            ),
        )
    return sorted(found.values(), key=lambda one: one.seen_us)


def _worker(job: Job, window: Window) -> str:
    key = (window.stage, window.section, laid_by(window), window.last_us)
    return next(
        (s.worker for s in job.stints if (s.stage, s.section, s.turn, s.last_us) == key), ""
    )


def _within(shift: Shift, at_us: Instant) -> bool:
    return shift.on_us <= at_us and (shift.off_us is None or at_us <= shift.off_us)


def _closed_unopened(window: Window, seen_us: int) -> bool:
    """True for a film that closed before it opened: its first part was over time before its last
    one could be ready, so what was seen is neither's.

    Where its marks leave no width to a film laid at once, one that is seen ready before it closes
    tells that they are wrong, and that is to be learned.
    """
    if window.marks.opens_s >= window.marks.closes_s:
        return seen_us >= window.closes_us
    return window.too_big


def _own_flash(window: Window, shift: Shift | None, seen_us: int) -> OwnFlash | None:
    if _closed_unopened(window, seen_us):
        return None
    climate = climate_at(shift, window.last_us)
    if isinstance(climate, str):
        return None
    try:
        return OwnFlash((seen_us - window.last_us) / SECOND_US, climate)
    except ValueError:
        # Seen within the same tenth of a second, or a day later: a slip of the finger.
        return None


def learned(found: Sequence[WatchedFlash]) -> dict[str, tuple[OwnFlash, ...]]:
    """The sections that are learned from, by product, oldest first.

    found: of one worker, in any order. One that is far off those before it is left out.
    """
    by_product: dict[str, list[WatchedFlash]] = {}
    for one in sorted(found, key=lambda one: one.seen_us):
        by_product.setdefault(one.product, []).append(one)
    kept: dict[str, tuple[OwnFlash, ...]] = {}
    for product, all_of_it in by_product.items():
        own: list[OwnFlash] = []
        for one in all_of_it[-MOST_OWN:]:
            if flash.outlier(one.flash, label_rows(one.label, one.kind), own, one.kind) is None:
                own.append(one.flash)
        kept[product] = tuple(own)
    return kept


def seen_text(
    job: Job, stage: str, section: str, shift: Shift | None, now_us: Instant, own: Own
) -> str:
    """What becomes of a film seen ready now: learned from, or not and why.

    own: as before the press. "" if the section has no labelled flash running.
    """
    window = job.sections[stage, section].window
    behind = None if window is None else flash_before(job.stage_of(window), window)
    if window is None or behind is None:
        return ""
    took = f"{(now_us - window.last_us) / SECOND_US:.0f} s"
    climate = climate_at(shift, window.last_us)
    if isinstance(climate, str):
        return f"{took} seen, not learned from. {climate}"
    if _closed_unopened(window, now_us):
        return f"{took} seen, not learned from: the film closed before it opened."
    flashed = _own_flash(window, shift, now_us)
    kind = behind.wait.kind
    if flashed is None or kind == "" or not behind.product:
        return f"{took} seen, not learned from."
    rows = label_rows(behind.wait.label, kind)
    if flash.outlier(flashed, rows, own.get(behind.product, ()), kind) is not None:
        return f"{took} is far off: not learned from."
    return f"{took} seen and learned from."
