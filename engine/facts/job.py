"""What a job is: the fold of the rows that carry its id.

There is no job before it was opened. The fold is total: a row that cannot be where it stands
changes nothing and is set aside with the reason. Which event is possible in which state stands
in two tables (`JOB_TABLE` and `engine.facts.section.SECTION_TABLE`), frozen for the log's sake.
What the worker may or should do is policy and lives in `engine.rules.rules` and
`engine.now.moves`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import iso_parts
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import CannotBe, Odd, Row, told_after, told_by
from cartclock.engine.facts.section import (
    SECTION_TABLE,
    Key,
    Section,
    SectionState,
    Stint,
    Window,
    WindowKind,
    next_turn,
    wait_after,
    work_of,
)
from cartclock.engine.facts.stage_changes import frame, well_made, without_examples
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.times import Instant, Length

# "new" is before there is a job.
JobState = Literal["new", "open", "closed", "given"]

# The largest number that a length of the aftercare is given at the cart: of years it stays within
# the calendar. Our own judgement.
MOST_OF_A_LENGTH = 999

_AFTER_CLOSE = frozenset(tag for tag, kind in ev.KINDS.items() if kind.after_close)
_OF_JOB = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of == "job")
_WHILE_OPEN = _OF_JOB - {"JobOpened", "JobReopened"}

_OPEN: dict[str, JobState] = dict.fromkeys(_WHILE_OPEN, "open")
_CLOSED: dict[str, JobState] = dict.fromkeys(_AFTER_CLOSE, "closed")

# The state after the event; an event that is not named cannot be.
JOB_TABLE: dict[JobState, dict[str, JobState]] = {
    "new": {"JobOpened": "open"},
    "open": {**_OPEN, "JobClosed": "closed", "JobGiven": "given"},
    "closed": {**_CLOSED, "JobReopened": "open"},
    "given": {"JobTaken": "open"},
}


class Holding(Struct, frozen=True):
    """An earlier holding of a job, as the cart that had it knew it.

    Fields:
        origin: identity of that cart.
        first: number of the row by which it took or opened the job.
        from_us, to_us: since when, and until when it gave the job away or took it anew; None:
            it was taken from it, which it may not know.
        behind: number of the row by which it took the job anew; None if it did not.
        windows: those that had ended and those that ran.
    """

    origin: str
    first: int
    from_us: Instant
    to_us: Instant | None
    behind: int | None
    windows: tuple[Window, ...]


class Job(Struct):
    """A job as the log tells it. Treat as frozen outside this module: `job_after` copies.

    Fields:
        id: its UUID.
        state: see `JOB_TABLE`; never "new".
        opened, opened_us: what was said at the opening, as amended since, and the time of the
            opening.
        first_promise_us: what was promised at the opening; None if nothing was.
        closed_us: time of the last close; None while open.
        stages: in working order, with the added ones, as they are for what is still to come.
        earlier: stage -> what it was before it was revised, by version from 0.
        begun: stages that anything but a cut or leaving out was done to.
        order: stage name -> section names in working order, split ones included.
        sections: (stage, section) -> section.
        windows: ended windows in the order they ended.
        stints: finished work in the order it was finished.
        facts: rows that change no state: products, water, paint, damage, notes, papers.
        shifts: shifts that put a hand to it, in order.
        overruled: beginnings of work that carry a reason for a rule overruled, in order.
        holder: identity of the cart that has it, or had it last.
        taken_seq, taken_us: number and time of the row by which that cart took or opened it.
        given_us, given_to: when it was given away and how the identity begins of the cart that may
            take it; None and "" if it was not.
        before: earlier holdings, one a hand-over.
        late: rows that count for none of its holdings (`engine.facts.rows.believed_rows`).
        whole: id of the job that it is a part of; "" if of none.
        odd: rows set aside, also those from before it was opened.
    """

    id: str
    state: JobState
    opened: ev.JobOpened
    opened_us: Instant
    first_promise_us: Instant | None = None
    closed_us: Instant | None = None
    stages: list[Stage] = []
    earlier: dict[str, list[Stage]] = {}
    begun: set[str] = set()
    order: dict[str, list[str]] = {}
    sections: dict[Key, Section] = {}
    windows: list[Window] = []
    stints: list[Stint] = []
    facts: list[Row] = []
    shifts: list[str] = []
    overruled: list[Row] = []
    holder: str = ""
    taken_seq: int = 0
    taken_us: Instant | None = None
    given_us: Instant | None = None
    given_to: str = ""
    before: list[Holding] = []
    late: list[Row] = []
    whole: str = ""
    odd: list[Odd] = []

    @property
    def tenure(self) -> int:
        """Which holding this is: 1, and one more with each hand-over."""
        return len(self.before) + 1

    def stage(self, name: str) -> Stage:
        """The stage of that name; KeyError if there is none."""
        for stage in self.stages:
            if stage.name == name:
                return stage
        raise KeyError(name)

    def version(self, stage: str) -> int:
        """How often a stage, by its name, was revised so that what was laid keeps its own."""
        return len(self.earlier.get(stage, ()))

    def stage_of(self, one: Window | Stint) -> Stage:
        """The stage as it was when a window was laid, or a step done; KeyError if there is none."""
        return self.stage_at(one.stage, one.version)

    def stage_at(self, name: str, version: int) -> Stage:
        """A stage as it was in one of its versions; KeyError if there is none of that name."""
        earlier = self.earlier.get(name, ())
        return earlier[version] if version < len(earlier) else self.stage(name)

    def work(self, stage: str, turn: Turn) -> Work:
        """The work on a stage, by its name, in one turn; KeyError if there is none."""
        return work_of(self.stage(stage), turn)

    def of(self, stage: str) -> list[Section]:
        """The sections of a stage in working order, split ones left out."""
        found = (self.sections[stage, name] for name in self.order[stage])
        return [section for section in found if section.state != "cut in two"]

    @property
    def running(self) -> list[Window]:
        """Windows that run now, by their closing."""
        found = [s.window for s in self.sections.values() if s.window is not None]
        return sorted(found, key=lambda w: w.closes_us)

    @property
    def films(self) -> list[Window]:
        """Dwell and flash windows that run now, by their closing; gaps are no film."""
        return [window for window in self.running if window.kind != "gap"]

    @property
    def used(self) -> dict[str, float]:
        """Amounts used by product id, corrections included, in the product's unit."""
        found: dict[str, float] = {}
        for row in self.facts:
            match row.event:
                case ev.ProductUsed(amounts=amounts):
                    for product, amount in amounts.items():
                        found[product] = found.get(product, 0.0) + amount
                case ev.UseCorrected(product, by):
                    found[product] = found.get(product, 0.0) + by
        return found

    @property
    def every_window(self) -> list[Window]:
        """Windows ended and running, by their beginning."""
        return sorted([*self.windows, *self.running], key=lambda w: (w.last_us, w.section))


