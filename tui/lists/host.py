"""What a list may use of the screen it opens on, and of the cart behind that screen.

A list knows these two protocols and no screen; screens import lists, and the app imports
screens. So every list can be opened on any screen, and read without one.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, Protocol

from cartclock.engine.desk.bench import Bench, Pressed
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import ReadingTaken
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.now.scene import Scene
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.rules.rules import Drafts
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.workplace import Workplace
from cartclock.tui.widgets.sheet import Sheet

if TYPE_CHECKING:
    from cartclock.engine.desk.outlet import Outlet
    from cartclock.engine.desk.shelf import Shelf

P = ParamSpec("P")


class Settled(Protocol):
    """What the worker has settled, as far as lists and screens go by it."""

    @property
    def temperature(self) -> TemperatureUnit:
        """Unit in which readings are entered."""

    @property
    def currency(self) -> str:
        """ISO 4217 code of every price."""

    @property
    def zone(self) -> str:
        """IANA time zone of the place of work."""

    @property
    def rule_set(self) -> str:
        """Which rule set judges the breaks."""

    @property
    def place(self) -> tuple[float, float] | None:
        """Latitude and longitude of the place of work; None: reckoned from the zone."""

    @property
    def clothing(self) -> str:
        """What is usually worn."""

    @property
    def reminders(self) -> BeforeWork:
        """What is said before the work."""


class Cart(Protocol):
    """The program as a list sees it: what is known, and how something is written.

    Fields:
        bench, shop: of the log that is open.
    """

    bench: Bench
    shop: Shop

    @property
    def workplace(self) -> Workplace:
        """What is known at the cart."""

    @property
    def outlet(self) -> Outlet:
        """The way of papers out of this laptop."""

    @property
    def shelf(self) -> Shelf:
        """The plans at hand."""

    @property
    def settings(self) -> Settled:
        """What the worker has settled."""

    @property
    def in_shop(self) -> bool:
        """Whether this cart belongs to a shop."""

    def write(
        self,
        rule: Callable[Concatenate[Scene, P], Drafts],
        /,
        *args: P.args,
        **facts: P.kwargs,
    ) -> Pressed:
        """One press; answers what it did. Raises `Refused`, `Asks`, `StoreFault`."""

    def told(self, told: Pressed) -> Pressed:
        """Answers what a press did."""

    def say(self, sentence: str) -> None:
        """Answers on the screen on top."""

    def advise(self, signs: Sequence[str]) -> None:
        """Shows what is to be done about signs of being unwell."""

    def ask(self, asked: Asked) -> None:
        """Puts a question on the Run screen and keeps it until it is answered."""

    def repaint(self) -> None:
        """The screen on top shows what is so now."""

    def ask_instrument(self, came: Callable[[ReadingTaken], None]) -> None:
        """Asks the reading command of the settings, if there is one; `came` is given its answer."""

    def beside(self, work: Coroutine[Any, Any, None], group: str) -> None:
        """Lets something that takes long run beside the clocks; `group` names its kind."""


class Host(Protocol):
    """A screen with room for one list."""

    @property
    def cart(self) -> Cart:
        """The program."""

    @property
    def sheet(self) -> Sheet:
        """Where the list opens."""

    @property
    def is_current(self) -> bool:
        """Whether it is the screen on top."""

    @property
    def columns(self) -> int:
        """Cells across the screen."""

    def say(self, sentence: str) -> None:
        """Answers in the notice line."""

    def paint(self) -> None:
        """Shows what is so now."""
