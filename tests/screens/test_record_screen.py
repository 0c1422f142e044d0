"""Record: the job as it would be printed, from the first line to the last on every screen.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pytest

from cartclock.tui.face.laying import laid
from cartclock.tui.keys import KEYS, on_screen
from cartclock.tui.screens.record import RecordScreen
from tests.kit.page import page_of
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.setting import record_text
from tests.kit.stage import HOME, LARGE, SMALL, Play, compare, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL, LARGE], ids=["80x24", "40x12", "120x40"])


def letters(texts: Iterable[str]) -> Counter[str]:
    """How often each letter is in some texts, without blanks, rules and points, capitals as
    small ones."""
    return Counter("".join(texts).translate(dict.fromkeys(map(ord, " \n-=:;[]"))).casefold())


def without_tape(text: str) -> str:
    """A paper without its tape, what stands over it and what its signs mean: a screen says the
    words of a strip.
    """
    text = re.sub(r"(?m)^Tape: .*\n", "", text)
    text = re.sub(r"(?m)^ +[\d ]+\n(?:.*\n)*?(?=Stage: )", "", text)
    return re.sub(r"(?m)^ +early .*\n(?:.+\n)*", "", text)


def lines(play: Play) -> list[str]:
    """Every line of the page as it is laid out."""
    return [
        "  ".join(piece.text for piece in line.pieces).strip()
        for line in laid(page_of(play), play.app.size.width).lines
    ]


async def a_job(play: Play) -> None:
    """One stage done, one section of another in hand."""
    await play.press("space")
    await play.wind(300)
    await play.press("space")
    await play.wind(60)


@SIZES
async def test_the_record_is_read_to_its_end(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, (WIPE, COAT), size=size) as play:
        await a_job(play)
        await play.press("e")
        assert play.called == "record"
        assert whole(play) == []
        compare("record", play)
        first = play.lines[1]
        seen = {" ".join(line.split()) for line in play.lines[1:]}
        for _ in range(len(lines(play))):
            top = play.lines[1:4]
            await play.press("down")
            seen |= {" ".join(line.split()) for line in play.lines[1:]}
            if play.lines[1:4] == top:
                break
        assert [line for line in lines(play) if " ".join(line.split()) not in seen] == []
        await play.press(*["up"] * 40)
        assert play.lines[1] == first


@SIZES
async def test_it_says_what_the_paper_says(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, (WIPE, COAT), size=size) as play:
        await a_job(play)
        await play.press("e")
        (job,) = play.bench.jobs
        made = record_text(play.app.shop.record(job, play.bench.now_us))
        page = page_of(play)
        on_page = letters([page.name, page.said, *lines(play)])
        # Columns that have no room beside each other say their heads with each text.
        text = without_tape(made)
        if size[0] < 80:
            # A narrow screen says a head with its text, and none of an empty column.
            text = re.sub(r"(?m)^  section .*\n", "", text)
        assert letters([text]) - on_page == Counter()
        assert "…" not in play.text


async def test_it_is_made_anew_when_it_opens(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, COAT)) as play:
        await a_job(play)
        await play.press("e")
        before = lines(play)
        await play.wind(60)
        assert lines(play) == before
        await play.press("esc")
        await play.wind(1200)
        await play.press("e")
        assert lines(play) != before


async def test_without_a_job_it_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("e")
        assert "No job yet." in play.lines[1]
        assert whole(play) == []


async def test_a_job_whose_opening_was_taken_back_has_no_record(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), on=False) as play:
        await play.press("t", "space", "down", "down", "space")
        assert "JOB RECORD" in play.lines[0]
        await play.press("esc", "esc", "backspace")
        assert play.kinds[-1] == "PressStruck"
        await play.press("e")
        assert "No job yet." in play.lines[1]


async def test_it_is_that_of_the_job_in_hand_or_asked_for(tmp_path: Path) -> None:
    second = opening(POLISH, number=2)
    async with played(tmp_path, (WIPE,), second) as play:
        await play.press("space", "e")
        assert any("Wipe" in line for line in lines(play))
        await play.press("t", "down", "space", "down", "down", "space")
        assert any("Polish" in line for line in lines(play))
        await play.press("esc", "e")
        assert any("Wipe" in line for line in lines(play))


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "record"):
        assert hasattr(RecordScreen, f"press_{key.id}"), key.id
