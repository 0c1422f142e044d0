"""A naive reckoner of the hours of a shift: it walks the shift second by second and adds up.

It shares no code with the folds and the partition. It reads raw rows, takes strikes, restores
and moves into account in its own plain way, and puts every second into one bucket; where nothing
but a row can change the bucket it counts the seconds up to that row at once. So it is slow, and
exact only if everything happened on whole seconds; anything else it refuses. Told to leap, it
counts the seconds at once up to the next instant at which a film or an answer begins or ends, too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import get_args

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift_events import BreakKind, OtherKind
from cartclock.engine.plan.plan import Stage

SECOND_US = 1_000_000

# kind, what, job, stage: the keys of the sums of the partition.
Bucket = tuple[str, str, str, str]
Key = tuple[str, str, str]


class Film:
    """A dwell or flash on one section, from its last touch on; all times in microseconds."""

    def __init__(self, key: Key, first_us: int, last_us: int, closes_s: int) -> None:
        self.key = key
        self.first_us = first_us
        self.last_us = last_us
        self.closes_us = first_us + closes_s * SECOND_US
        self.ended_us: int | None = None

    def runs(self, second_us: int) -> bool:
        """True if it runs through the second that begins then."""
        return second_us >= self.last_us and not self.over(second_us)

    def over(self, second_us: int) -> bool:
        """True if it runs through neither that second nor any later one."""
        if second_us >= self.closes_us:
            return True
        return self.ended_us is not None and second_us >= self.ended_us


def happened(rows: Iterable[Row]) -> list[tuple[int, Row]]:
    """What is to be believed, with its job time, in the order in which it happened."""
    written = sorted(rows, key=lambda row: row.seq)
    dead: set[int] = set()
    for row in written:
        if isinstance(row.event, ev.PressStruck):
            dead.add(row.event.press)
        if isinstance(row.event, ev.PressRestored):
            dead.discard(row.event.press)
    begun_us: dict[int, int] = {}
    moved_us: dict[int, int] = {}
    for row in written:
        begun_us.setdefault(row.press.seq, row.at_us)
        if isinstance(row.event, ev.PressMoved) and row.press.seq not in dead:
            moved_us[row.event.press] = row.event.to_us
    found = []
    for row in written:
        if row.press.seq in dead or type(row.event) in ev.CORRECTIONS:
            continue
        at_us = row.at_us
        if row.press.seq in moved_us:
            at_us = moved_us[row.press.seq] + row.at_us - begun_us[row.press.seq]
        if at_us % SECOND_US:
            raise ValueError(f"row {row.seq} is not on a whole second")
        found.append((at_us, row))
    return sorted(found, key=lambda pair: (pair[0], pair[1].seq))


def films(lines: Sequence[tuple[int, Row]], jobs: set[str]) -> list[Film]:
    """Every dwell and flash of these jobs, the ended ones too."""
    steps: dict[tuple[str, str], int] = {}
    for _at_us, row in lines:
        stages: tuple[Stage, ...] = ()
        if isinstance(row.event, ev.JobOpened):
            stages = row.event.plan.stages
        elif isinstance(row.event, ev.StageAdded | ev.StageRevised):
            stages = (row.event.stage,)
        for stage in stages:
            steps[row.job, stage.name] = len(stage.steps)
    found: list[Film] = []
    running: dict[Key, Film] = {}
    touched_us: dict[Key, int] = {}
    for at_us, row in lines:
        event = row.event
        if isinstance(event, ev.JobGiven):
            # Whoever has the job stands by for it.
            for key in [key for key in running if key[0] == row.job]:
                running.pop(key).ended_us = at_us
        if row.job not in jobs or not isinstance(
            event, ev.WorkStarted | ev.StepFinished | ev.SectionSkipped | ev.MarksRevised
        ):
            continue
        for name in event.sections:
            key = (row.job, event.stage, name)
            if isinstance(event, ev.MarksRevised):
                if key in running:
                    film = running[key]
                    film.closes_us = film.first_us + event.marks.closes_s * SECOND_US
                continue
            if key in running:
                running.pop(key).ended_us = at_us
            if isinstance(event, ev.WorkStarted):
                touched_us.setdefault(key, at_us)
                continue
            first_us = touched_us.pop(key, at_us)
            if not isinstance(event, ev.StepFinished) or event.marks is None:
                continue
            # Behind the last step lies the gap between two layers, and nobody stands by that.
            if event.turn.step + 1 < steps[row.job, event.stage]:
                running[key] = Film(key, first_us, at_us, event.marks.closes_s)
                found.append(running[key])
    return found


def answered(second_us: int, answers: Sequence[ev.GapJudged]) -> Bucket | None:
    """Where the worker's last word about that second puts it; None if as it stood."""
    was = "as it stood"
    for answer in answers:
        if answer.from_us <= second_us < answer.to_us:
            was = answer.was
    if was == "as it stood":
        return None
    if was in get_args(BreakKind):
        return ("break", was, "", "")
    if was in get_args(OtherKind):
        return ("other", was, "", "")
    return (was, "", "", "")


