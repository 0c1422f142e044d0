"""Today: the open jobs, the windows of hours and days, and how a new job begins."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import partial
from typing import ClassVar

from cartclock.engine.ahead.handover import handover_notices
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.now.at_hand import job_at_hand
from cartclock.engine.rules import choices, rules, typed
from cartclock.engine.times import Instant, Length
from cartclock.engine.trouble import Asks
from cartclock.engine.until import bare
from cartclock.tui.face.page import Page
from cartclock.tui.lists.call_back import promise_call_back
from cartclock.tui.lists.forgetting import open_forgetting
from cartclock.tui.lists.handing import open_handing
from cartclock.tui.lists.incident import open_incident
from cartclock.tui.lists.keys_taken import open_keys_taken
from cartclock.tui.lists.minutes import ask_minutes, minutes_line
from cartclock.tui.lists.plans.making import open_making
from cartclock.tui.lists.reminders import open_new_ones
from cartclock.tui.lists.which_plan import open_which_plan
from cartclock.tui.lists.whose import ask_whose, open_whose
from cartclock.tui.pages.today import today_page
from cartclock.tui.screens.ahead import AheadScreen
from cartclock.tui.screens.program import CardAsked
from cartclock.tui.screens.run import RunScreen
from cartclock.tui.told import long_windows
from cartclock.tui.told.asked import Asked
from cartclock.tui.widgets.sheet import Line


class TodayScreen(AheadScreen):
    """Jobs and long windows."""

    called: ClassVar[str] = "today"

    # The jobs as they were shown last.
    _ids: Sequence[str] = ()

    def on_screen_resume(self) -> None:
        """Back on top: the cursor is on the job at hand, so that no other is taken by chance."""
        now = self.cart.workplace.moment
        at_hand = job_at_hand(now.jobs, now.me.on)
        ids = [job.id for job in self.jobs()]
        if at_hand is not None:
            self.at = ids.index(at_hand.id)
            self._ids = ids
        super().on_screen_resume()

    def paint(self) -> None:
        """The cursor stays on its job wherever that has its place now, handed over, opened again or
        given away: a second press would be meant for it."""
        ids = [job.id for job in self.jobs()]
        # Whoever goes up from the first job stays on it.
        self.at = max(0, self.at)
        before = self._ids[self.at] if self.at < len(self._ids) else ""
        if before in ids:
            self.at = ids.index(before)
        self._ids = ids
        super().paint()

    def jobs(self) -> list[Job]:
        """Jobs in memory, open ones first, by number."""
        known = self.cart.bench.jobs.values()
        return sorted(known, key=lambda j: (j.state != "open", j.opened.number))

    def beside(self) -> Hashable:
        """What is known of the shop."""
        return self.cart.workplace.shop_side.look()

    def page_at(self, now_us: Instant) -> Page:
        """One block a job, then the long windows."""
        bench, now = self.cart.bench, self.cart.workplace.moment
        at_us = Instant(bare(now_us))
        hands = {
            job.id: Length(sum(self.cart.shop.hands_on(job, bench.shifts, at_us).values()))
            for job in open_jobs(bench.jobs.values())
        }
        hand = (now.me, now.helper)
        return today_page(
            jobs=self.jobs(),
            shifts=[one.on for one in hand if one is not None and one.on is not None],
            now_us=now_us,
            zone=self.cart.settings.zone,
            hands=hands,
            ahead=now.ahead,
            windows=long_windows.long_windows(bench, now_us),
            notices=handover_notices(bench.jobs, now.ahead, now_us),
            on_clock=now.me.on is not None,
            unsent=self.cart.workplace.shop_side.unsent(now_us),
            elsewhere=self.cart.workplace.shop_side.elsewhere,
            given=self.cart.workplace.shop_side.given,
        )

    def press_choose(self) -> None:
        """What can be done with the chosen job."""
        jobs = self.jobs()
        if not jobs:
            self.press_add()
            return
        if self.at >= len(jobs):
            self.say("Choose a job with up and down.")
            return
        job = jobs[self.at]
        if job.state == "given":
            open_handing(self, job)
            return
        if job.state == "closed":
            lines = [
                Line("open it again", lambda: self._reopen(job)),
                Line("show its record", lambda: self._record(job)),
                Line("whose, price, promise", partial(open_whose, self, job.id)),
                Line("its vehicle's card", lambda: self._card(job)),
                Line("forget name, plate, notes", partial(open_forgetting, self, job.id)),
                Line("who took the keys, paid how", partial(open_keys_taken, self, job.id)),
                Line("call back at a time ...", partial(self._call_back, job.id)),
                Line("something went wrong", partial(open_incident, self, job.id)),
                *minutes_line(self, job.id),
            ]
        else:
            lines = [
                Line("work on it", lambda: self._work_on(job)),
                Line("hand it over and close it", lambda: self._close(job)),
                Line("show its record", lambda: self._record(job)),
                Line("whose, price, promise", partial(open_whose, self, job.id)),
                Line("its vehicle's card", lambda: self._card(job)),
                Line("forget name, plate, notes", partial(open_forgetting, self, job.id)),
                Line("to another cart ...", partial(open_handing, self, job)),
            ]
        self.sheet.open(f"job {job.opened.number}, {job.opened.vehicle}", lines)

    def press_other_cart(self) -> None:
        """Gives the chosen job to another cart, or takes one over."""
        jobs = self.jobs()
        open_handing(self, jobs[self.at] if self.at < len(jobs) else None)

    def _call_back(self, job_id: str) -> None:
        promise_call_back(self, job_id, self.cart.write, self.paint)

    def _reopen(self, job: Job) -> None:
        self.cart.write(rules.reopen_job, job.id, "goes on")

    def _record(self, job: Job) -> None:
        self.cart.record_of = job.id
        self.cart.show("record")

    def _card(self, job: Job) -> None:
        self.cart.card = CardAsked(job.id)
        self.cart.show("card")

    def _show_card(
        self, job: str, goes_on: Callable[[], object], left: Callable[[], object] | None = None
    ) -> None:
        """The card in front of what goes on with a new job here."""

        def back_here() -> None:
            self.cart.show("today")
            goes_on()

        self.cart.card = CardAsked(job, back_here, left)
        self.cart.show("card")

    def _met(self, plate: str, goes_on: Callable[[], object]) -> bool:
        """The card of the vehicle with a plate, unless it was shown for its name."""
        jobs = [job for job, _line in self.cart.shop.with_plate(plate)]
        if not jobs or self.cart.card.job in jobs:
            return False
        # With a plate somebody has begun to say whose it is.
        self._show_card(jobs[0], goes_on, goes_on)
        return True

    def _work_on(self, job: Job) -> None:
        self.cart.workplace.picked = choices.move_of(self.cart.workplace.moves, job.id)
        self.cart.show("run")

    def _close(self, job: Job) -> None:
        try:
            self.cart.write(rules.close_job, job.id)
        except Asks as asks:
            self.cart.show("run")
            self.cart.ask(Asked(asks.rule_id, str(asks), "close job", job=job.id))
        else:
            ask_minutes(self, job.id)

    # A new job.

    def _on_run(self, press: Callable[[RunScreen], None]) -> None:
        """Lists of the shift open on the Run screen, where the clocks are."""
        self.cart.show("run")
        screen = self.app.get_screen("run")
        assert isinstance(screen, RunScreen)
        press(screen)

    def press_clock(self) -> None:
        """Clocks on or off."""
        self._on_run(RunScreen.press_clock)

    def press_answer(self) -> None:
        """The questions about today."""
        self._on_run(RunScreen.press_answer)

    def press_break(self) -> None:
        """Breaks."""
        self._on_run(RunScreen.press_break)

    def press_other_work(self) -> None:
        """Other work."""
        self._on_run(RunScreen.press_other_work)

    def press_reading(self) -> None:
        """A reading."""
        self._on_run(RunScreen.press_reading)

    def press_caller(self) -> None:
        """What to tell a caller."""
        self._on_run(RunScreen.press_caller)

    def press_drink(self) -> None:
        """A drink."""
        self._on_run(RunScreen.press_drink)

    def press_unwell(self) -> None:
        """Signs of being unwell."""
        self._on_run(RunScreen.press_unwell)

    def press_well(self) -> None:
        """Says that one is well."""
        self._on_run(RunScreen.press_well)

    def reasons(self) -> dict[str, str]:
        """Why a key cannot work now: for the keys of the shift as on Run."""
        found = self.cart.run_screen.reasons()
        ids = ("break", "other_work", "reading", "caller", "drink", "answer", "unwell", "well")
        return {key_id: found[key_id] for key_id in ids if key_id in found}

    def press_add(self) -> None:
        """A new job: plan, body shape, vehicle."""
        self.cart.card = CardAsked()
        made = Line("a new plan ...", partial(open_making, self, self.press_add))
        open_which_plan(self, "New job: which plan?", self.begin_job, [made])

    def begin_job(self, text: str, name: str) -> None:
        """Asks for the vehicle and whose it is, and opens a job of a plan."""

        def vehicle(said: str) -> None:
            called = typed.vehicle(said)
            before = self.cart.shop.seen_before(called)
            if not before:
                opening(called)
                return
            self._show_card(before[0][0], lambda: opening(called))

        def opening(called: str) -> None:
            bench = self.cart.bench
            opened = ev.JobOpened(
                plan=self.cart.shelf.read(text, name),
                plan_sha256=bench.keep_plan(text),
                number=self.cart.shop.next_number(),
                vehicle=called,
                zone=self.cart.settings.zone,
            )

            def open_job(whole: ev.JobOpened) -> None:
                job_id = bench.new_id()
                self.cart.write(rules.open_job, job_id, whole)
                if self.cart.workplace.moment.me.on is not None:
                    open_new_ones(self, bench.jobs[job_id])

            ask_whose(self, opened, open_job, self._met)

        self.sheet.open_text("The vehicle in a few words", vehicle)