def open_jobs(jobs: Iterable[Job]) -> list[Job]:
    """Those of the jobs that are open, by number."""
    found = (job for job in jobs if job.state == "open")
    return sorted(found, key=lambda job: (job.opened.number, job.id))


def any_open(jobs: Iterable[Job]) -> bool:
    """True if one of the jobs is open."""
    return any(job.state == "open" for job in jobs)


def fold_job(rows: Iterable[Row]) -> tuple[Job | None, list[Odd]]:
    """The job told by its rows, in the order of `engine.facts.rows.believed_rows`.

    Returns: the job, None if by them it was never opened; and its rows set aside.
    """
    return told_by(rows, _taken)


def job_after(job: Job | None, row: Row) -> tuple[Job | None, Odd | None]:
    """The job after one more row, and the row if it is set aside; `job` stays as it is.

    job: None if it was not opened before.
    """
    copy = None
    if job is not None:
        copy = replace(
            job,
            stages=job.stages.copy(),
            earlier={name: were.copy() for name, were in job.earlier.items()},
            begun=job.begun.copy(),
            order={stage: names.copy() for stage, names in job.order.items()},
            sections=job.sections.copy(),
            windows=job.windows.copy(),
            stints=job.stints.copy(),
            facts=job.facts.copy(),
            shifts=job.shifts.copy(),
            overruled=job.overruled.copy(),
            before=job.before.copy(),
            odd=job.odd.copy(),
        )
    return told_after(copy, row, _taken)


