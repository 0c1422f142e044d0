"""The key row: no key is hidden where all have room, greyed keys say why, and only what changed
is painted.
"""

from __future__ import annotations

import pytest
from rich.cells import cell_len
from textual.app import App, ComposeResult
from textual.strip import Strip

from cartclock.tui.keys import KEYS, SCREENS, on_screen
from cartclock.tui.palettes import SHADE
from cartclock.tui.themes import THEMES
from cartclock.tui.widgets.keyrow import CROSS, KeyItem, KeyRow, arranged

RUN = tuple(KeyItem.of(key) for key in on_screen(KEYS, "run") if key.label)
OFF = tuple(
    KeyItem.of(key, "No window runs." if key.id == "seen" else "")
    for key in on_screen(KEYS, "run")
    if key.label
)


def lines_of_keys_alone(keys: list[str], columns: int) -> int:
    """Lines that the keys take side by side, each with a cell for the cross."""
    lines, used = 0, columns
    for key in keys:
        if used + cell_len(key) + 1 > columns:
            lines, used = lines + 1, 0
        used += cell_len(key) + 1
    return lines


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("columns", [20, 38, 60, 78, 118])
@pytest.mark.parametrize("lines_most", [1, 2, 4])
def test_every_key_that_has_room_is_there_in_order_and_fits(
    screen: str, columns: int, lines_most: int
) -> None:
    items = [KeyItem.of(key) for key in on_screen(KEYS, screen) if key.label]
    lines = arranged(items, columns, lines_most)
    shown = [piece.key for line in lines for piece in line]
    if shown != [item.key for item in items]:
        # Some are left out only where not all of them have room alone, and never the one for all.
        assert lines_of_keys_alone([item.key for item in items], columns) > lines_most
        assert all(piece.label for line in lines for piece in line)
        assert "?" in shown
        assert [key for key in shown if key != "?"] == [
            item.key for item in items if item.key in shown and item.key != "?"
        ]
    for line in lines:
        assert cell_len("".join(piece.text + piece.gap for piece in line).rstrip()) <= columns
    bare = all(not piece.label for line in lines for piece in line)
    assert len(lines) <= lines_most or bare or shown == ["?"]


def test_labels_are_whole_where_there_is_room() -> None:
    lines = arranged(RUN, 118, 4)
    assert [(p.key, p.label) for line in lines for p in line] == [(i.key, i.label) for i in RUN]


def test_no_label_and_no_key_is_cut_at_any_width() -> None:
    whole = {item.key: item.label for item in RUN}
    for columns in range(20, 120):
        for piece in (piece for line in arranged(RUN, columns, 2) for piece in line):
            assert piece.label in ("", whole[piece.key])


def test_the_last_keys_lose_their_labels_first() -> None:
    pieces = [piece for line in arranged(RUN, 78, 2) for piece in line]
    labelled = [bool(piece.label) for piece in pieces]
    assert labelled == sorted(labelled, reverse=True)
    assert any(labelled)
    assert not all(labelled)


def test_no_line_breaks_anew_when_a_key_greys() -> None:
    for columns in (38, 78, 118):
        before = [[piece.key for piece in line] for line in arranged(RUN, columns, 2)]
        after = [[piece.key for piece in line] for line in arranged(OFF, columns, 2)]
        assert before == after


def test_no_keys_take_no_line() -> None:
    assert arranged([], 80, 2) == ()


class Painted(KeyRow):
    """A key row that counts the rows it was asked to paint."""

    painted = 0

    def render_line(self, y: int) -> Strip:
        self.painted += 1
        return super().render_line(y)


class RowApp(App[None]):
    CSS = "Screen { background: $background; color: $ink; }"

    def __init__(self, lines_most: int = 2) -> None:
        super().__init__()
        self.register_theme(THEMES[0])
        self.theme = "shade"
        self._lines_most = lines_most

    def compose(self) -> ComposeResult:
        yield Painted(self._lines_most)


def shown_keys(app: App[None], rows: int) -> str:
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips()[:rows])


@pytest.mark.parametrize(
    ("size", "lines_most"), [((80, 24), 2), ((40, 12), 2), ((120, 40), 3), ((24, 12), 1)]
)
async def test_row_shows_every_key_at_every_size(size: tuple[int, int], lines_most: int) -> None:
    app = RowApp(lines_most)
    async with app.run_test(size=size) as pilot:
        row = app.query_one(Painted)
        row.show(RUN)
        await pilot.pause()
        words = shown_keys(app, row.size.height).split()
        lines = arranged(RUN, size[0], lines_most)
        assert row.size.height == len(lines)
        assert words == [word for line in lines for piece in line for word in piece.text.split()]


async def test_repaints_only_on_change() -> None:
    app = RowApp()
    async with app.run_test(size=(80, 24)) as pilot:
        row = app.query_one(Painted)
        row.show(RUN)
        await pilot.pause()
        row.painted = 0
        row.show(list(RUN))
        await pilot.pause()
        assert row.painted == 0
        row.show(OFF)
        await pilot.pause()
        assert row.painted > 0
        assert f"W{CROSS}" in shown_keys(app, row.size.height)


async def test_height_follows_the_keys() -> None:
    app = RowApp()
    async with app.run_test(size=(80, 24)) as pilot:
        row = app.query_one(Painted)
        heights = []
        for items in (RUN, RUN[:3], RUN, ()):
            row.show(items)
            await pilot.pause()
            heights.append(row.size.height)
        assert heights == [2, 1, 2, 0]


async def test_greyed_key_keeps_its_place_its_colour_and_its_reason() -> None:
    app = RowApp()
    async with app.run_test(size=(80, 24)) as pilot:
        row = app.query_one(Painted)
        row.show(OFF)
        await pilot.pause()
        assert row.why("seen") == "No window runs."
        assert row.why("take_up") == ""
        with pytest.raises(KeyError):
            row.why("nothing")
        colours = {
            segment.text: (segment.style.color.name, bool(segment.style.bold))
            for y in range(row.size.height)
            for segment in row.render_line(y)
            if segment.style and segment.style.color
        }
        assert colours["W"] == (SHADE["greyed"].lower(), False)
        assert colours["B"] == (SHADE["ink"].lower(), True)
        assert colours[" break"] == (SHADE["ink"].lower(), False)


async def test_items_without_id_or_reason_still_answer() -> None:
    app = RowApp()
    async with app.run_test(size=(80, 5)):
        row = app.query_one(Painted)
        row.show([KeyItem("J", "jack", False), KeyItem("[/x]", "\x1b[31mraw")])
        assert row.why("J") == "J (jack) cannot be used now."
        assert row.why("[/x]") == ""
        assert row.render_line(0).text.rstrip() == "J×jack  [/x] ␛[31mraw"
