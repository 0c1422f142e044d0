"""What can be taken up next, in the order in which it should be.

LATE windows first; then a window that opens (a film to be looked at: that must be worked) before
the next section could be finished; then a second look that is due, if there is time for it; then
what these hands left for a break or other work, as it was; then the stage's order; then what is
early; then other stages and other jobs. The stage is that of what was left, else the first one with
something left, but while a film of a later one is in play it is that one: nobody polishes a
forgotten mirror beside a wet film. Standing by a window is a move too. The list is policy: the
worker may take up any of it, or anything else. A pad or towel that has had its sections is offered
anew before the next one (`engine.now.fresh`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cartclock.engine.ahead.line_up import left_for_other
from cartclock.engine.dates import spoken_soon, up_to_minute
from cartclock.engine.facts import job as jobs_
from cartclock.engine.facts.events import StepFinished, WorkPutDown
from cartclock.engine.facts.in_play import handler, in_play
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Act, Move, Why
from cartclock.engine.facts.rows import MINUTE_US, Row
from cartclock.engine.facts.section import Section, wait_after, work_of
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.flashing import NO_OWN, Own, opening_marks
from cartclock.engine.now.fresh import fresh_moves
from cartclock.engine.now.looking import look_moves, time_for
from cartclock.engine.plan.plan import Stage
from cartclock.engine.press import Press
from cartclock.engine.times import Instant


class _Group(Struct, frozen=True):
    """Sections that one press takes up together."""

    job: Job
    stage: Stage
    sections: tuple[Section, ...]

    @property
    def turn(self) -> Turn:
        return self.sections[0].turn

    @property
    def gap(self) -> bool:
        window = self.sections[0].window
        return window is not None and window.kind == "gap"

    @property
    def waits(self) -> bool:
        return self.sections[0].window is not None and not self.gap

    def move(self, act: Act, why: Why) -> Move:
        work = work_of(self.stage, self.turn)
        minutes = self.stage.minutes_of(work, [s.name for s in self.sections])
        windows = [s.window for s in self.sections if s.window is not None]
        opens_us: Instant | None = None
        closes_us: Instant | None = None
        if windows:
            closes_us = min(w.closes_us for w in windows)
            # Several windows under one press: wait for the last to open, but not so long
            # that the first could close.
            first_us = min(w.opens_us for w in windows)
            latest_us = max(first_us, Instant(closes_us - round(minutes * MINUTE_US)))
            opens_us = min(max(w.opens_us for w in windows), latest_us)
        return Move(
            act,
            self.job.id,
            self.stage.name,
            tuple(s.name for s in self.sections),
            self.turn,
            work.say,
            minutes,
            opens_us,
            closes_us,
            why,
        )

    def wanted_us(self, move: Move) -> Instant:
        """When the hands must be free for `move`, of this group: when its window opens.

        Of a film that is looked at from then on it is the mark by which it is to be worked,
        so that one look does not keep the hands from the next section.
        """
        opens_us, begin_by_us = move.opens_us or 0, move.begin_by_us or 0
        marks = [s.window.off_by_us for s in self.sections if s.window is not None]
        off_by = [mark_us for mark_us in marks if mark_us is not None]
        return Instant(max(opens_us, min([*off_by, begin_by_us])) if off_by else opens_us)

    def kept_us(self, move: Move) -> Instant:
        """Until when the hands may be lent to a look that can wait.

        A film that closes before it can be worked is stood by: a look may take longer than thought.
        """
        last_us = (move.closes_us or 0) - round(move.minutes * MINUTE_US)
        return Instant(0) if last_us < (move.opens_us or 0) else self.wanted_us(move)


def finishing(
    job: Job, hands: Hands, shared: bool = False, marks: Marks | None = None
) -> StepFinished:
    """The event that finishes what is in hand.

    marks: of the wait behind it, as reckoned; None: the planned ones, if a wait begins.
    """
    wait = wait_after(job.stage(hands.stage), hands.turn)
    if marks is None and wait is not None:
        marks = wait[1]
    return StepFinished(hands.stage, hands.sections, hands.turn, marks, shared)


def as_if_finished(
    jobs: Mapping[str, Job], shift: Shift, now_us: Instant, own: Own = NO_OWN
) -> dict[str, Job]:
    """The jobs as they would be if the worker finished what is in hand now."""
    hands = shift.doing
    if not isinstance(hands, Hands) or hands.job not in jobs:
        return dict(jobs)
    job = jobs[hands.job]
    marks = opening_marks(job, hands, shift, now_us, own)
    return _as_if(finishing(job, hands, marks=marks), jobs, job, shift, now_us)


def as_if_put_down(jobs: Mapping[str, Job], shift: Shift, now_us: Instant) -> dict[str, Job]:
    """The jobs as they would be if the worker put down what is in hand now."""
    hands = shift.doing
    if not isinstance(hands, Hands) or hands.job not in jobs:
        return dict(jobs)
    put_down = WorkPutDown(hands.stage, hands.sections, hands.turn)
    return _as_if(put_down, jobs, jobs[hands.job], shift, now_us)


def _as_if(
    event: StepFinished | WorkPutDown,
    jobs: Mapping[str, Job],
    job: Job,
    shift: Shift,
    now_us: Instant,
) -> dict[str, Job]:
    row = Row(
        "", -1, Press("", -1), shift.id, job.id, shift.worker, now_us, now_us,
        Instant(0), "", 0, True, "worker", event,
    )  # fmt: skip
    after, _odd = jobs_.job_after(job, row)
    return {**jobs, job.id: job if after is None else after}


def moves(
    jobs: Mapping[str, Job], shift: Shift, now_us: Instant, own: Own = NO_OWN
) -> tuple[Move, ...]:
    """Everything that can be taken up at `now_us`, best first; empty if the shift is not on.

    `jobs` maps ids to jobs; closed ones are passed over. `own`: the worker's watched sections.
    """
    if not shift.on_clock:
        return ()
    after = as_if_finished(jobs, shift, now_us, own)
    again = left_for_other(after, shift)
    groups = [g for job in _in_focus(after, shift) for g in _groups(job, again)]
    waiting = sorted((g for g in groups if g.waits), key=_closing)
    plain = [g for g in groups if not g.waits and not _asleep(g, now_us)]
    asleep = [g for g in groups if not g.waits and _asleep(g, now_us)]
    focus = groups[0].job.id if groups else ""
    current = ""
    if groups:
        in_front = [g for g in groups if g.job.id == focus]
        wave = _wave(jobs[focus], in_front, shift.worker, now_us)
        current = wave or (again[0].stage if again else groups[0].stage.name)

    def here(group: _Group) -> bool:
        return group.stage.name == current and group.job.id == focus

    # A later stage is never started by default while a window of this one runs: nobody coats
    # a wet car. So without a section here there is nothing that could be finished first.
    plain.sort(key=lambda g: not _goes_on(g, again))
    ordered = [_plain_move(g) for g in plain if here(g)]
    until_us = now_us + round(ordered[0].minutes * MINUTE_US) if ordered else now_us
    first: list[Move] = []
    early: list[Move] = []
    for group in waiting:
        move = group.move("take up", "window")
        opens_us, closes_us = move.opens_us or 0, move.closes_us or 0
        holds = not ordered or (group.stage.order == "each" and here(group))
        if closes_us <= now_us:
            first.append(group.move("take up", "late"))
        elif opens_us <= now_us:
            first.append(move)
        elif group.wanted_us(move) <= until_us or holds:
            first.append(group.move("stand by", "window"))
            early.append(group.move("take up", "early"))
        else:
            early.append(group.move("take up", "early"))
    # Of windows that have not opened, only the one that opens first is stood by.
    stood = sorted((m for m in first if m.act == "stand by"), key=lambda m: m.opens_us or 0)
    first = sorted(
        (m for m in first if m.act == "take up"),
        key=lambda m: (m.why != "late", m.closes_us or 0),
    )
    seen = look_moves(_in_focus(after, shift), now_us)
    wanted_us = [g.kept_us(g.move("stand by", "window")) for g in waiting]
    soon = [look for look in seen if not first and time_for(look, wanted_us, now_us)]
    then = [look for look in seen if look not in soon]
    late_or_ready = [*first, *soon, *stood[:1]]
    sleeping = [g.move("stand by", "gap") for g in asleep if here(g)]
    sleeping = sorted(sleeping, key=lambda m: m.opens_us or 0)[:1]
    later = [_plain_move(g) for g in _first_of_each_stage(plain) if not here(g)]
    sooner = [g.move("take up", "early") for g in asleep]
    over = [Move("end", why="end")] if shift.state in ("hands", "break", "other") else []
    closing = [
        Move("close", job.id, say="hand over", why="end")
        for job in _in_focus(after, shift)
        if all(section.over for section in job.sections.values())
    ]
    over += closing
    # Nobody stands by a gap of hours with another vehicle to be handed over.
    sooner_over = over if closing and sleeping else []
    found = [*late_or_ready, *ordered, *then, *sooner_over, *sleeping, *early, *later, *sooner]
    fresh = fresh_moves(after, shift, found[0] if found else None, now_us)
    return (*fresh, *found, *(() if sooner_over else over))


def _wave(job: Job, groups: Sequence[_Group], worker: str, now_us: Instant) -> str:
    """The stage whose films this worker has in play, the latest of several; "" if there is none or
    only its next layer is left, which sleeps.

    job: as it is before what is in hand is finished: the film that is being levelled is in play.
    groups: what can be taken up of it then.
    """
    wet = {s.stage for s in in_play(job, now_us) if handler(job, s) in ("", worker)}
    awake = [g.stage.name for g in groups if g.stage.name in wet and not _asleep(g, now_us)]
    return awake[-1] if awake else ""


def _closing(group: _Group) -> tuple[int, str]:
    closes = [s.window.closes_us for s in group.sections if s.window is not None]
    return (min(closes), group.sections[0].name)


def _asleep(group: _Group, now_us: Instant) -> bool:
    """True for a layer whose gap has not opened yet."""
    window = group.sections[0].window
    return window is not None and window.kind == "gap" and window.opens_us > now_us


def _plain_move(group: _Group) -> Move:
    state = group.sections[0].state
    return group.move("take up", "held" if state == "held" else "order")


def _first_of_each_stage(groups: Sequence[_Group]) -> list[_Group]:
    seen: set[tuple[str, str]] = set()
    found = []
    for group in groups:
        key = (group.job.id, group.stage.name)
        if key not in seen:
            seen.add(key)
            found.append(group)
    return found


def _in_focus(jobs: Mapping[str, Job], shift: Shift) -> list[Job]:
    """Open jobs, the one touched last by this worker first, then by number."""
    last = ""
    for span in [*shift.spans, *shift.spans_to(Instant(shift.since_us + 1))[-1:]]:
        if isinstance(span.doing, Hands):
            last = span.doing.job
    open_jobs = [job for job in jobs.values() if job.state == "open"]
    return sorted(open_jobs, key=lambda j: (j.id != last, j.opened.number, j.id))


def _goes_on(group: _Group, again: Sequence[Section]) -> bool:
    return bool(again) and group.sections[0] in again


def _groups(job: Job, again: Sequence[Section]) -> list[_Group]:
    """What of a job can be taken up, stage by stage, in the stage's order.

    again: what was put down together goes on together.
    """
    found: list[_Group] = []
    for stage in job.stages:
        sections = job.of(stage.name)
        rank = {section.name: index for index, section in enumerate(sections)}
        by_key: dict[tuple[object, ...], list[Section]] = {}
        for section in sections:
            if section.state not in ("todo", "held", "waiting"):
                continue
            key = ("again",) if section in again else _together(stage, section)
            by_key.setdefault(key, []).append(section)
        groups = [_Group(job, stage, tuple(group)) for group in by_key.values()]
        groups.sort(key=lambda g: _rank(g, rank[g.sections[0].name]))
        found.extend(groups)
    return found


def _together(stage: Stage, section: Section) -> tuple[object, ...]:
    """Sections with the same answer are taken up by one press."""
    work = work_of(stage, section.turn)
    gap = section.window is not None and section.window.kind == "gap"
    alike = (section.turn, section.state, gap)
    if work.over == "all" or stage.press == "stage":
        return alike
    if stage.press == "panel":
        return (*alike, section.panel)
    return (*alike, section.name)


def _rank(group: _Group, index: int) -> tuple[object, ...]:
    turn, held = group.turn, group.sections[0].state == "held"
    match group.stage.order:
        case "each":
            return (not held, turn.layer, index)
        case "all":
            return (not held, turn.layer, turn.step, index)
        case "wave":
            return (not held, turn.layer, turn.step == 0, index)


def wait_line(jobs: Mapping[str, Job], move: Move, now_us: Instant) -> str:
    """What somebody with free hands waits for: "wait until 14:15: roof"."""
    job = jobs[move.job]
    where = place_text(job, move.stage, move.sections)
    if move.opens_us is None:
        return f"wait for {where}"
    # A film's as on its tape; that of hours, which has none, never too early.
    opens_us = move.opens_us if move.why == "window" else up_to_minute(move.opens_us)
    return f"wait until {spoken_soon(opens_us, now_us, job.opened.zone)}: {where}"