def _taken(job: Job | None, row: Row) -> Job:
    """The job, changed by a row, or opened by it; raises CannotBe and changes nothing."""
    state: JobState = "new" if job is None else job.state
    then = JOB_TABLE[state].get(row.kind)
    if then is None:
        raise CannotBe(f"{row.kind} cannot be while the job is {state}")
    if job is None:
        return _opened(row)
    if job.before and job.taken_us is not None and row.at_us < job.taken_us:
        raise CannotBe("the job was on another cart then")
    _HOW.get(row.kind, _keep)(job, row, row.event)
    job.state = then
    return job


def _stage(job: Job, name: str) -> Stage:
    try:
        return job.stage(name)
    except KeyError:
        raise CannotBe(f"there is no stage {name}") from None


def _passing(
    job: Job, row: Row, stage: str, names: tuple[str, ...], turn: Turn | None
) -> list[tuple[Section, SectionState | Literal["next"]]]:
    """The named sections with the state the table gives them; nothing if one cannot."""
    _stage(job, stage)
    if not names or len(set(names)) != len(names):
        raise CannotBe("a section is named twice or none is")
    found: list[tuple[Section, SectionState | Literal["next"]]] = []
    for name in names:
        section = job.sections.get((stage, name))
        if section is None:
            raise CannotBe(f"there is no section {name} in {stage}")
        state = SECTION_TABLE[section.state].get(row.kind)
        if state is None:
            raise CannotBe(f"{name} is {section.told}")
        if turn is not None and turn != section.turn:
            raise CannotBe(f"{name} is at another turn")
        found.append((section, state))
    return found


def _put(job: Job, section: Section) -> None:
    job.sections[section.stage, section.name] = section


def _ended(window: Window | None, at_us: Instant, taken: bool) -> Window | None:
    return None if window is None else replace(window, ended_us=at_us, taken=taken)


def _opened(row: Row) -> Job:
    event = row.event
    assert isinstance(event, ev.JobOpened), "nothing else is in the table's row of new"
    names = [stage.name for stage in event.plan.stages]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise CannotBe(f"a stage {twice} is there already")
    job = Job(row.job, "open", event, row.at_us, event.promised_us)
    job.holder, job.taken_seq = row.origin, row.seq
    for stage in event.plan.stages:
        _lay_out(job, stage, len(job.stages))
    return job


def amended(opened: ev.JobOpened, event: ev.JobAmended) -> ev.JobOpened:
    """The opening with one thing of it otherwise."""
    if event.what == "price":
        return replace(opened, price=event.price)
    if event.what == "promised_us":
        return replace(opened, promised_us=event.promised_us)
    return replace(opened, **{event.what: event.text})


def _amend(job: Job, row: Row, event: ev.JobAmended) -> None:
    job.opened = amended(job.opened, event)
    job.facts.append(row)


def _lay_out(job: Job, stage: Stage, at: int) -> None:
    if any(stage.name == other.name for other in job.stages):
        raise CannotBe(f"a stage {stage.name} is there already")
    job.stages.insert(at, stage)
    job.order[stage.name] = list(stage.sections)
    for name in stage.sections:
        _put(job, Section(stage.name, name, stage.panel(name)))


def _add_stage(job: Job, row: Row, event: ev.StageAdded) -> None:
    names = [stage.name for stage in job.stages]
    if event.after and event.after not in names:
        raise CannotBe(f"there is no stage {event.after}")
    _lay_out(job, event.stage, names.index(event.after) + 1 if event.after else 0)
    job.opened = bringing(job.opened, event)


def bringing(opened: ev.JobOpened, added: ev.StageAdded) -> ev.JobOpened:
    """The opening, its plan with the products and tools that an added stage brought along."""
    plan = opened.plan
    products, tools = ({one.id for one in known} for known in (plan.products, plan.tools))
    plan = replace(
        plan,
        products=plan.products + tuple(one for one in added.products if one.id not in products),
        tools=plan.tools + tuple(one for one in added.tools if one.id not in tools),
    )
    return replace(opened, plan=plan)


