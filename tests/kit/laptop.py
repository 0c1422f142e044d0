"""A laptop to which anything can happen, and a worker who takes back what was pressed on it."""

from __future__ import annotations

import shutil
from contextlib import suppress
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft, standing
from cartclock.engine.press import Press
from cartclock.engine.rules import rules
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused
from tests.kit.cart import Cart, begun
from tests.kit.day import START_US, WORKERS
from tests.kit.reckoner import SECOND_US

who = st.sampled_from(WORKERS)
pick = st.integers(0, 999)
yes = st.booleans()


class Laptop(Cart):
    """Corrections, clocks, restarts, images put back, other programs."""

    # Corrections.

    @rule(worker=who, cascade=yes)
    def undo(self, worker: str, cascade: bool) -> None:
        rows = self.rows()
        stands = {row.press: True for row in rows}
        for row in rows:
            if isinstance(row.event, ev.PressStruck | ev.PressRestored):
                assert row.corrects is not None
                stands[row.corrects] = isinstance(row.event, ev.PressRestored)
                stands[row.press] = False
            if isinstance(row.event, ev.TimeCorrected):
                stands[row.press] = False
        mine = [row.press for row in rows if row.worker == worker and row.by == "worker"]
        newest = max((press for press in mine if stands[press]), default=Press("", -1))
        stale, length = self.stale, len(rows)
        result = self.correct(newest, lambda: self.bench.undo(worker), cascade, worker)
        struck = [row.event for row in self.bench.log.rows_after(length - 1)]
        if not stale:
            away = isinstance(result, Refused) and any(
                words in str(result) for words in ("behind a hand-over", "was given to")
            )
            assert not isinstance(result, Refused) or result.standing or newest.seq < 0 or away
        if struck and not stale:
            assert ev.PressStruck(newest.seq) in struck or (
                ev.PressStruck(newest.seq, "mistaken") in struck
            )

    @rule(worker=who, number=pick, cascade=yes)
    def strike(self, worker: str, number: int, cascade: bool) -> None:
        rows = self.rows()
        press, stale = self.a_press(number, rows), self.stale
        stands = standing(rows).get(press, True)
        strike = self.bench.strike
        result = self.correct(press, lambda: strike(press, "", (), worker), cascade, worker)
        assert stands or stale or isinstance(result, Refused)

    @rule(worker=who, number=pick)
    def restore(self, worker: str, number: int) -> None:
        rows = self.rows()
        presses = [r.corrects for r in rows if isinstance(r.event, ev.PressStruck) and r.corrects]
        press = presses[-1 - number % len(presses)] if presses else self.a_press(number % 4, rows)
        self.correct_alone(press, lambda: self.bench.restore(press, worker))

    @rule(worker=who, number=pick, by_s=st.one_of(st.integers(-90, 90), st.integers(-3600, 3600)))
    def move(self, worker: str, number: int, by_s: int) -> None:
        rows = self.rows()
        press = self.a_press(number, rows)
        at_us = rows[press.seq].at_us if press.seq < len(rows) else START_US
        to_us = self.bench.now_us if number % 4 == 0 else at_us + by_s * SECOND_US
        self.correct_alone(press, lambda: self.bench.move(press, to_us, worker))

    @rule(worker=who, number=pick, by_s=st.integers(-7200, 7200), cascade=yes)
    def correct_time(self, worker: str, number: int, by_s: int, cascade: bool) -> None:
        rows = self.rows()
        press = self.a_press(number, rows)
        if press.seq >= len(rows):
            return
        right_us = Instant(rows[press.seq].entered_us + by_s * SECOND_US)
        now_us, timed = self.bench.now_us, self.timed()

        def said(*also: Press) -> Pressed:
            return self.bench.correct_time(press, right_us, "UTC", also, worker)

        result = self.press(said)
        if cascade and isinstance(result, Refused) and result.standing and not self.stale:
            result = self.press(lambda: said(*result.standing))
            assert isinstance(result, Pressed), f"striking more was offered: {result}"
        if isinstance(result, Pressed):
            fix = result.rows[0].event
            assert isinstance(fix, ev.TimeCorrected)
            if timed or fix.until is not None:
                by_us = by_s * SECOND_US if fix.until is None else 0
                assert self.bench.now_us == now_us + by_us

    # Time and the laptop.

    @rule(seconds=st.one_of(st.integers(1, 600), st.integers(600, 7200)), look=yes)
    def wind(self, seconds: int, look: bool) -> None:
        timed, before_us = self.timed(), self.bench.now_us
        self.clock.wind(seconds)
        assert not timed or self.bench.now_us == before_us + seconds * SECOND_US
        if look:
            self.watch()

    def watch(self) -> None:
        try:
            self.bench.tick()
            self.bench.beat()
        except Refused as no:
            assert self.stale and "wrote meanwhile" in str(no)
            self.stale = False

    @rule(worker=who)
    def call_rest(self, worker: str) -> None:
        draft = Draft(ev.RestCalled("heat", 900))
        self.press(lambda: self.bench.machine([draft], worker))

    @rule(seconds=st.integers(-7200, 7200), boot=yes)
    def set_wall(self, seconds: int, boot: bool) -> None:
        timed, before_us = self.timed(), self.bench.now_us
        self.clock.set_wall(seconds)
        assert not timed or self.bench.now_us == before_us
        if boot:
            self.boots += 1
            self.clock.reboot(f"boot-{self.boots}")
            self.kill()

    @rule(ahead_s=st.integers(-60, 900))
    def say_time(self, ahead_s: int) -> None:
        self.press(lambda: self.bench.say_time(self.bench.now_us + ahead_s * SECOND_US))

    @rule()
    def kill(self) -> None:
        def seen(bench: Bench) -> list[Any]:
            shifts = [shift and begun(shift) for shift in map(bench.shift, WORKERS)]
            lists = [(bench.moves(worker), bench.questions(worker)) for worker in WORKERS]
            return [shifts, lists, bench.now_us, bench.time_unsure]

        before = None if self.stale else seen(self.bench)
        self.bench.close()
        self.bench, self.stale = self.opened(), False
        assert before is None or seen(self.bench) == before
        self.bench.wake()

    @rule()
    def keep_image(self) -> None:
        self.images.append(self.folder / f"image {len(self.images)}")
        self.bench.log.backup(self.images[-1])

    @precondition(lambda self: self.images)
    @rule(number=pick)
    def put_image_back(self, number: int) -> None:
        self.bench.close()
        for name in ("log.db-wal", "log.db-shm"):
            (self.folder / name).unlink(missing_ok=True)
        shutil.copy(self.images[number % len(self.images)], self.folder / "log.db")
        self.bench, self.stale = self.opened(), False
        self.bench.wake()

    @rule(worker=who, number=pick)
    def other_program(self, worker: str, number: int) -> None:
        other = self.opened()
        head, found = other.log.head, other.moves(worker)
        with suppress(Asks, Refused):
            if found:
                other.do_as(worker, 0, rules.take_up, found[number % len(found)])
            else:
                other.do_as(worker, 0, rules.clock_on, ev.ClockedOn("the other cart"))
        self.stale = self.stale or other.log.head != head
        other.close()
