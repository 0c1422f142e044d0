"""Any size at any moment: no fall, keys work on, and the smallest screen still says what counts."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.geometry import Region

from cartclock.tui.keys import SCREENS
from cartclock.tui.widgets.rows import Rows
from tests.kit.plans import COAT, FALLOUT
from tests.kit.stage import HOME, Play, played, whole

LEAST, MOST = (20, 6), (300, 100)
# From the smallest to the largest and back, broad and low, narrow and high.
SIZES = [LEAST, (80, 24), (20, 60), MOST, (33, 9), (40, 12), (120, 7), LEAST]
# The least, the most, the narrowest and the lowest; the others in `long`.
ENDS = [LEAST, MOST, (33, 9), (120, 7)]
ALL_OR_ENDS = pytest.mark.parametrize(
    "sizes", [ENDS, pytest.param(SIZES, marks=pytest.mark.long)], ids=["ends", "all"]
)
# Under so many rows or columns not every key has a place.
WHOLE_FROM = (40, 12)
LETTERS = {
    "today": "t",
    "plan": "p",
    "log": "l",
    "record": "e",
    "products": "o",
    "help": "?",
    "outlook": "d",
    "card": "right",
    "charts": "tab",
    "tomorrow": "m",
    "estimate": "n",
}


async def busy(play: Play) -> None:
    """One thing in hand and a film beside it."""
    await play.choose("spray")
    await play.press("space")
    await play.wind(90)
    await play.press("space")
    await play.wind(5)


async def resize(play: Play, size: tuple[int, int]) -> None:
    """As a terminal does it: without a tick."""
    play.say_size(size)
    await play.hear_size()


def sound(play: Play) -> None:
    """What holds at every size."""
    width, height = play.app.size
    assert play.app._exception is None
    assert len(play.lines) == height
    assert all(len(line) <= width for line in play.lines)
    if width >= WHOLE_FROM[0] and height >= WHOLE_FROM[1]:
        assert whole(play) == []


def inside(play: Play, selector: str) -> bool:
    """Whether every cell of a part lies on the screen."""
    part = play.screen.query_one(selector)
    return bool(part.region.area) and Region(0, 0, *play.app.size).contains_region(part.region)


def chosen_line(play: Play) -> str:
    """The chosen line of the open list as it stands on the screen, from edge to edge."""
    rows = play.sheet.query_one(Rows)
    assert rows.chosen_row is not None
    region = Region(0, rows.chosen_row, rows.size.width, 1)
    on_screen = region.translate(rows.content_region.offset)
    assert Region(0, 0, *play.app.size).contains_region(on_screen)
    return play.lines[on_screen.y]


@ALL_OR_ENDS
@pytest.mark.parametrize("name", [name for name in SCREENS if name != "advice"])
async def test_every_screen_takes_every_size(
    name: str, sizes: list[tuple[int, int]], tmp_path: Path
) -> None:
    async with played(tmp_path, [FALLOUT, COAT], every_picture=True) as play:
        await busy(play)
        # D and H are other keys on Run.
        ways = {"outlook": ("p",), "card": ("p", "h"), "charts": ("p",)}
        ways |= dict.fromkeys(("tomorrow", "estimate"), ("p", "d"))
        await play.press(*ways.get(name, ()))
        if name != "run":
            await play.press(LETTERS[name])
        assert play.called == name
        for size in sizes:
            await resize(play, size)
            sound(play)
            await play.press("down", "up")
            assert play.called == name
            sound(play)
        await play.press("escape")
        back = {"outlook": "plan", "card": "history", "charts": "plan"}
        back |= dict.fromkeys(("tomorrow", "estimate"), "outlook")
        assert play.called == back.get(name, "run")
        assert play.odd() == []


async def test_first_aid_takes_every_size(tmp_path: Path) -> None:
    async with played(tmp_path, [FALLOUT, COAT], every_picture=True) as play:
        await busy(play)
        play.app.advise(("confusion",))
        await play.settle()
        assert play.called == "advice"
        for size in SIZES:
            await resize(play, size)
            sound(play)
            assert play.lines[0].strip() or play.lines[1].strip()
        await play.press("escape")
        assert play.called == "run"


@ALL_OR_ENDS
async def test_every_list_takes_every_size(sizes: list[tuple[int, int]], tmp_path: Path) -> None:
    async with played(tmp_path, [FALLOUT, COAT], every_picture=True) as play:
        await busy(play)
        before = len(play.bench.rows)
        for key in "bxrckfjnavmsd/+gizy":
            await resize(play, HOME)
            await play.press(key)
            for size in [*sizes[::2], (21, 8)]:
                if play.sheet.is_open:
                    await resize(play, size)
                    sound(play)
                    if play.spoken:
                        assert chosen_line(play).strip().startswith(">"), (key, size)
                    await play.press("down")
                    sound(play)
            await play.press("escape", "escape")
            assert not play.sheet.is_open, key
            assert len(play.bench.rows) == before, key
            # Keys work on at the smallest size.
            await resize(play, LEAST)
            for letter, name in (("t", "today"), ("u", "run")):
                await play.press(letter)
                assert play.called == name, key
        # A film is in play: it will be done again.
        await play.press("b", "r", "up", "up", "space")
        assert play.kinds[-1] == "BreakTaken"


async def test_a_text_line_keeps_what_was_typed(tmp_path: Path) -> None:
    async with played(tmp_path, [FALLOUT, COAT], every_picture=True) as play:
        await busy(play)
        await play.press("n", "s")
        assert play.typing
        written = []
        for size in SIZES:
            await resize(play, size)
            sound(play)
            letter = "abcdefghijk"[len(written)]
            written.append(letter)
            await play.press(letter)
            assert play.typing
            assert inside(play, "Input"), size
        await play.press("enter")
        assert play.kinds[-1] == "NoteWritten"
        note = play.bench.rows[-1].event
        assert play.bench.text(note.text) == "".join(written)


async def test_word_digits_and_next_stand_on_the_smallest_screen(tmp_path: Path) -> None:
    async with played(tmp_path, [FALLOUT, COAT], size=LEAST, every_picture=True) as play:
        assert "SPACE" in play.text
        await busy(play)
        lines = play.lines
        # What was answered has the place of the head, a line at a time.
        assert lines[0] == " right (Fallout)."
        assert lines[1].strip().isupper()
        assert any(char in "█▀▄" for char in lines[2])
        assert lines[5].startswith(" SPACE  spray front")
        # Then the other window takes turns with the head.
        heads = set()
        for _ in range(48):
            await play.wind(1)
            heads.add(play.lines[0].strip())
        assert any("left: wait 1:" in head for head in heads)
        assert any(" SPRAY" in head for head in heads)
        play.app.say("Took up: spray")
        await play.settle()
        assert play.lines[0].startswith(" Took up: spray")
        await play.press("b")
        assert any("> R  " in line for line in play.lines)
        await play.press("escape")


async def test_a_storm_of_sizes_between_keys(tmp_path: Path) -> None:
    async with played(tmp_path, [FALLOUT, COAT], every_picture=True) as play:
        await busy(play)
        keys = ["b", "escape", "t", "+", "down", "escape", "escape", "n", "s", "x", "escape", "w"]
        for number, key in enumerate(keys):
            # No time to settle between the sizes.
            for step in range(4):
                columns, rows = (20 + 71 * (number * 4 + step) % 281, 6 + 37 * (number + step) % 95)
                play.say_size((columns, rows))
            await play.press(key)
            await play.hear_size()
            sound(play)
        await play.press("escape", "escape")
        assert play.called == "run"
        assert play.odd() == []