def _revise_stage(job: Job, row: Row, event: ev.StageRevised) -> None:
    was, stage = _stage(job, event.was.name), event.stage
    if event.was != was:
        raise CannotBe(f"the stage {was.name} is another by now")
    if (stage.name, stage.sections, stage.panels, stage.trial) != (
        was.name,
        was.sections,
        was.panels,
        was.trial,
    ):
        raise CannotBe(f"the stage {was.name} has other sections")
    if not well_made(stage) or not stage.layers >= 1:
        raise CannotBe("a stage begins and ends with work and has no two waits in a row")
    if was.name in job.begun and frame(stage) != frame(was):
        raise CannotBe(f"the stage {was.name} was begun")
    # What was laid by the same lengths of time is told by the label too.
    if without_examples(was) != without_examples(stage):
        job.earlier.setdefault(was.name, []).append(was)
    job.stages[job.stages.index(was)] = stage
    job.facts.append(row)


def _revise_aftercare(job: Job, row: Row, event: ev.AftercareRevised) -> None:
    plan, was, care = job.opened.plan, event.was, event.care
    if was not in plan.aftercare:
        raise CannotBe("there is no such line of the aftercare")
    lengths = {name: getattr(was, name) for name in ("until", "from_", "every")}
    if replace(care, source=was.source, **lengths) != was:
        raise CannotBe("of a line of the aftercare nothing but length and source is another")
    for name, before in lengths.items():
        if not _length_like(before, getattr(care, name)):
            raise CannotBe(f"{getattr(care, name)!r} is no length in the place of {before!r}")
    cares = list(plan.aftercare)
    cares[cares.index(was)] = care
    job.opened = replace(job.opened, plan=replace(plan, aftercare=tuple(cares)))
    job.facts.append(row)


def _revise_handover(job: Job, row: Row, event: ev.HandoverRevised) -> None:
    plan, was, handover = job.opened.plan, event.was, event.handover
    if was != plan.handover:
        raise CannotBe("the plan has no such time before a hand-over")
    if handover.after != was.after or not _length_like(was.not_before, handover.not_before):
        raise CannotBe("nothing but the length and its source is another")
    job.opened = replace(job.opened, plan=replace(plan, handover=handover))
    job.facts.append(row)


def _length_like(was: str, text: str) -> bool:
    """Whether a length of time by ISO 8601 can stand in the place of another: of one of one part,
    in its unit; of any other, the same."""
    before, after = iso_parts(was), iso_parts(text)
    if was == text or len(before) != 1:
        return was == text
    return len(after) == 1 and after[0][0] == before[0][0] and after[0][1] <= MOST_OF_A_LENGTH


def _move_stage(job: Job, row: Row, event: ev.StageMoved) -> None:
    stage = _stage(job, event.stage)
    if event.after:
        _stage(job, event.after)
    if event.after == event.stage:
        raise CannotBe("a stage cannot be behind itself")
    job.stages.remove(stage)
    names = [one.name for one in job.stages]
    job.stages.insert(names.index(event.after) + 1 if event.after else 0, stage)
    job.facts.append(row)


def _add_section(job: Job, row: Row, event: ev.SectionAdded) -> None:
    _stage(job, event.stage)
    if (event.stage, event.section) in job.sections:
        raise CannotBe(f"a section {event.section} is there already")
    order = job.order[event.stage]
    if event.after and event.after not in order:
        raise CannotBe(f"there is no section {event.after} in {event.stage}")
    order.insert(order.index(event.after) + 1 if event.after else len(order), event.section)
    _put(job, Section(event.stage, event.section, event.panel or event.section))


def _split(job: Job, row: Row, event: ev.SectionSplit) -> None:
    ((section, state),) = _passing(job, row, event.stage, (event.section,), None)
    if not section.untouched:
        raise CannotBe(f"{event.section} was touched already")
    if len(event.into) < 2 or len(set(event.into)) != len(event.into):
        raise CannotBe("a cut needs at least two different names")
    for name in event.into:
        if (event.stage, name) in job.sections:
            raise CannotBe(f"a section {name} is there already")
    order = job.order[event.stage]
    at = order.index(event.section) + 1
    order[at:at] = event.into
    _put(job, replace(section, state=state))
    for name in event.into:
        _put(job, Section(event.stage, name, section.panel))


