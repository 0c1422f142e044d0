"""Plan: every stage and section of the job in view, and what can be done to them."""

from __future__ import annotations

from typing import ClassVar

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import Section, work_of
from cartclock.engine.facts.words import place_text
from cartclock.engine.rules import changes, choices
from cartclock.engine.times import Instant
from cartclock.tui.lists.in_view import job_in_view
from cartclock.tui.screens.listing import ListingScreen
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number

SIGNS = {
    "todo": " ",
    "in hand": ">",
    "held": "=",
    "waiting": "~",
    "done": "x",
    "skipped": "-",
    "split": " ",
}


class PlanScreen(ListingScreen):
    """Stages and sections."""

    called: ClassVar[str] = "plan"

    def on_mount(self) -> None:
        """Nothing is marked at first."""
        self.marked: set[tuple[str, str]] = set()

    @property
    def job(self) -> Job | None:
        """The job in view."""
        return job_in_view(self.cart.bench, self.cart.chosen)

    def heading(self) -> str:
        """Vehicle and plan."""
        job = self.job
        if job is None:
            return "Plan   no job in view"
        return f"{job.opened.vehicle}   {job.opened.plan.name}"

    def _entries(self) -> list[tuple[str, Section | None]]:
        job = self.job
        if job is None:
            return []
        found: list[tuple[str, Section | None]] = []
        for stage in job.stages:
            found.append((stage.name, None))
            found += [(stage.name, section) for section in job.of(stage.name)]
        return found

    def lines(self) -> list[str]:
        """Stages with their sections."""
        job = self.job
        if job is None:
            return [choices.NO_JOB_IN_VIEW]
        return [
            self._stage_line(job, stage) if section is None else self._section_line(job, section)
            for stage, section in self._entries()
        ]

    def _stage_line(self, job: Job, name: str) -> str:
        there = job.of(name)
        done = sum(section.over for section in there)
        return f"{name}   {done} of {len(there)}"

    def _section_line(self, job: Job, section: Section) -> str:
        mark = "*" if (section.stage, section.name) in self.marked else " "
        stage = job.stage(section.stage)
        said: str = section.state
        if section.state in ("todo", "in hand", "held", "waiting"):
            said += f", {work_of(stage, section.turn).say}"
        if stage.layers > 1:
            said += f", layer {section.turn.layer}"
        if section.turn.pass_ > 1:
            said += f", pass {section.turn.pass_}"
        if section.state == "skipped" and section.why:
            said += f": {section.why}"
        return f"  {mark}[{SIGNS[section.state]}] {section.name}   {said}"

    def press_mark(self) -> None:
        """Marks the chosen section, to take several together."""
        entries = choices.some(self._entries(), choices.NO_JOB_IN_VIEW)
        stage, section = entries[self.at]
        names = [section] if section is not None else [s for t, s in entries if t == stage and s]
        keys = {(s.stage, s.name) for s in names}
        self.marked = self.marked - keys if keys <= self.marked else self.marked | keys
        self.at += 1

    def press_choose(self) -> None:
        """What can be done with the marked sections, or with the chosen one."""
        job = choices.some(self.job, choices.NO_JOB_IN_VIEW)
        entries = choices.some(self._entries(), choices.NO_JOB_IN_VIEW)
        stage, section = entries[self.at]
        marked = [s for t, s in entries if s is not None and (t, s.name) in self.marked]
        if marked:
            stage = choices.one_stage(marked)
        else:
            marked = [section] if section is not None else job.of(stage)
        names = tuple(s.name for s in marked)
        where = place_text(job, stage, names)
        lines = [
            Line("take up now", lambda: self._take_up(job, stage, marked)),
            Line("leave out", lambda: self._do(changes.skip, job, stage, names)),
            Line("do again", lambda: self._do(changes.redo, job, stage, names)),
            Line("was done, between two times", lambda: self._fill_in(job, stage, names)),
        ]
        if len(names) == 1:
            lines.append(Line("cut in two", lambda: self._cut(job, stage, names[0])))
        self.sheet.open(f"{where} ({stage})", lines)

    def _do(self, rule: object, job: Job, stage: str, names: tuple[str, ...]) -> None:
        if rule is changes.skip:
            self.cart.write(changes.skip, job.id, stage, names, "left out by hand")
        else:
            self.cart.write(changes.redo, job.id, stage, names, "done again")
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
            self.cart.write(changes.fill_in, job.id, stage, names, Instant(from_us), to_us)
            self.marked.clear()

        self.sheet.open(
            f"{place_text(job, stage, names)} ({stage}): times are shared evenly and marked so",
            [Line(n.text, turn=n.turn, type=n.type) for n in (begun, ended)],
            "left, right or digits: minutes   space: write it   esc: nothing",
            done=write,
        )

    def press_add(self) -> None:
        """Adds a section to the stage in view."""
        job = choices.some(self.job, choices.NO_JOB_IN_VIEW)
        entries = choices.some(self._entries(), choices.NO_JOB_IN_VIEW)
        stage, section = entries[self.at]
        after = "" if section is None else section.name

        def write(name: str) -> None:
            self.cart.write(changes.add_section, job.id, stage, name, "", after)

        self.sheet.open_text(f"New section of {stage}", write)
