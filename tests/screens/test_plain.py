"""Text of a person on the screen: read as text, cropped, aligned, repainted only on change."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.strip import Strip

from cartclock.tui.widgets.plain import Plain


class Painted(Plain):
    """Plain text that counts the rows it was asked to paint."""

    painted = 0

    def render_line(self, y: int) -> Strip:
        self.painted += 1
        return super().render_line(y)


class PlainApp(App[None]):
    CSS = """
    .right { text-align: right; }
    .low { height: 2; }
    .fitted { width: auto; }
    """

    def __init__(self, text: str, classes: str = "") -> None:
        super().__init__()
        self._shown = Painted(text, classes=classes)

    def compose(self) -> ComposeResult:
        yield self._shown


def screen_rows(app: App[None]) -> list[str]:
    return [strip.text for strip in app.screen._compositor.render_strips()]


async def test_brackets_are_text() -> None:
    app = PlainApp("[/x] [bold]wing[/bold] [link='a']")
    async with app.run_test(size=(50, 3)):
        assert screen_rows(app)[0].rstrip() == "[/x] [bold]wing[/bold] [link='a']"


async def test_lines_crop_and_align() -> None:
    app = PlainApp("short\n洗車場洗車場", "right")
    async with app.run_test(size=(10, 4)):
        assert screen_rows(app)[:2] == ["     short", " 洗車場洗…"]


async def test_more_lines_than_rows_end_with_an_ellipsis() -> None:
    app = PlainApp("one\ntwo\nthree", "low")
    async with app.run_test(size=(10, 4)):
        assert [row.rstrip() for row in screen_rows(app)[:3]] == ["one", "two …", ""]


async def test_repaints_only_on_change_and_grows_with_its_lines() -> None:
    app = PlainApp("one")
    async with app.run_test(size=(20, 5)) as pilot:
        plain = app.query_one(Painted)
        assert plain.size.height == 1
        plain.painted = 0
        plain.show("one")
        plain.show("one")
        await pilot.pause()
        assert plain.painted == 0
        plain.show("one\ntwo")
        await pilot.pause()
        assert plain.painted > 0
        assert plain.size.height == 2
        assert plain.text == "one\ntwo"
        assert [row.rstrip() for row in screen_rows(app)[:2]] == ["one", "two"]


async def test_fitted_width_follows_the_text() -> None:
    app = PlainApp("8:14", "fitted")
    async with app.run_test(size=(20, 3)) as pilot:
        plain = app.query_one(Painted)
        assert plain.size.width == 4
        plain.show("12:14 洗")
        await pilot.pause()
        assert plain.size.width == 8