def _start(job: Job, row: Row, event: ev.WorkStarted) -> None:
    passing = _passing(job, row, event.stage, event.sections, event.turn)
    if not row.shift:
        raise CannotBe("nobody is clocked on")
    for section, state in passing:
        window = _ended(section.window, row.at_us, True)
        if window is not None:
            job.windows.append(window)
        first_us = row.at_us if section.first_us is None else section.first_us
        _put(
            job,
            replace(
                section,
                state=state,
                worker=row.worker,
                first_us=first_us,
                taken_us=row.at_us,
                window=None,
            ),
        )
    job.begun.add(event.stage)
    if row.shift not in job.shifts:
        job.shifts.append(row.shift)
    if event.over:
        job.overruled.append(row)


def _own(row: Row, section: Section) -> None:
    if section.worker != row.worker:
        raise CannotBe(f"{section.name} is in the hands of {section.worker}")


def _put_down(job: Job, row: Row, event: ev.WorkPutDown) -> None:
    passing = _passing(job, row, event.stage, event.sections, event.turn)
    for section, _state in passing:
        _own(row, section)
    for section, state in passing:
        hands_us = section.worked_us(row.at_us)
        _put(job, replace(section, state=state, worker="", taken_us=None, hands_us=hands_us))


def _finish(job: Job, row: Row, event: ev.StepFinished) -> None:
    passing = _passing(job, row, event.stage, event.sections, event.turn)
    stage = _stage(job, event.stage)
    following = next_turn(stage, event.turn)
    if event.marks is not None and following is None:
        raise CannotBe("nothing follows that could be waited for")
    for section, _state in passing:
        _own(row, section)
    for section, _state in passing:
        first_us = row.at_us if section.first_us is None else section.first_us
        job.stints.append(
            Stint(
                event.stage,
                section.name,
                event.turn,
                first_us,
                row.at_us,
                row.worker,
                event.shared,
                row.press,
                job.version(event.stage),
            )
        )
        window: Window | None = None
        state: SectionState = "done"
        if following is not None:
            state = "todo"
            if event.marks is not None:
                planned = wait_after(stage, event.turn)
                kind: WindowKind = "dwell" if planned is None else planned[0]
                touched_us = row.at_us if kind == "gap" else first_us
                window = Window(
                    event.stage,
                    section.name,
                    following,
                    kind,
                    touched_us,
                    row.at_us,
                    event.marks,
                    version=job.version(event.stage),
                )
                state = "waiting"
        _put(
            job,
            replace(
                section,
                state=state,
                worker="",
                turn=following or event.turn,
                first_us=None,
                taken_us=None,
                hands_us=Length(0),
                finished_us=row.at_us,
                window=window,
            ),
        )


def _seen(job: Job, row: Row, event: ev.WindowSeen) -> None:
    for section, state in _passing(job, row, event.stage, event.sections, event.turn):
        if section.window is not None:
            window = replace(section.window, seen_us=row.at_us)
            _put(job, replace(section, state=state, window=window))


def _revise(job: Job, row: Row, event: ev.MarksRevised) -> None:
    for section, state in _passing(job, row, event.stage, event.sections, event.turn):
        if section.window is not None:
            window = replace(section.window, marks=event.marks)
            _put(job, replace(section, state=state, window=window))


def _skip(job: Job, row: Row, event: ev.SectionSkipped) -> None:
    for section, state in _passing(job, row, event.stage, event.sections, None):
        window = _ended(section.window, row.at_us, False)
        if window is not None:
            job.windows.append(window)
        _put(
            job,
            replace(
                section,
                state=state,
                first_us=None,
                taken_us=None,
                hands_us=Length(0),
                window=None,
                why=event.why,
            ),
        )


