"""Today: the open jobs, the windows of hours and days, and how a new job begins."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import ClassVar

from cartclock.engine.after.handover import handover_notices
from cartclock.engine.dates import spoken_near
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import with_all_readings
from cartclock.engine.facts.job import Job, any_open
from cartclock.engine.films.cure import queue
from cartclock.engine.films.long_lines import long_lines
from cartclock.engine.now.at_hand import job_at_hand
from cartclock.engine.plan import shapes
from cartclock.engine.rules import choices, rules, typed
from cartclock.engine.trouble import Asks, PlanFault, Refused
from cartclock.tui.lists import wet
from cartclock.tui.lists.asked import Asked
from cartclock.tui.lists.in_view import progress
from cartclock.tui.lists.reminders import open_new_ones
from cartclock.tui.lists.whose import ask_whose, open_whose
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.screens.run import RunScreen
from cartclock.tui.widgets.sheet import Line

# What to do next, once there is a job.
CLOCK_ON = "Off the clock: U, then SPACE."


class TodayScreen(ListingScreen):
    """Jobs and long windows."""

    called: ClassVar[str] = "today"

    def on_screen_resume(self) -> None:
        """Back on top: the cursor is on the job at hand, so that no other is taken by chance."""
        now = self.cart.moment
        at_hand = job_at_hand(now.jobs, now.me.on)
        ids = [job.id for job in self.jobs()]
        if at_hand is not None:
            self.at = ids.index(at_hand.id)
        super().on_screen_resume()

    def jobs(self) -> list[Job]:
        """Jobs in memory, open ones first, by number."""
        known = self.cart.bench.jobs.values()
        return sorted(known, key=lambda j: (j.state != "open", j.opened.number))

    def heading(self) -> str:
        """How many jobs are open."""
        count = sum(job.state == "open" for job in self.jobs())
        return f"Today   {count} open job{'' if count == 1 else 's'}"

    def lines(self) -> list[str]:
        """One line a job, then its long windows."""
        found = [self._job_line(job) for job in self.jobs()]
        if not found:
            return ["No job yet: + opens one from a plan."]
        if self.cart.moment.me.on is None and any_open(self.jobs()):
            found.append(f"    {CLOCK_ON}")
        return found + [f"    {line}" for line in self.windows()]

    def _job_line(self, job: Job) -> str:
        opened = job.opened
        if job.state == "closed":
            return f"job {opened.number}  {opened.vehicle}   closed"
        promised = (
            f"   promised {spoken_near(opened.promised_us, self.cart.moment.now_us, opened.zone)}"
            if opened.promised_us is not None
            else ""
        )
        # How far it is takes most room, so that it comes last.
        return f"job {opened.number}  {opened.vehicle}{promised}   {progress(job)}"

    def windows(self) -> list[str]:
        """Gaps, cures and checks with their times, the earliest first."""
        bench = self.cart.bench
        wet.load_readings(bench)
        now_us = self.cart.moment.now_us
        found = queue(bench.jobs, with_all_readings(bench.shifts), now_us)
        several = len({one.job for one in found}) > 1
        lines = [
            f"{f'job {job.opened.number}, ' if several else ''}{said}"
            for job, said in long_lines(found, bench.jobs, now_us)
        ]
        return [*handover_notices(bench.jobs, now_us), *lines]

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
        if job.state == "closed":
            lines = [
                Line("open it again", lambda: self._reopen(job)),
                Line("show its record", lambda: self._record(job)),
                Line("whose, price, promise", partial(open_whose, self, job.id)),
            ]
        else:
            lines = [
                Line("work on it", lambda: self._work_on(job)),
                Line("hand it over and close it", lambda: self._close(job)),
                Line("show its record", lambda: self._record(job)),
                Line("whose, price, promise", partial(open_whose, self, job.id)),
            ]
        self.sheet.open(f"job {job.opened.number}, {job.opened.vehicle}", lines)

    def _reopen(self, job: Job) -> None:
        self.cart.write(rules.reopen_job, job.id, "goes on")

    def _record(self, job: Job) -> None:
        self.cart.record_of = job.id
        self.cart.show("record")

    def _work_on(self, job: Job) -> None:
        self.cart.picked = choices.move_of(self.cart.moves, job.id)
        self.cart.show("run")

    def _close(self, job: Job) -> None:
        try:
            self.cart.write(rules.close_job, job.id)
        except Asks as asks:
            self.cart.show("run")
            self.cart.ask(Asked(asks.rule_id, str(asks), "close job", job=job.id))

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
        """A sign of life."""
        self._on_run(RunScreen.press_well)

    def reasons(self) -> dict[str, str]:
        """Why a key cannot work now: for the keys of the shift as on Run."""
        found = self.cart.run_screen.reasons()
        ids = ("break", "other_work", "reading", "caller", "drink", "answer", "unwell", "well")
        return {key_id: found[key_id] for key_id in ids if key_id in found}

    def press_add(self) -> None:
        """A new job: plan, body shape, vehicle."""
        lines = [
            Line(name.replace("_", " "), partial(self._body, name))
            for name in self.cart.shelf.starters()
        ]
        for own in self.cart.shelf.own():
            lines.append(Line(own, partial(self._own, own)))
        self.sheet.open("New job: which plan?", lines)

    def _body(self, name: str) -> None:
        lines = [
            Line(shape, partial(self._vehicle, self.cart.shelf.starter_text(name, shape), name))
            for shape in shapes.SHAPES
        ]
        self.sheet.open("Which body?", lines)

    def _own(self, name: str) -> None:
        try:
            text = self.cart.shelf.own_text(name)
            self.cart.shelf.read(text, name)
        except Refused as why:
            self.say(str(why))
        except PlanFault as faults:
            many = len(faults.faults)
            more = f" (the first of {many} faults)" if many > 1 else ""
            self.say(f"{faults.faults[0]}{more}")
        else:
            self._vehicle(text, name)

    def _vehicle(self, text: str, name: str) -> None:
        def vehicle(said: str) -> None:
            bench = self.cart.bench
            opened = ev.JobOpened(
                plan=self.cart.shelf.read(text, name),
                plan_sha256=bench.keep_plan(text),
                number=self.cart.shop.next_number(),
                vehicle=typed.vehicle(said),
                zone=self.cart.settings.zone,
            )

            def open_job(whole: ev.JobOpened) -> None:
                job_id = bench.new_id()
                self.cart.write(rules.open_job, job_id, whole)
                if self.cart.moment.me.on is not None:
                    open_new_ones(self, bench.jobs[job_id])

            ask_whose(self, opened, open_job)

        self.sheet.open_text("The vehicle in a few words", vehicle)
