"""Views caught up row by row, with anything a worker could do in between, are those made anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from cartclock.engine.desk.bench import Pressed
from cartclock.engine.desk.past import Past
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import Window
from cartclock.engine.facts.shift_events import OtherKind
from cartclock.engine.plan.plan import Plan, Product
from cartclock.engine.rules import packs, rules
from cartclock.engine.store.codec import sealed_fields
from cartclock.engine.store.library import Library
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.stocked import BLOCK_US
from tests.facts.test_anything_goes import AnythingGoes, ago, others, revise, who, yes
from tests.kit.day import PLANS, WORKERS
from tests.kit.films import coat
from tests.kit.viewed import anew, answers_are_right, kept, make_all

# A film with a label, so that films are learned from; its product is counted in another unit.
FILM = Plan("film", (coat(sections=("one", "two", "three")),), (Product("coat", "Film coating"),))
READINGS = (
    ev.ReadingTaken(air_c=32, rh=42, panel_c=31),
    ev.ReadingTaken(air_c=24, rh=55, panel_c=22),
)
SEEN: Counter[str] = Counter()
# Several cases, so that several workers can share them.
PARTS = 4
# So many of them in a run without a word.
FEW = 2
# A day is too long to be made shorter by trying.
NO_SHRINKING = (Phase.explicit, Phase.generate)


class Viewed(AnythingGoes):
    """Anything goes, and the library is settled, cut, thrown away or met by another at any time."""

    @initialize(plan=st.integers(0, 2), hands=st.integers(1, 2), presses=st.integers(0, 9), two=yes)
    def begin(self, plan: int, hands: int, presses: int, two: bool) -> None:
        super().begin(plan, hands, 0, two)
        if two:
            # What is drawn behind it is added up by whole blocks.
            self.press(
                lambda: self.bench.do(packs.open_pack, ev.PackOpened("coat", 50.0, lot="B-2"))
            )
            for worker in WORKERS[:hands]:
                self.clock_off(worker, 0, True)
            self.clock.wind(BLOCK_US // 1_000_000)
            for worker in WORKERS[:hands]:
                self.clock_on(worker, 0)
        self.reading("me", 0, presses % 2)
        self.films("me", 50, 1 + presses % 3)
        for number in range(presses):
            self.plain_day(WORKERS[number % hands], 1, 61)
        if presses:
            self.called_away("me", 50 + presses, "phone", two)

    @precondition(lambda self: len(self.bench.jobs) < 4)
    @rule(worker=who, ago=ago, plan=st.integers(0, 2))
    def open_job(self, worker: str, ago: int, plan: int) -> None:
        number = len(self.bench.log.job_summaries()) + 1
        opened = ev.JobOpened((FILM, *PLANS)[plan], "", number, "green estate")
        self.do(worker, ago, rules.open_job, self.bench.new_id(), opened)

    # What reaches back, in the places where it matters.

    @rule(worker=who, ago=ago, number=st.integers(0, 1))
    def reading(self, worker: str, ago: int, number: int) -> None:
        self.do(worker, ago, rules.note_shift, READINGS[number])

    @rule(number=st.integers(0, 1), ago_s=st.integers(60, 400))
    def reading_before_a_film(self, number: int, ago_s: int) -> None:
        """It comes late, so the film that was laid since was laid in another climate."""
        self.films("me", 50, 1)
        self.do("me", ago_s, rules.note_shift, READINGS[number])

    @rule(ago_s=st.integers(0, 300), opened=yes, between=yes)
    def pack_in_the_middle(self, ago_s: int, opened: bool, between: bool) -> None:
        """A pack is weighed or opened, perhaps late, between two uses of one job."""
        self.films("me", 50, 1)
        if between and not self.stale:
            self.bench.library.settle()
        if opened:
            self.do("me", ago_s, packs.open_pack, ev.PackOpened("coat", 30.0, lot="C7"))
        else:
            self.do("me", ago_s, packs.weigh, ev.PackWeighed("coat", 21.5))
        self.films("me", 50, 1)

    @rule(by_s=st.integers(1, 300), number=st.integers(0, 3))
    def move_and_take_back(self, by_s: int, number: int) -> None:
        """A film's press or a reading is moved, looked at, and the moving struck."""
        rows = [r for r in self.bench.log.all_rows() if r.kind in ("ReadingTaken", "WindowSeen")]
        if not rows or self.stale:
            return
        row = rows[-1 - number % len(rows)]
        to_us = row.at_us - by_s * 1_000_000
        done = self.press(lambda: self.bench.move(row.press, to_us, "me"))
        if isinstance(done, Pressed):
            self.same()
            if number % 2:
                self.bench.library.settle()
            self.press(lambda: self.bench.strike(done.press, "", (), "me"))

    @rule(worker=who, seconds=st.integers(30, 200), count=st.integers(1, 3))
    def films(self, worker: str, seconds: int, count: int) -> None:
        """Sections are laid, watched and taken off."""
        for _ in range(count):
            self.plain_day(worker, 2, 20)
            self.clock.wind(seconds)
            self.same()
            for job in list(self.bench.jobs.values()):
                for window in job.films:
                    self.do(worker, 0, rules.see, job.id, window.stage, window.section)
            # Also with nothing behind the seeing that would make the part anew.
            self.same()
            self.plain_day(worker, 2, 40)

    @rule(worker=who, seconds=st.integers(30, 900), what=others, rest=yes)
    def called_away(self, worker: str, seconds: int, what: OtherKind, rest: bool) -> None:
        """Other work, or a rest, between two pieces of work."""
        self.plain_day(worker, 1, 60)
        if rest:
            self.take_break(worker, 0, "rest", True)
        else:
            self.other(worker, 0, what, 0, True)
        self.clock.wind(seconds)
        self.same()
        self.plain_day(worker, 1, 60)

    def seen_films(self) -> list[Window]:
        """The films that were watched until ready, by their last touch."""
        found = [w for job in self.bench.jobs.values() for w in job.every_window]
        return sorted((w for w in found if w.seen_us is not None), key=lambda w: w.last_us)

    # What may happen to the library.

    @precondition(lambda self: not self.stale)
    @rule()
    def settle(self) -> None:
        assert self.bench.library.settle()

    @precondition(lambda self: not self.stale)
    @rule()
    def slice(self) -> None:
        self.bench.library.slice(0)

    @precondition(lambda self: not self.stale)
    @rule(keep=st.integers(1, 3))
    def forget(self, keep: int) -> None:
        """Names and notes are forgotten, each so manieth; reasons, which folds hold, are not."""
        events = [row.event for row in self.rows()]
        told = (getattr(event, one) for event in events for one in sealed_fields(type(event)))
        refs = sorted({one.ref for one in told if one is not None})
        Past(self.bench.library).forget([ref for n, ref in enumerate(refs) if n % keep == 0])

    @precondition(lambda self: not self.stale)
    @rule()
    def crash(self) -> None:
        """The program ends between the row and the file."""
        self.bench.library.history.close()
        self.anew()

    @precondition(lambda self: not self.stale)
    @rule()
    def thrown_away(self) -> None:
        """The file is deleted between two runs."""
        history = self.bench.library.history
        history.close()
        for end in ("", "-wal", "-shm"):
            history.path.with_name(f"{history.path.name}{end}").unlink(missing_ok=True)
        self.anew()

    def anew(self) -> None:
        self.bench.library = Library(
            self.bench.log, VIEWS, lambda: (self.bench.jobs, self.bench.shifts)
        )

    @precondition(lambda self: not self.stale)
    @rule(sliced=yes)
    def another_settles(self, sliced: bool) -> None:
        """Another program on the same log writes its parts down."""
        other = self.opened()
        if sliced:
            other.library.slice(0)
        other.close()

    @invariant()
    def same(self) -> None:
        if self.stale:
            return
        library, rows = self.bench.library, self.rows()
        tell, _products = self.told()
        wanted, found = anew(rows, self.bench.log, tell), kept(library)
        if library.left():
            # What is there is right, and nothing is there twice.
            for table, lines in found.items():
                assert [line for line in lines if line not in wanted[table]] == []
                assert len(set(map(repr, lines))) == len(lines) or table == "film_line"
            make_all(library)
            found = kept(library)
        assert found == wanted
        SEEN.update({table: len(lines) for table, lines in found.items()})
        answers_are_right(library, self.bench.log, rows, tell)


