"""The plans at hand: the starters inside the program and the worker's own files."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import chain, count
from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.hours.usual import StepKey
from cartclock.engine.plan.plan import Plan, Stage
from cartclock.engine.rules.plan_changes import refuse_steps
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.plan_file.derived import derived
from cartclock.engine.store.plan_file.minutes import with_minutes
from cartclock.engine.store.plan_file.reader import read_plan, starter, starters, with_body
from cartclock.engine.store.plan_file.text import write_text
from cartclock.engine.store.plan_file.writer import plan_text
from cartclock.engine.trouble import PlanFault, Refused

# Letters of a file name before its number. Our own judgement.
_LONGEST_STEM = 40


class Shelf:
    """Starters and plan files, by name.

    Args:
        folder: where the worker's own plan files lie; it need not be there.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def starters(self) -> tuple[str, ...]:
        """Names of the starters."""
        return starters()

    def own(self) -> tuple[str, ...]:
        """File names of the worker's own plans, sorted."""
        return tuple(sorted(path.name for path in self.folder.glob("*.toml")))

    def starter_text(self, name: str, body: str) -> str:
        """A starter's text for a body shape; raises `Refused` for a name that is none."""
        return with_body(starter(name), body)

    def own_text(self, name: str) -> str:
        """The text of one of the worker's own plans; raises `Refused` if it cannot be read."""
        try:
            return plain_text(self.folder / name)
        except PlanFault as why:
            raise Refused(str(why)) from None
        except UnicodeDecodeError:
            raise Refused(f"{name} is not UTF-8 text.") from None
        except OSError as why:
            raise Refused(f"{name} cannot be read: {why.strerror}.") from None

    def with_minutes(self, text: str, minutes: Mapping[StepKey, float]) -> str:
        """The text of a plan with other minutes; raises `Refused` if they cannot be changed."""
        return with_minutes(text, minutes)

    def holding(self, text: str) -> str:
        """The file name of an own plan with exactly this text; "" if there is none."""
        for name in self.own():
            try:
                if self.own_text(name) == text:
                    return name
            except Refused:
                continue
        return ""

    def plain_starter(self, name: str) -> str:
        """A starter's text as it comes; raises `Refused` for a name that is none."""
        return starter(name)

    def free_name(self, name: str) -> str:
        """The name of a plan, with a number behind it if one of the worker's own has it."""
        taken = {plan.name for _text, plan in self.own_plans().values()}
        names = (name, *(f"{name} {nth}" for nth in range(2, len(taken) + 3)))
        return next(one for one in names if one not in taken)

    def own_plans(self) -> dict[str, tuple[str, Plan]]:
        """File name -> text and plan of the worker's own, of those that can be read and have no
        fault.
        """
        found = {}
        for name in self.own():
            try:
                text = self.own_text(name)
                found[name] = text, self.read(text, name)
            except (Refused, PlanFault):
                continue
        return found

    def refuse_stage(self, stage: Stage, plan: Plan) -> None:
        """Looks at a stage as `cartclock check` would at a plan of it alone.

        plan: whose products and tools it names.

        Raises Refused with the first fault and what would be right.
        """
        refuse_steps(stage)
        spots = tuple(replace(spot, redo=()) for spot in stage.high_spot)
        stages = (replace(stage, high_spot=spots),)
        alone = Plan(plan.name, stages, plan.products, plan.tools, shape=plan.shape)
        try:
            plan_text(alone)
        except PlanFault as faults:
            raise Refused(faults.first) from None

    def new_text(self, plan: Plan, before: str = "") -> tuple[str, bool]:
        """The text of a new plan file, and whether it kept the comments of another.

        before: text of the file the plan is made of; "" if of none.

        Raises Refused with the first fault of the plan and what would be right.
        """
        try:
            if before:
                try:
                    return derived(before, plan), True
                except Refused:
                    # It stands there in a way that cannot be changed piece by piece.
                    pass
            return plan_text(plan), False
        except PlanFault as faults:
            raise Refused(faults.first) from None

    def place(self, text: str, plan: str, copy: bool = True) -> Path:
        """Writes a new plan file beside the others, under a name that none of them has.

        plan: name of the plan, which the name of the file is made of.
        copy: it goes by the name of a plan that there is: numbered from 2.

        Raises Refused if the disk does not take it.
        """
        words = re.findall(r"[^\W_]+", plan.casefold())
        stem = "_".join(words)[:_LONGEST_STEM] or "plan"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            taken = {path.name.casefold() for path in self.folder.iterdir()}
        except OSError as why:
            raise Refused(f"{self.folder} cannot be written: {why.strerror}.") from None
        names = chain(() if copy else (f"{stem}.toml",), (f"{stem}_{nth}.toml" for nth in count(2)))
        for name in names:
            path = self.folder / name
            if name in taken:
                continue
            try:
                write_text(path, text)
            except Refused:
                if path.exists():
                    # Another program took the name meanwhile.
                    continue
                raise
            break
        return path

    def read(self, text: str, name: str) -> Plan:
        """The plan of a text; raises `PlanFault` with every fault."""
        return read_plan(text, name)
