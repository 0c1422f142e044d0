"""Whatever happens, the terminal shows what the library would paint, also where the picture went
past it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.app import App, ComposeResult
from textual.driver import Driver
from textual.screen import Screen
from textual.widgets import Static

from cartclock.tui.face.canvas import Canvas, Ground
from cartclock.tui.terminal.colours import Colours
from cartclock.tui.terminal.filters import FILTERS
from cartclock.tui.terminal.wire import Run
from cartclock.tui.themes import THEMES
from cartclock.tui.widgets.painted import Painted
from tests.kit.stage import hear_size, say_size, settle
from tests.kit.wired import Counting, painted_anew

SIZES = [(24, 8), (30, 5), (12, 12)]
GROUNDS: list[Ground] = ["page", "wait", "late", "band"]
LETTERS = ["a", "b", " ", "0", "█", "▀", "▄", "洗", "é", "e\u0301"]
Text = tuple[int, int, str, Ground, bool, bool]


def picture(ground: Ground, texts: list[Text]) -> Callable[[int, int], Canvas]:
    """Draws texts on a ground."""

    def draw(width: int, height: int) -> Canvas:
        canvas = Canvas(width, height)
        canvas.fill(1, height, ground)
        for x, y, text, under, bold, dim in texts:
            canvas.put(x, y, text, ground=under, bold=bold, dim=dim)
        return canvas

    return draw


class Shown(App[None]):
    """A picture, and a list that takes a part of its room or stands over it."""

    CSS = """
    Screen { layers: below above; }
    #list, #cover { height: 3; display: none; }
    #cover { layer: above; width: 7; offset: 3 2; }
    .list #list, .cover #cover { display: block; }
    """

    def __init__(self, colours: Colours) -> None:
        super().__init__()
        self.no_color = colours == "none"
        self._filters = [*self._filters[:1], *(made() for made in FILTERS[colours])]
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = "shade"

    def compose(self) -> ComposeResult:
        yield Painted()
        yield Static("a list", id="list")
        yield Static("over it", id="cover")

    def _build_driver(
        self, headless: bool, inline: bool, mouse: bool, size: tuple[int, int] | None
    ) -> Driver:
        return Counting(self, size=size)

    @property
    def driver(self) -> Counting:
        assert isinstance(self._driver, Counting)
        return self._driver

    @property
    def painted(self) -> Painted:
        return self.screen_stack[0].query_one(Painted)

    async def does(self, what: str) -> None:
        """Something that is not a picture."""
        match what:
            case "settle":
                await settle(self)
            case "list" | "cover":
                self.screen_stack[0].toggle_class(what)
            case "screen" if len(self.screen_stack) == 1:
                self.push_screen(Screen())
            case "screen":
                self.pop_screen()
            case "theme":
                self.theme = "sun" if self.theme == "shade" else "shade"
            case "refresh":
                self.painted.refresh()
            case "batch":
                with self.batch_update():
                    self.painted.show(picture("band", [(0, 0, "held", "page", True, False)]))
            case "blur":
                self.app_focus = not self.app_focus
            case _:
                say_size(self, SIZES[int(what)])
                await hear_size(self)


# What stands in a cell, and how it is inked.
Shape = tuple[str, tuple[str, ...]]


def same(app: Shown) -> None:
    """The cells of the terminal are those that the library would paint."""
    width, height = app.size
    shown = {
        (y, x): cell for (y, x), cell in app.driver.shown.cells.items() if y < height and x < width
    }
    assert written(shown) == written(painted_anew(app).cells)


def written(cells: Mapping[tuple[int, int], Shape]) -> dict[tuple[int, int], Shape]:
    """The cells that are not as they are on an empty terminal."""
    return {at: cell for at, cell in cells.items() if cell != (" ", ())}


TEXT = st.tuples(
    st.integers(0, 14),
    st.integers(0, 8),
    st.lists(st.sampled_from(LETTERS), min_size=1, max_size=9).map("".join),
    st.sampled_from(GROUNDS),
    st.booleans(),
    st.booleans(),
)
PICTURE = st.tuples(st.sampled_from(GROUNDS[:2]), st.lists(TEXT, max_size=4), st.booleans())
# A number is a size.
OTHER = st.sampled_from(
    ["settle", "list", "cover", "screen", "theme", "refresh", "batch", "blur", "0", "1", "2"]
)
STEP = st.one_of(PICTURE, PICTURE, PICTURE, OTHER)


@given(st.sampled_from(list(FILTERS)), st.lists(STEP, min_size=4, max_size=30))
def test_the_terminal_shows_what_the_library_would_paint(
    colours: Colours, steps: list[str | tuple[Ground, list[Text], bool]]
) -> None:
    async def play() -> None:
        app = Shown(colours)
        async with app.run_test(size=SIZES[0]):
            await settle(app)
            for index, step in enumerate(steps):
                if isinstance(step, str):
                    await app.does(step)
                    continue
                ground, texts, turned = step
                app.painted.show(picture(ground, texts), turned)
                # Every other picture comes while the library may still have something to draw.
                if index % 2:
                    await settle(app)
                    same(app)
            await settle(app)
            same(app)

    asyncio.run(play())


@pytest.mark.parametrize("held", ["", "list", "cover", "screen", "batch"])
async def test_cells_go_past_the_library_where_all_of_them_are_seen(held: str) -> None:
    app = Shown("many")
    async with app.run_test(size=SIZES[0]):
        await settle(app)
        if held:
            await app.does(held)
            await settle(app)
        before = app.driver.short
        for second in range(5):
            app.painted.show(picture("wait", [(1, 1, f"0:0{second}", "wait", True, False)]))
        past = app.driver.short - before
        await settle(app)
        same(app)
        # The first of them has another ground than the one before.
        assert past == (0 if held in ("cover", "screen") else 5)


@pytest.mark.parametrize("odd", ["洗", "e\u0301"])
async def test_of_a_row_goes_out_what_changed_and_all_of_it_behind_an_odd_letter(
    odd: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = Shown("many")
    put: list[list[Run]] = []
    async with app.run_test(size=SIZES[0]):
        await settle(app)
        monkeypatch.setattr(app.driver, "put", put.append)
        for text in ("12:34", "12:35", f"{odd}:35", "12:35"):
            app.painted.show(picture("page", [(3, 2, text, "page", False, False)]))
    assert [[(y, x, text.strip()) for y, x, _colours, text in runs] for runs in put] == [
        [(2, 3, "12:34")],
        [(2, 7, "5")],
        [(2, 0, f"{odd}:35")],
        [(2, 0, "12:35")],
    ]


async def test_nothing_goes_past_what_the_library_is_to_draw() -> None:
    app = Shown("many")
    async with app.run_test(size=SIZES[0]):
        await settle(app)
        app.painted.refresh()
        app.painted.show(picture("wait", []))
        assert not app.driver.short
        await settle(app)
        with app.batch_update():
            app.painted.show(picture("late", []))
        assert not app.driver.short
        await settle(app)
        same(app)


async def test_what_is_the_same_writes_nothing() -> None:
    app = Shown("many")
    async with app.run_test(size=SIZES[0]):
        await settle(app)
        draw = picture("wait", [(1, 1, "0:01", "wait", True, False)])
        app.painted.show(draw)
        wrote = app.driver.wrote
        app.painted.show(draw)
        assert app.driver.wrote == wrote > 0