def _reopen(job: Job, row: Row, event: ev.SectionReopened) -> None:
    passing = _passing(job, row, event.stage, event.sections, None)
    stage = _stage(job, event.stage)
    if not 1 <= event.turn.layer <= stage.layers:
        raise CannotBe(f"{event.stage} has no layer {event.turn.layer}")
    try:
        work_of(stage, event.turn)
    except KeyError:
        raise CannotBe(f"{event.stage} has no such work step") from None
    for section, _state in passing:
        _whole_layers(section)
        if event.turn.pass_ != section.turn.pass_ + 1:
            raise CannotBe(f"{section.name} is at another turn")
    for section, state in passing:
        window = _ended(section.window, row.at_us, False)
        if window is not None:
            job.windows.append(window)
        _put(job, replace(section, state=state, turn=event.turn, window=None, why=event.why))
    job.begun.add(event.stage)


def _whole_layers(section: Section) -> None:
    if section.state in ("todo", "waiting") and not section.between_layers:
        raise CannotBe(f"{section.name} is not between two layers")


def _look(job: Job, row: Row, event: ev.SectionChecked) -> None:
    for section, _state in _passing(job, row, event.stage, event.sections, None):
        _whole_layers(section)
    job.facts.append(row)


def _book(job: Job, row: Row, event: ev.ProductUsed | ev.WaterTouched) -> None:
    _passing(job, row, event.stage, event.sections, None)
    job.begun.add(event.stage)
    job.facts.append(row)


def _close(job: Job, row: Row, event: ev.JobClosed) -> None:
    held = [s.name for s in job.sections.values() if s.state == "in hand"]
    if held:
        raise CannotBe(f"{held[0]} is still in hand")
    job.closed_us = row.at_us


def _give(job: Job, row: Row, event: ev.JobGiven) -> None:
    held = [s.name for s in job.sections.values() if s.state == "in hand"]
    if held:
        raise CannotBe(f"{held[0]} is still in hand")
    job.given_us, job.given_to = row.at_us, event.to


def _take_over(job: Job, row: Row, event: ev.JobTaken) -> None:
    if event.tenure != job.tenure + 1 or event.of != job.holder:
        raise CannotBe(f"it was handed over {job.tenure - 1} times before, and another cart has it")
    job.before = [
        replace(one, to_us=one.to_us or row.at_us, behind=row.seq)
        if one.origin == row.origin and one.behind is None
        else one
        for one in job.before
    ]
    own = job.holder == row.origin
    job.before.append(
        Holding(
            job.holder,
            job.taken_seq,
            job.taken_us or job.opened_us,
            job.given_us or (row.at_us if own else None),
            row.seq if own else None,
            tuple(job.every_window),
        )
    )
    for section in list(job.sections.values()):
        if section.state == "in hand":
            hands_us = section.worked_us(row.at_us)
            _put(job, replace(section, state="held", worker="", taken_us=None, hands_us=hands_us))
    job.holder, job.taken_seq, job.taken_us = row.origin, row.seq, row.at_us
    job.given_us, job.given_to = None, ""
    job.opened = replace(job.opened, number=event.number)


def _part(job: Job, row: Row, event: ev.PartSaid) -> None:
    job.whole = event.whole
    job.facts.append(row)


def _resume(job: Job, row: Row, event: ev.JobReopened) -> None:
    job.closed_us = None


def _keep(job: Job, row: Row, event: Struct) -> None:
    job.facts.append(row)


_HOW: dict[str, Callable[[Job, Row, Any], None]] = {
    "JobAmended": _amend,
    "StageAdded": _add_stage,
    "StageRevised": _revise_stage,
    "StageMoved": _move_stage,
    "AftercareRevised": _revise_aftercare,
    "HandoverRevised": _revise_handover,
    "SectionAdded": _add_section,
    "SectionSplit": _split,
    "WorkStarted": _start,
    "WorkPutDown": _put_down,
    "StepFinished": _finish,
    "WindowSeen": _seen,
    "MarksRevised": _revise,
    "SectionSkipped": _skip,
    "SectionReopened": _reopen,
    "ProductUsed": _book,
    "WaterTouched": _book,
    "SectionChecked": _look,
    "JobClosed": _close,
    "JobReopened": _resume,
    "JobGiven": _give,
    "JobTaken": _take_over,
    "PartSaid": _part,
}
