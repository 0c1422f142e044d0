"""What a paper is made of: one list of elements, which text, HTML and PDF each set their way.

A sheet calls these and nothing else: it knows no width, no font and no page. A medium drops no
fact; only a `Drawing`, which shows what the words say as well, may be left out where nothing
can be drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from msgspec import Struct

from cartclock.engine.paper.page.date import Date
from cartclock.engine.paper.page.drawing import Drawing
from cartclock.engine.paper.page.strip import Means, Strip, StripScale
from cartclock.engine.paper.page.table import Column, Group, Note, TableRow
from cartclock.engine.paper.page.view import VehicleView
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.times import Instant


class SheetHead(Struct, frozen=True):
    """What a paper is of, for its title and the head of every page.

    Fields:
        number: "job 42"; of a day its date.
        made_us, zone: the instant it speaks of, and where its times are told.
        shop: who hands it over.
    """

    number: str
    made_us: Instant
    zone: str
    shop: ShopHead = NO_SHOP


class Medium(Protocol):
    """Text of a person goes in as it was typed: every medium makes it inert."""

    def begin(
        self, title: str, lying: bool = False, body_pt: float = 9.0, least_pt: float = 7.0
    ) -> None:
        """Comes before everything else: what the paper is called, and if it is printed across.

        body_pt, least_pt: in print, letters of the body and the smallest of all, in points.
        """

    def head(self, head: SheetHead) -> None:
        """The title of the paper; what stands at the head of its pages."""

    def lead(self, name: str, plate: str = "", lines: Sequence[str] = (), price: str = "") -> None:
        """What the paper is about, large: the vehicle; its plate beside it, `lines` under it.

        price: in heavy letters beside the last of the lines.
        """

    def alert(self, text: str) -> None:
        """A sentence that is to be read before everything else."""

    def heading(self, text: str, remark: str = "") -> None:
        """A heading, which stays with what follows; the remark stands beside it."""

    def words(self, text: str, level: int = 0, hangs: bool = False, small: bool = False) -> None:
        """A paragraph, `level` steps under what stands above it; with `hangs` its further
        lines stand in one step more, as those of an entry. small: in smaller letters."""

    def made(self, at_us: Instant, zone: str) -> None:
        """When it was made, at the end of a paper that has no pages to say it at their foot."""

    def gap(self) -> None:
        """Air; what follows belongs together anew."""

    def facts(self, pairs: Sequence[tuple[str, str]]) -> None:
        """Short labels, each with its text beside it."""

    def table(self, columns: Sequence[Column], rows: Sequence[TableRow | Note]) -> None:
        """Rows under the heads of their columns."""

    def groups(self, columns: Sequence[Column], groups: Sequence[Group]) -> None:
        """A table in groups; what has no room in its line stands under it (`table.Under`).

        Columns whose heads come twice are two halves of one list, which a narrow medium sets
        under each other.
        """

    def dates(self, dates: Sequence[Date]) -> None:
        """Dates to keep, the first of them as large as can be."""

    def strips(self, scale: StripScale, strips: Sequence[Strip]) -> None:
        """Rows of tape along one scale; a medium that draws none says their words."""

    def legend(self, means: Means, of: str = "Tape") -> None:
        """What the tape of the strips stands for, or of one row, in this medium's own signs."""

    def beside(
        self,
        left: Callable[[Medium], None],
        right: Callable[[Medium], None],
        share: float = 0.5,
    ) -> None:
        """Two parts of a page side by side, the left one with this share of the width; one
        after the other where it is narrow."""

    def turn(self) -> None:
        """What comes next begins a page, where there are pages."""

    def blanks(self, labels: Sequence[str], across: int = 1) -> None:
        """Labels with a line to write on beside each, so many of them in a row."""

    def sign(self, labels: Sequence[str]) -> None:
        """Lines to sign on, side by side, each with its label under it."""

    def large(self, over: str, lines: Sequence[str], under: Sequence[str], foot: str) -> None:
        """A card that is read through glass: `lines` as large as the medium has letters, one
        over and some under them that are large too; the foot is for who stands beside it."""

    def view(self, view: VehicleView) -> None:
        """A vehicle from above, drawn or said in words, with the key to its signs."""

    def drawing(self, drawing: Drawing) -> None:
        """A drawing, with its heading, where this medium can draw it; nothing if it is empty."""

    def fits(self, pages: int) -> bool:
        """True if what was set takes no more than so many pages, or this has none."""

    def smaller(self, floor_pt: float) -> Medium | None:
        """An empty medium of this kind with smaller letters, not begun; None if they would be
        under the floor, in points."""

    def empty(self) -> Medium:
        """An empty medium of this kind with letters as large as here, not begun."""

    def finished(self) -> bytes:
        """The paper; text in UTF-8. The same elements give the same bytes."""