@pytest.fixture
def machine() -> Iterator[Viewed]:
    """A film with a label was laid and seen; everything is looked at and written down."""
    machine = Viewed()
    machine.begin(0, 1, 0, False)
    machine.settle()
    yield machine
    machine.teardown()


@pytest.mark.parametrize("settled", [True, False])
def test_a_late_reading_tells_the_film_laid_since_of_another_climate(
    machine: Viewed, settled: bool
) -> None:
    before = dict(FILMS.own(machine.bench.library, "me"))
    machine.films("me", 50, 1)
    if settled:
        machine.settle()
    # One second before the newest film was laid.
    (last_us,) = {film.last_us for film in machine.seen_films()[-1:]}
    ago_s = (machine.bench.now_us - last_us) // 1_000_000 + 1
    machine.do("me", ago_s, rules.note_shift, READINGS[1])
    machine.same()
    after = FILMS.own(machine.bench.library, "me")["coat"]
    assert [own.climate.panel_c for own in before["coat"]] == [31.0] * (len(after) - 1)
    assert [own.climate.panel_c for own in after] == [*[31.0] * (len(after) - 1), 22.0]


@pytest.mark.parametrize("settled", [True, False])
def test_a_moving_that_is_struck_puts_the_film_back(machine: Viewed, settled: bool) -> None:
    machine.films("me", 50, 1)
    before = dict(FILMS.own(machine.bench.library, "me"))
    seen = [row for row in machine.bench.log.all_rows() if row.kind == "WindowSeen"][-1]
    # It is moved in a second shift and struck in a third, which have nothing to do with the film.
    machine.next_shift("me", 60)
    moved = machine.press(lambda: machine.bench.move(seen.press, seen.at_us - 7_000_000, "me"))
    assert isinstance(moved, Pressed), moved
    machine.same()
    assert dict(FILMS.own(machine.bench.library, "me")) != before
    machine.next_shift("me", 60)
    machine.same()
    if settled:
        machine.settle()
    machine.press(lambda: machine.bench.strike(moved.press, "", (), "me"))
    machine.same()
    assert dict(FILMS.own(machine.bench.library, "me")) == before


