"""Plan: every stage and section of the job in view, and what can be done to them."""

from __future__ import annotations

from typing import ClassVar

from msgspec.structs import replace

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Key, Section
from cartclock.engine.facts.words import place_text
from cartclock.engine.rules import changes, choices
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks
from cartclock.engine.until import Kept, bare
from cartclock.tui.face.page import Page, Words
from cartclock.tui.lists.plans.of_job import plan_lines
from cartclock.tui.lists.sections import ask_why_again
from cartclock.tui.pages.plan import plan_page
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import in_hand, job_in_view
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number

# Under so many rows every section is shown; of a longer plan only those of stages at which
# something goes on. Our own judgement: a screen of 24 rows.
FEW = 16


class PlanScreen(ListingScreen):
    """Stages and sections."""

    called: ClassVar[str] = "plan"

    def __init__(self) -> None:
        super().__init__()
        self.marked: set[Key] = set()
        # Stage -> whether its sections are shown, where the worker said so.
        self._shown: dict[str, bool] = {}
        self._listed: list[Key] = []
        self._kept: Kept[Page] = Kept()

    @property
    def job(self) -> Job | None:
        """The job in view."""
        return job_in_view(self.cart.bench, self.cart.workplace.chosen)

    def _entries(self) -> list[Key]:
        """(stage, section) of every row; of a stage itself with ""."""
        job = self.job
        if job is None:
            return []
        every = sum(1 + len(job.of(stage.name)) for stage in job.stages)
        ahead = next((s.name for s in job.stages if not all(x.over for x in job.of(s.name))), "")
        found: list[Key] = []
        for stage in job.stages:
            there = job.of(stage.name)
            goes_on = stage.name == ahead or any(
                section.state in ("in hand", "held", "waiting")
                or (stage.name, section.name) in self.marked
                for section in there
            )
            now = any(section.state == "in hand" for section in there)
            found.append((stage.name, ""))
            if now or self._shown.get(stage.name, every <= FEW or goes_on):
                found += [(stage.name, section.name) for section in there]
        return found

    def on_screen_resume(self) -> None:
        """Back on top: the cursor is on what is in hand, if something is."""
        job, hands, self._listed = self.job, in_hand(self.cart.bench), self._entries()
        if job is not None and hands is not None and hands.job == job.id:
            self.at = self._listed.index((hands.stage, hands.sections[0]))
        super().on_screen_resume()

    def paint(self) -> None:
        """Keeps the chosen row chosen when others come in or leave above it."""
        entries = self._entries()
        if entries != self._listed and 0 <= self.at < len(self._listed):
            stage, section = self._listed[self.at]
            here = next((key for key in ((stage, section), (stage, "")) if key in entries), None)
            self.at = self.at if here is None else entries.index(here)
        self._listed = entries
        super().paint()

    def page(self) -> Page:
        """The stages and sections; made anew when something of it is another."""
        job, bench = self.job, self.cart.bench
        if job is None:
            return Page("Plan", (Words(choices.NO_JOB_IN_VIEW, entry=True),))
        entries, marked = self._entries(), frozenset(self.marked)

        def made(now_us: int) -> Page:
            at_us = Instant(bare(now_us))
            hands = self.cart.shop.hands_on(job, bench.shifts, at_us)
            return plan_page(job, entries, marked, Instant(now_us), hands)

        of = (bench.log.head.seq, job.id, entries, marked)
        return self._kept.at(self.cart.workplace.moment.now_us, of, made)

    def press_mark(self) -> None:
        """Marks the chosen section, to take several together."""
        job = choices.some(self.job, choices.NO_JOB_IN_VIEW)
        stage, section = self._chosen()
        names = [section] if section else [one.name for one in job.of(stage)]
        keys = {(stage, name) for name in names}
        self.marked = self.marked - keys if keys <= self.marked else self.marked | keys
        self.at += 1

    def press_choose(self) -> None:
        """What can be done with the marked sections, or with the chosen one."""
        job = choices.some(self.job, choices.NO_JOB_IN_VIEW)
        stage, section = self._chosen()
        marked = [
            one for s in job.stages for one in job.of(s.name) if (s.name, one.name) in self.marked
        ]
        if marked:
            stage = choices.one_stage(marked)
        else:
            marked = [one for one in job.of(stage) if section in ("", one.name)]
        names = tuple(s.name for s in marked)
        where = place_text(job, stage, names)
        lines = [
            Line("take up now", lambda: self._take_up(job, stage, marked)),
            Line("leave out", lambda: self._leave_out(job, stage, names)),
            Line("do again", lambda: ask_why_again(self, job, stage, names, self.marked.clear)),
            Line("was done, between two times", lambda: self._fill_in(job, stage, names)),
        ]
        if len(names) == 1:
            lines.append(Line("cut in two", lambda: self._cut(job, stage, names[0])))
        lines += plan_lines(self, job, stage)
        if not section:
            shown = (stage, job.of(stage)[0].name) in self._entries()
            said = "hide its sections" if shown else "show its sections"
            lines.append(Line(said, lambda: self._shown.update({stage: not shown})))
        self.sheet.open(f"{where} ({stage})", lines)

    def _chosen(self) -> Key:
        return choices.some(self._entries(), choices.NO_JOB_IN_VIEW)[self.at]

    def _leave_out(self, job: Job, stage: str, names: tuple[str, ...]) -> None:
        self.cart.write(changes.skip, job.id, stage, names, "left out by hand")
        self.marked.clear()

    def _cut(self, job: Job, stage: str, name: str) -> None:
        self.cart.write(changes.split, job.id, stage, name, changes.halves(job, stage, name))

    def _take_up(self, job: Job, stage: str, sections: list[Section]) -> None:
        move = choices.together(job, stage, sections)
        self.cart.show("run")
        self.cart.run_screen.take_up(move, {})
        self.marked.clear()

    def _fill_in(self, job: Job, stage: str, names: tuple[str, ...]) -> None:
        begun = Number("begun, minutes ago", "min", 30.0, 5.0)
        ended = Number("done, minutes ago", "min", 0.0, 5.0)

        def write() -> None:
            now_us = self.cart.bench.now_us
            from_us = now_us - round((begun.value or 0.0) * MINUTE_US)
            to_us = now_us - round((ended.value or 0.0) * MINUTE_US)
            self.marked.clear()
            move = Move("take up", job.id, stage, names)
            try:
                self.cart.write(changes.fill_in, job.id, stage, names, Instant(from_us), to_us)
            except Asks as asks:
                asked = Asked(asks.rule_id, str(asks), "fill in", move, at_us=Instant(from_us))
                self.cart.show("run")
                self.cart.ask(replace(asked, until_us=Instant(to_us)))

        self.sheet.open(
            f"{place_text(job, stage, names)} ({stage}): times are shared evenly and marked so",
            [Line(n.text, turn=n.turn, type=n.type) for n in (begun, ended)],
            "left, right or digits: minutes   space: write it   esc: nothing",
            done=write,
        )

    def press_add(self) -> None:
        """Adds a section to the stage in view."""
        job = choices.some(self.job, choices.NO_JOB_IN_VIEW)
        stage, after = self._chosen()

        def write(name: str) -> None:
            self.cart.write(changes.add_section, job.id, stage, name, "", after)

        self.sheet.open_text(f"New section of {stage}", write)
