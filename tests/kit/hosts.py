"""A host without a screen: a list opened on it is typed into and done by a test."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import SimpleNamespace
from typing import Any, cast

from cartclock.engine.rules.rules import Drafts
from cartclock.engine.trouble import Asks, Refused
from cartclock.tui.lists.host import Cart
from cartclock.tui.widgets.sheet import NO_LETTERS, Line, Sheet
from tests.kit.book import opened
from tests.kit.plans import COAT


class HandSheet:
    """Holds the open list as it was given."""

    def __init__(self) -> None:
        self.lines: Sequence[Line] = ()
        self.title = ""
        self.done: Callable[[], None] | None = None

    def open(
        self,
        title: str,
        lines: Sequence[Line],
        hint: str = "",
        done: Callable[[], None] | None = None,
        closed: Callable[[], None] | None = None,
        at: int = 0,
        letters: Mapping[str, Callable[[], None]] = NO_LETTERS,
        enter_goes_on: bool = False,
    ) -> None:
        self.title, self.lines, self.done = title, lines, done


class HandHost:
    """A worker on the clock, 100 s after a coat could begin; presses go to their rules.

    unit: in which temperatures are entered.

    Fields:
        presses: the drafts of every press that its rule let pass.
        refusals: every sentence of a press that was refused.
    """

    columns = 80

    def __init__(self, unit: str = "C") -> None:
        self.list = HandSheet()
        self.sheet = cast(Sheet, self.list)
        self.presses: list[Drafts] = []
        self.refusals: list[str] = []
        book = opened(COAT)
        scene = book.scene(100)

        def write(rule: Callable[..., Drafts], *args: Any, **facts: Any) -> None:
            self.presses.append(rule(scene, *args, **facts))

        bench = SimpleNamespace(
            shift=lambda: scene.shift, now_us=scene.now_us, jobs=scene.jobs, worker="me"
        )
        settings = SimpleNamespace(temperature=unit, clothing="work clothes", place=None)
        cart = SimpleNamespace(
            bench=bench,
            settings=settings,
            write=write,
            workplace=SimpleNamespace(body=lambda: None),
            ask_instrument=lambda came: None,
        )
        self.cart = cast(Cart, cart)

    def say(self, sentence: str) -> None:
        self.refusals.append(sentence)

    def paint(self) -> None:
        """Nobody looks."""

    def type(self, name: str, text: str) -> None:
        """Types a text on the line that begins with a name."""
        (line,) = [
            line
            for line in self.list.lines
            if line.type is not None and callable(line.text) and line.text().startswith(f"{name} ")
        ]
        assert line.type is not None
        for character in ("", *text):
            line.type(character)

    def done(self) -> bool:
        """Takes what was typed; True if it was written.

        A list that asks about it instead is open then, and its title asks whether it is right.
        """
        before = len(self.presses)
        assert self.list.done is not None
        try:
            self.list.done()
        except (Refused, Asks) as why:
            self.say(str(why))
        answered = bool(self.refusals) or self.list.title.endswith("is it right?")
        assert (len(self.presses) > before) != answered
        return len(self.presses) > before