def idle(second_us: int, waits: Sequence[Film]) -> Bucket:
    """Where a second with nothing in hand goes: to the film that closes first, or nowhere."""
    best = None
    for film in waits:
        # Two that close together are told apart by their beginning, then by name.
        rank = (film.closes_us, film.last_us, film.key[0], film.key[2])
        if film.runs(second_us) and (best is None or rank < best[0]):
            best = (rank, film)
    if best is None:
        return ("unassigned", "", "", "")
    job, stage, _section = best[1].key
    return ("standing by", "", job, stage)


def changes(waits: Sequence[Film], answers: Sequence[ev.GapJudged]) -> list[int]:
    """When a film or an answer begins or ends."""
    found = [mark for film in waits for mark in (film.last_us, film.closes_us, film.ended_us)]
    found += [mark for answer in answers for mark in (answer.from_us, answer.to_us)]
    return [mark for mark in found if mark is not None]


def reckoned(
    rows: Sequence[Row], shift: str, now_us: int, leaps: bool = False
) -> dict[Bucket, int]:
    """Seconds per bucket of one shift, from clocking on to clocking off or to `now_us`.

    Args:
        rows: the whole log, corrections included.
        shift: id of the shift; one that nobody clocked on to gives no seconds.
        now_us: job time, on a whole second.
        leaps: False to look at every second in which a film runs or that was answered for.

    Raises ValueError for a row between two seconds.
    """
    lines = happened(rows)
    mine = [(at_us, row.job, row.event) for at_us, row in lines if row.shift == shift]
    taken = {job for _at_us, job, event in mine if isinstance(event, ev.WorkStarted)}
    waits = films(lines, taken)
    answers = [event for _at_us, _job, event in mine if isinstance(event, ev.GapJudged)]
    total: Counter[Bucket] = Counter()
    bucket: Bucket | None = None
    in_hand: set[str] = set()
    on_the_clock = False
    ahead = 0
    second_us = mine[0][0] if mine else now_us
    while second_us < now_us:
        while ahead < len(mine) and mine[ahead][0] <= second_us:
            _at_us, job, event = mine[ahead]
            ahead += 1
            match event:
                case ev.ClockedOn():
                    on_the_clock, bucket = True, None
                case ev.ClockedOff():
                    on_the_clock = False
                case ev.BreakTaken(what):
                    bucket = ("break", what, "", "")
                case ev.OtherWorkStarted(what, serves):
                    # Whom it was for is said while it is on, and holds from its beginning.
                    for _at_us, _job, later in mine[ahead:]:
                        if isinstance(later, ev.OtherWorkEnded):
                            break
                        if isinstance(later, ev.OtherWorkAssigned):
                            serves = later.job
                    bucket = ("other", what, serves, "")
                case ev.BreakEnded() | ev.OtherWorkEnded():
                    bucket = None
                case ev.WorkStarted(stage, sections):
                    bucket, in_hand = ("hands", "", job, stage), set(sections)
                case ev.WorkPutDown() | ev.StepFinished():
                    in_hand -= set(event.sections)
                    bucket = bucket if in_hand else None
        if on_the_clock:
            # What is over stays over.
            waits = [film for film in waits if not film.over(second_us)]
            answers = [answer for answer in answers if second_us < answer.to_us]
            seconds = 1
            if leaps or (not answers and (bucket is not None or not waits)):
                # Only a row can change it, and rows are on whole seconds; now_us may not be.
                until_us = min(now_us, mine[ahead][0]) if ahead < len(mine) else now_us
                marks = changes(waits, answers) if leaps else ()
                until_us = min([until_us, *(mark for mark in marks if mark > second_us)])
                seconds = -(-(until_us - second_us) // SECOND_US)
            total[answered(second_us, answers) or bucket or idle(second_us, waits)] += seconds
            second_us += seconds * SECOND_US
        elif ahead < len(mine):
            second_us = mine[ahead][0]
        else:
            break
    return dict(total)
