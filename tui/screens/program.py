"""What a screen may use of the program it runs in: what lists may, and the ways between screens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Literal, Protocol

from msgspec import Struct

from cartclock.engine.body.signs import Advice
from cartclock.engine.facts.move import Move
from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import Glance
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.told.sight import Sight

if TYPE_CHECKING:
    from cartclock.engine.desk.planner import Planner


ChartAsked = Literal["", "told"]


class CardAsked(Struct, frozen=True):
    """Which vehicle's card is looked at.

    Fields:
        job: id of one of its jobs; "" for none.
        goes_on: what goes on with the new job that is being opened; None where none is.
        left: what is done where somebody goes back instead; None: the new job is let go.
    """

    job: str = ""
    goes_on: Callable[[], object] | None = None
    left: Callable[[], object] | None = None


class Day(Host, Protocol):
    """The Run screen, as the screens over it see it."""

    def look(self) -> Glance:
        """The glance at this moment."""

    def reasons(self) -> dict[str, str]:
        """Key id -> why it cannot work now; ids not named can."""

    def take_up(self, move: Move, over: dict[str, str], ago_us: int = 0, worker: str = "") -> None:
        """Takes up a move; a question opens a list."""


class Program(Cart, Protocol):
    """The app, as its screens see it.

    Fields:
        advice: what the page about signs of being unwell says.
        record_of: id of the job whose record was asked for; "" for the one in view.
        card: which vehicle's card is looked at.
        chart: which chart was asked for; "" for the one that was looked at last.
    """

    advice: Advice
    record_of: str
    card: CardAsked
    chart: ChartAsked

    @property
    def signals(self) -> bool:
        """Whether Run turns round for a second where something is due."""

    @property
    def sight(self) -> Sight:
        """What Run has in sight."""

    @property
    def planner(self) -> Planner:
        """What is planned."""

    @property
    def run_screen(self) -> Day:
        """The screen of the day."""

    def show(self, name: str) -> None:
        """Goes to a screen."""

    def back(self) -> None:
        """Goes to the screen this one was called from."""

    def turn_theme(self) -> None:
        """The other theme, until the program is left."""

    def exit(self) -> None:
        """Leaves the program."""

    def counts(self, key: str) -> bool:
        """False for a key that is held down or bounces."""

    def ring(self) -> None:
        """Rings what is to be heard."""

    def with_laptop(self, news: Sequence[str]) -> list[str]:
        """The news, and what is said of the laptop."""

    def entitle(self, faces: Sequence[Face]) -> None:
        """Shows the clock that hurts first in the title of the terminal's window."""
