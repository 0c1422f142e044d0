"""The plans at hand: the starters inside the program and the worker's own files."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import count
from pathlib import Path

from cartclock.engine.hours.usual import StepKey
from cartclock.engine.plan.plan import Plan
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.plan_file.minutes import with_minutes
from cartclock.engine.store.plan_file.reader import read_plan, starter, starters, with_body
from cartclock.engine.store.plan_file.text import write_text
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

    def place(self, text: str, plan: str) -> Path:
        """Writes a new plan file beside the others, under a name that none of them has.

        plan: name of the plan, which the name of the file is made of.

        Raises Refused if the disk does not take it.
        """
        words = re.findall(r"[^\W_]+", plan.casefold())
        stem = "_".join(words)[:_LONGEST_STEM] or "plan"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            taken = {path.name.casefold() for path in self.folder.iterdir()}
        except OSError as why:
            raise Refused(f"{self.folder} cannot be written: {why.strerror}.") from None
        names = (f"{stem}_{nth}.toml" for nth in count(2))
        path = self.folder / next(name for name in names if name not in taken)
        write_text(path, text)
        return path

    def read(self, text: str, name: str) -> Plan:
        """The plan of a text; raises `PlanFault` with every fault."""
        return read_plan(text, name)