def test_revised_marks_say_what_standing_by_was_in_a_shift_between(machine: Viewed) -> None:
    """A film is laid in one shift, stood by in a second and revised in a third."""
    while not any(job.films for job in machine.bench.jobs.values()):
        machine.plain_day("me", 1, 20)
    (window,) = [film for job in machine.bench.jobs.values() for film in job.films]
    machine.put_down("me", 0)
    machine.clock_on("helper", 0)
    other = [m for m in machine.bench.moves("helper") if m.act == "take up"]
    move = next(m for m in other if window.section not in m.sections)
    machine.take("helper", 0, move, True)
    machine.clock.wind(10)
    machine.put_down("helper", 0)
    machine.clock.wind(30)
    machine.next_shift("helper", 0)
    machine.same()
    before = kept(machine.bench.library)["shift_line"]
    done = machine.do("helper", 0, revise, move.job, window.stage, window.section, 61)
    assert isinstance(done, Pressed), done
    machine.same()
    assert kept(machine.bench.library)["shift_line"] != before


@pytest.mark.parametrize("part", range(FEW))
def test_views_caught_up_are_views_made_anew(part: int) -> None:
    viewed(part, settings(max_examples=3, stateful_step_count=11, phases=NO_SHRINKING))


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_views_caught_up_are_views_made_anew_for_long(part: int) -> None:
    viewed(part, settings(max_examples=100, stateful_step_count=40))


def viewed(part: int, how: settings) -> None:
    """One of several machines that differ in their name, and with it in their examples."""
    run_state_machine_as_test(type(f"Viewed{part}", (Viewed,), {}), settings=how)
    # What was found equal was not nothing.
    assert {table for view in VIEWS for table in view.tables} == {*SEEN}
    # Only imported jobs have lines there (tests/store/test_exchange.py).
    assert {table for table, seen in SEEN.items() if not seen} == {"served_elsewhere"}
