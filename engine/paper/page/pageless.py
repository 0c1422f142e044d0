"""What holds of every medium that turns no pages and draws no pictures."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from cartclock.engine.dates import spoken
from cartclock.engine.times import Instant

if TYPE_CHECKING:
    from cartclock.engine.paper.page.drawing import Drawing
    from cartclock.engine.paper.page.medium import Medium


class Pageless:
    """Part of a `Medium` of lines that go on downwards, as many as there are."""

    def beside(
        self: Medium,
        left: Callable[[Medium], None],
        right: Callable[[Medium], None],
        share: float = 0.5,
    ) -> None:
        """Two parts that go beside each other, one under the other: there is no room for both."""
        left(self)
        self.gap()
        right(self)

    def made(self: Medium, at_us: Instant, zone: str) -> None:
        """In words: no page says it at its foot."""
        self.words(f"Made {spoken(at_us, zone)}.", small=True)

    def turn(self: Medium) -> None:
        """Air: there are no pages."""
        self.gap()

    def drawing(self, drawing: Drawing) -> None:
        """Nothing: whatever is drawn stands in words as well."""

    def fits(self, pages: int) -> bool:
        """True: there are no pages."""
        return True

    def smaller(self, floor_pt: float) -> None:
        """None: there are no sizes."""
