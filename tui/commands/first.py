"""The first picture: what Run says, on the terminal before the screen library is there."""

from __future__ import annotations

import os
from collections.abc import Iterable

from rich.segment import Segment
from rich.style import Style

from cartclock.engine.hours.account import left_open_us
from cartclock.tui.face.canvas import Look
from cartclock.tui.face.grounds import inks
from cartclock.tui.face.run_picture import run_picture
from cartclock.tui.palettes import PALETTES
from cartclock.tui.terminal.colours import Colours, depth, few
from cartclock.tui.terminal.raw import RawTerminal
from cartclock.tui.told.sight import Sight
from cartclock.tui.told.workplace import Workplace


def opens_on_run(workplace: Workplace) -> bool:
    """True if the program opens on Run, and no question stands over it."""
    bench = workplace.bench
    shift = bench.shift()
    left = shift is not None and left_open_us(shift, bench.now_us) is not None
    return bool(bench.jobs) and not left and bench.log.asked() is None


def show_first(held: RawTerminal, sight: Sight, theme: str, colours: Colours) -> None:
    """Writes what Run says.

    Args:
        held: the terminal.
        sight: what Run has in sight; its screen goes on with it.
        theme: a name out of `PALETTES`.
        colours: what the terminal has.
    """
    columns, rows = held.size
    # First, because it is written down, and what is looked at then knows it.
    woken = sight.workplace.woken
    told = sight.tell(sight.look(), sight.reasons(), woken)
    canvas = run_picture(told, columns, rows)
    held.show([_row(canvas.runs(y), theme, colours) for y in range(rows)])


def _row(runs: Iterable[tuple[str, Look]], theme: str, colours: Colours) -> str:
    palette, system = PALETTES[theme], depth(os.environ)
    segments = []
    for text, look in runs:
        ink, ground = inks(look, palette)
        segments.append(Segment(text, Style(color=ink, bgcolor=ground, bold=look.bold)))
    return "".join(
        text if style is None else style.render(text, color_system=system)
        for text, style, _ in few(segments, colours)
    )
