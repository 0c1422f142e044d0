"""The pictures of README and of the manual: what the screens draw, as SVG.

`tests/demos/test_pictures.py` takes them and holds them against `tui/pictures`, or writes them
there. A cell is a cell here too: letters of large type are
drawn as the parts of a cell that they fill, so that they look the same in every font.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import groupby
from pathlib import Path
from xml.sax.saxutils import escape

from msgspec.structs import replace
from rich.style import Style
from textual.app import App

from cartclock.engine.dates import instant
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from cartclock.tui.app import CartClock
from cartclock.tui.face.run_picture import Told
from cartclock.tui.terminal.colours import RGB
from tests.kit.drawn import drawn
from tests.kit.plans import opening
from tests.kit.stage import PLAIN, played

FOLDER = Path(__file__).parents[2] / "tui/pictures"
# Of a cell, in units of the picture, and of the letters in it.
WIDTH, HEIGHT, SIZE, BASE = 8, 16, 13, 12
ZONE = "Europe/Warsaw"
# What a sign fills of its cell: left, top, right, bottom in eighths.
_EIGHTHS = {chr(0x2580 + n): (0, 8 - n, 8, 8) for n in range(1, 9)}
_LEFT = {chr(0x2590 - n): (0, 0, n, 8) for n in range(1, 8)}
_HALVES = {"▀": (0, 0, 8, 4), "▐": (4, 0, 8, 8)}
FILLED = {**_EIGHTHS, **_LEFT, **_HALVES}
_INK, _GROUND = (255, 255, 255), (0, 0, 0)


class Cell:
    """A cell as it is drawn. Fields: char; ink, ground: as "#rrggbb"; bold."""

    def __init__(self, char: str, style: Style | None) -> None:
        style = style or Style()
        ink, ground = _rgb(style.color, _INK), _rgb(style.bgcolor, _GROUND)
        if style.reverse:
            ink, ground = ground, ink
        if style.dim:
            ink = tuple((one + other) // 2 for one, other in zip(ink, ground, strict=True))  # type: ignore[assignment]  # three of them
        self.char, self.bold = char, bool(style.bold)
        self.ink, self.ground = (
            f"#{red:02x}{green:02x}{blue:02x}" for red, green, blue in (ink, ground)
        )


def _rgb(colour: object, otherwise: RGB) -> RGB:
    if colour is None or colour.is_default:  # type: ignore[attr-defined]  # a colour of the library
        return otherwise
    return tuple(colour.get_truecolor())  # type: ignore[attr-defined,return-value]  # three of them


def picture(app: App[None]) -> str:
    """The screen on top as SVG, a line an element."""
    drawn(app)
    rows = [
        [Cell(char, segment.style) for segment in strip for char in segment.text]
        for strip in app.screen._compositor.render_strips()
    ]
    width, height = app.size.width * WIDTH, len(rows) * HEIGHT
    found = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'font-family="monospace" font-size="{SIZE}" xml:space="preserve">'
    ]
    for y, row in enumerate(rows):
        found += _row(row, y * HEIGHT)
    return "\n".join((*found, "</svg>", ""))


def _row(row: list[Cell], top: int) -> list[str]:
    found, x = [], 0
    for ground, same in groupby(row, lambda cell: cell.ground):
        wide = len(list(same)) * WIDTH
        found.append(f'<path fill="{ground}" d="M{x} {top}h{wide}v{HEIGHT}h-{wide}z"/>')
        x += wide
    x = 0
    for (ink, bold, kind), alike in groupby(row, lambda cell: (cell.ink, cell.bold, _kind(cell))):
        cells = list(alike)
        wide = len(cells) * WIDTH
        if kind == "filled":
            found.append(f'<path fill="{ink}" d="{_parts(cells, x, top)}"/>')
        elif kind == "text":
            weight = ' font-weight="bold"' if bold else ""
            text = escape("".join(cell.char for cell in cells))
            found.append(
                f'<text x="{x}" y="{top + BASE}" fill="{ink}"{weight} textLength="{wide}" '
                f'lengthAdjust="spacingAndGlyphs">{text}</text>'
            )
        x += wide
    return found


def _kind(cell: Cell) -> str:
    if cell.char in FILLED:
        return "filled"
    return "text" if cell.char.strip() else ""


def _parts(cells: list[Cell], x: int, top: int) -> str:
    said = ""
    for char, same in groupby(cell.char for cell in cells):
        count = len(list(same))
        left, above, right, below = FILLED[char]
        # What fills its cell from side to side goes on in the next one.
        each = [(x, count * WIDTH)] if (left, right) == (0, 8) else []
        each = each or [
            (x + n * WIDTH + left * WIDTH // 8, (right - left) * WIDTH // 8) for n in range(count)
        ]
        high = (below - above) * HEIGHT // 8
        for at, wide in each:
            said += f"M{at} {top + above * HEIGHT // 8}h{wide}v{high}h-{wide}z"
        x += count * WIDTH
    return said


def _wave(told: Told) -> bool:
    """A film may be ready while hands are on the next one."""
    return [face.field for face in told.faces] == ["ready", "plain"] and not told.changed


def _rests(told: Told) -> bool:
    return told.faces[0].field == "break" and "HEAT" in told.faces[0].large.upper()


# The first picture of Run in a day of a demo that is so.
ON_RUN: dict[str, Callable[[Told], bool]] = {"run": _wave, "rest": _rests}
DEMO = "dry_heat_estate"
# Pages, and the keys that lead to them from Run.
PAGES: dict[str, tuple[str, ...]] = {
    "outlook": ("t", "d"),
}


class Watched:
    """The pictures of a day of a demo, taken while it is played."""

    def __init__(self) -> None:
        self.found: dict[str, str] = {}

    def look(self, app: CartClock) -> None:
        """Takes a picture where it is one of those that are wanted, for the first time."""
        told = app.run_screen.told
        if app.screen is not app.run_screen or told is None or app.run_screen.sheet.is_open:
            return
        for name, wanted in ON_RUN.items():
            if name not in self.found and wanted(told):
                self.found[name] = picture(app)


async def pages(folder: Path) -> dict[str, str]:
    """The pictures of pages, of a starter plan in the morning."""
    name = "one_step_correction_and_coat"
    plan = read_plan(with_body(starter(name), "estate"), name)
    clock = HandClock(instant("2026-07-23 07:00", ZONE))
    opened = replace(
        opening(*plan.stages), plan=plan, zone=ZONE, promised_us=instant("2026-07-24 12:00", ZONE)
    )
    found = {}
    async with played(folder, opened, clock=clock, settings=replace(PLAIN, zone=ZONE)) as play:
        for page, keys in PAGES.items():
            await play.press(*keys)
            found[page] = picture(play.app)
    return found
