"""A cart with its log on the disk and two workers, and the laws that hold after every press."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis.stateful import RuleBasedStateMachine, invariant

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.in_play import film_runs
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.words import move_text, row_text
from cartclock.engine.films.cure import long_text, queue
from cartclock.engine.hours.partition import partition, sums
from cartclock.engine.now.scene import Scene
from cartclock.engine.press import Press
from cartclock.engine.products.stock import Stock, stock
from cartclock.engine.products.supply import stock_notices
from cartclock.engine.rules import changes, rules
from cartclock.engine.store.clock import HandClock
from cartclock.engine.trouble import Asks, Refused
from cartclock.tui.told.in_view import job_in_view
from tests.kit.blank import bench_at
from tests.kit.day import START_US, WORKERS, Told, from_scratch, told
from tests.kit.reckoner import SECOND_US, reckoned

Result = Pressed | Asks | Refused

# Of other presses made now a rule knows whether the folds can take them.
LOOSE = (rules.note_job, changes.add_section, changes.fill_in)


def begun(shift: Shift) -> tuple[int, bool, int]:
    """Sorts shifts; of two that begin at one instant the one that is over comes first."""
    return (shift.on_us, shift.off_us is None, shift.off_us or 0)


class Cart(RuleBasedStateMachine):
    """The cart: its bench, its clock, and how a press is made on it."""

    # How the naive reckoner goes through a shift.
    leaps = True

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.clock = HandClock(START_US)
        self.entropy = random.Random(0).randbytes
        self.images: list[Path] = []
        self.boots = 1
        # True while another program has written and the bench has not noticed.
        self.stale = False
        # Each row as it stands on the disk, with what the log reads in it.
        self._stored: list[tuple[Any, ...]] = []
        # The rows as last read from the disk, and the connection and its counts of changes then.
        self._disk: tuple[object, list[tuple[Any, ...]]] = (None, [])
        self._rows: list[Row] = []
        # What those rows tell, and of the products; the same rows tell the same.
        self._told: tuple[list[Row], Told, Stock] | None = None
        # The folds and the instant of which everything that is said was looked at last.
        self._seen: object = None
        self.bench = self.opened()
        self.shop = Shop(self.bench.log, library=self.bench.library)

    def opened(self) -> Bench:
        """One more bench on the same log."""
        return bench_at(self.folder / "log.db", self.clock, WORKERS[0], self.entropy)

    def teardown(self) -> None:
        """The last look, at everything."""
        try:
            rows = self.bench.log.all_rows()
            assert rows == self.rows()
            jobs, shifts = from_scratch(rows)
            for shift in shifts.values():
                self.reckon(rows, jobs, shift)
            self.summed_up(jobs, shifts)
            assert self.bench.log.check() == []
        finally:
            self.bench.close()
            shutil.rmtree(self.folder)

    def stored(self) -> list[tuple[Any, ...]]:
        """The rows as they stand on the disk, read again after any change to the file.

        SQLite counts what this connection changed, even if it was rolled back, and what others did
        (sqlite.org/pragma.html, data_version).
        """
        db = self.bench.log._db
        changes = (db, db.total_changes, db.execute("PRAGMA data_version").fetchone()[0])
        if self._disk[0] != changes:
            asked = "SELECT * FROM rows WHERE origin = ? ORDER BY seq"
            self._disk = (changes, db.execute(asked, (self.bench.log.origin,)).fetchall())
        return self._disk[1]

    def rows(self) -> list[Row]:
        """Every row; one that stands on the disk as it did before is not read again."""
        stored = self.stored()
        if stored is self._stored:
            return list(self._rows)
        pairs = enumerate(zip(self._stored, stored, strict=False))
        same = next((at for at, (was, is_so) in pairs if was != is_so), None)
        if same is None:
            same = min(len(self._stored), len(stored))
        if any(line[6] == "TimeCorrected" for line in (*self._stored, *stored)[same:]):
            # Read with other times by now.
            same = 0
        behind = self._rows[same - 1].seq if same else -1
        if self._stored != stored:
            self._stored = stored
            self._rows = [*self._rows[:same], *self.bench.log.rows_after(behind)]
        return list(self._rows)

    def told(self) -> tuple[Told, Stock]:
        """What the rows tell by which `rows` answered last."""
        if self._told is None or self._told[0] is not self._rows:
            self._told = (self._rows, told(self._rows), stock(self._rows))
        return self._told[1:]

    # Pressing: accepted, or refused in a sentence and nothing changed.

    def press(self, act: Callable[[], Pressed]) -> Result:
        """What came of a press; one refused because of another program is made again."""
        stored = self.stored()
        try:
            done = act()
        except (Asks, Refused) as no:
            said = str(no)
            assert said[-1] in ".?" and ": ." not in said, said
            assert self.stored() == stored
            if "wrote meanwhile" in said:
                assert self.stale, said
                self.stale = False
                self.laws()
                return self.press(act)
            return no
        assert not self.stale, "a press went through although another program had written"
        rows = self.rows()
        assert self._stored[: len(stored)] == stored
        assert rows[len(stored) :] == list(done.rows)
        return done

    def do(self, worker: str, ago_s: int, *args: Any, **facts: Any) -> Result:
        """A press by a rule, so many seconds ago."""
        result = self.press(lambda: self.bench.do_as(worker, ago_s * SECOND_US, *args, **facts))
        assert ago_s or args[0] in LOOSE or "That cannot be" not in str(result), str(result)
        return result

    def do_or_insist(self, insist: bool, *args: Any) -> Result:
        """A press by a rule, said again where it asks."""
        result = self.do(*args)
        if insist and isinstance(result, Asks):
            return self.do(*args, over={result.rule_id: "said again"})
        return result

    def correct(
        self, press: Press, act: Callable[[], Pressed], cascade: bool, worker: str
    ) -> Result:
        """A correction; where striking more is offered, that is done if `cascade`."""
        result = self.press(act)
        if cascade and isinstance(result, Refused) and result.standing and not self.stale:
            also = result.standing
            done = self.press(lambda: self.bench.strike(press, "mistaken", also, worker))
            assert isinstance(done, Pressed), f"striking {also} with {press} was offered: {done}"
        return result

    def correct_alone(self, press: Press, act: Callable[[], Pressed]) -> None:
        """A restore or a move; striking that very press is never offered as a way to it."""
        result = self.press(act)
        assert not isinstance(result, Refused) or press not in result.standing

    # Choosing by number.

    def scene(self, worker: str, ago_s: int = 0) -> Scene:
        """What a rule would look at."""
        return self.bench.scene(worker, self.bench.now_us - ago_s * SECOND_US if ago_s else None)

    def a_job(self, number: int) -> str:
        """One of the jobs at hand."""
        jobs = sorted(self.bench.jobs) or ["no such job"]
        return jobs[number % len(jobs)]

    def a_section(self, number: int, *states: str) -> tuple[str, str, str]:
        """One of the sections at hand as job, stage, name; mostly one in one of these states."""
        found = [s for job in sorted(self.bench.jobs) for s in self.sections(job)]
        fitting = [s for s in found if s[3] in states]
        if fitting and number % 8:
            found = fitting
        return found[number % len(found)][:3] if found else ("no such job", "", "")

    def sections(self, job: str) -> list[tuple[str, str, str, str]]:
        """The sections of a job at hand with their states."""
        return [(job, s.stage, s.name, s.state) for s in self.bench.jobs[job].sections.values()]

    def a_press(self, number: int, rows: list[Row]) -> Press:
        """One of the presses of these rows, the newest for 0."""
        presses = sorted({row.press for row in rows})
        return (
            presses[-1 - number % len(presses)] if presses else Press(self.bench.log.origin, number)
        )

    # What always holds.

    def reckon(
        self, rows: list[Row], jobs: dict[str, Job], shift: Shift, naively: bool = True
    ) -> None:
        """The hours of a shift: an exact partition, and the same as reckoned naively."""
        now_us = self.bench.now_us
        pieces = partition(shift, jobs, now_us)
        end_us = now_us if shift.off_us is None else shift.off_us
        assert sum(piece.length_us for piece in pieces) == max(0, end_us - shift.on_us)
        if naively:
            seconds = reckoned(rows, shift.id, now_us, self.leaps)
            assert sums(pieces) == {bucket: s * SECOND_US for bucket, s in seconds.items()}

    @invariant()
    def laws(self) -> None:
        """The log is whole, nothing in it is odd, and the bench believes what the log says."""
        rows = self.rows()
        assert [row.seq for row in rows] == list(range(len(rows)))
        entered = [row.entered_us for row in rows]
        assert entered == sorted(entered)
        (jobs, shifts, odd), products = self.told()
        assert odd == []
        newest: dict[str, Shift] = {}
        for shift in sorted(shifts.values(), key=begun):
            before = newest.get(shift.worker)
            over_us = shift.on_us if before is None else before.off_us
            assert over_us is not None and over_us <= shift.on_us, "shifts overlap"
            newest[shift.worker] = shift
        if self.stale:
            return
        assert self.bench.log.head.seq == len(rows) - 1
        if self.shop.log is not self.bench.log or self.shop.library is not self.bench.library:
            self.shop = Shop(self.bench.log, library=self.bench.library)
        # Rows that came one by one tell the same as all of them told anew.
        held = self.shop.stock()
        if self.bench.library.left():
            # What is said of a bottle before everything was read is right, too.
            for product, item in held.items.items():
                assert item.book in (None, products.items[product].book)
        else:
            assert held.items == products.items
        assert self.bench.jobs == {job: jobs[job] for job in self.bench.jobs}
        assert self.bench.shifts == {shift: shifts[shift] for shift in self.bench.shifts}
        assert {j for j in jobs if jobs[j].state == "open"} <= set(self.bench.jobs)
        # What is said of the same folds at the same instant has been looked at: many presses are
        # refused.
        seen = (self._told, self.bench, self.bench.now_us, set(self.bench.jobs))
        if seen != self._seen:
            self._seen = seen
            self.said(rows, held)

    def said(self, rows: list[Row], held: Stock) -> None:
        """What is said of the folds at this instant is right, and can be said."""
        (jobs, shifts, _odd), _products = self.told()
        newest = {shift.worker: shift for shift in sorted(shifts.values(), key=begun)}
        stock_notices(held, self.bench.jobs, self.bench.now_us)
        for worker in WORKERS:
            own = self.bench.shift(worker)
            assert (own is None) == (worker not in newest)
            if own is not None:
                # Of shifts that begin and end at the same instants any may be the newest.
                assert begun(own) == begun(newest[worker])
                # The naive way is slow: now and then, and of every shift in the end.
                self.reckon(rows, jobs, own, len(rows) % 4 == 0)
                assert self.bench.partition(worker) == partition(own, jobs, self.bench.now_us)
            self.look(worker)
        for row in rows[-4:]:
            assert row_text(row, jobs)

    def summed_up(self, jobs: dict[str, Job], shifts: dict[str, Shift]) -> None:
        """The lines of the lists say what the folds say."""
        for one in self.bench.log.job_summaries():
            is_open = one.job in jobs and jobs[one.job].state == "open"
            assert (one.closed_us is None) == is_open
        told = {(s.shift, s.worker, s.on_us, s.off_us) for s in self.bench.log.shift_summaries()}
        assert {(s.id, s.worker, s.on_us, s.off_us) for s in shifts.values()} <= told

    def timed(self) -> bool:
        """True if the newest press was made on the clock that runs now."""
        newest = self.bench.log.rows_after(self.bench.log.head.seq - 1)
        return bool(newest) and newest[0].boot == self.clock.boot

    def look(self, worker: str) -> None:
        """What the screen asks for all the time can be had, and never raises."""
        scene, asked = self.bench.scene(worker), self.bench.questions(worker)
        assert len(asked) <= 8
        for question in asked:
            if question.kind != "break":
                rules.judge_gap(scene, question.from_us, question.to_us, "not known")
        for one in queue(self.bench.jobs, self.bench.shifts, self.bench.now_us):
            assert long_text(one, self.bench.jobs[one.job], self.bench.now_us)
        found = self.bench.moves(worker)
        for chosen in (None, Move("rest", why="rest"), *found):
            # Whatever the large key would take up, no other key presses on a closed job.
            in_view = job_in_view(self.bench, chosen)
            assert in_view is None or in_view.state == "open"
        for move in found:
            assert move_text(move, self.bench.jobs)
            try:
                drafts = rules.take_up(scene, move)
            except (Asks, Refused) as no:
                assert str(no)[-1] in ".?"
                # Ending the job may be asked about at any time.
                work = move.act != "close"
                wave = film_runs(scene.ended(finish=True).values(), scene.now_us)
                assert not (work and isinstance(no, Asks) and wave)
            else:
                assert drafts
