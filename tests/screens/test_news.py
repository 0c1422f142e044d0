"""A line that became another by itself: its key waits three seconds, and another car is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.shift import Hands
from cartclock.engine.store.settings import Settings
from cartclock.tui.themes import THEMES
from tests.kit.page import chosen
from tests.kit.plans import COAT, POLISH, WIPE, opening
from tests.kit.run_states import SLOW, just_changed
from tests.kit.stage import HOME, SMALL, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL], ids=["80x24", "40x12"])
AGAIN = "Changed: press again."


@SIZES
async def test_a_press_meant_for_what_stood_there_is_not_taken_for_what_stands_there(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (SLOW,), size=size) as play:
        await just_changed(play)
        rows = len(play.bench.rows)
        assert play.next_line.startswith("CHANGED  ")
        await play.press("space")
        assert len(play.bench.rows) == rows
        assert play.notice == AGAIN
        assert AGAIN in play.text
        # It was said: the next press counts, and the line names its key.
        assert play.next_line.startswith("SPACE  ")
        await play.press("space")
        assert len(play.bench.rows) > rows
        assert whole(play) == []


async def test_a_finger_that_bounces_on_the_notice_does_not_press_again(tmp_path: Path) -> None:
    async with played(tmp_path, (SLOW,)) as play:
        await just_changed(play)
        rows = len(play.bench.rows)
        await play.hold("space", 20)
        assert len(play.bench.rows) == rows


async def test_the_mark_goes_by_itself_and_the_press_counts(tmp_path: Path) -> None:
    async with played(tmp_path, (SLOW,)) as play:
        await just_changed(play)
        rows, seen = len(play.bench.rows), []
        for _ in range(3):
            seen.append(play.next_line.split()[0])
            await play.leap(1)
        assert seen == ["CHANGED"] * 3
        assert play.next_line.startswith("SPACE  ")
        await play.press("space")
        assert len(play.bench.rows) > rows


async def test_who_presses_as_the_film_is_ready_does_not_lose_the_press(tmp_path: Path) -> None:
    async with played(tmp_path, (replace(COAT, sections=("roof",)),)) as play:
        await play.press("space")
        await play.wind(90)
        await play.choose("stand by for roof")
        await play.press("space")
        await play.leap((play.app.workplace.moves[0].opens_us - play.bench.now_us) / 1e6)  # type: ignore[operator]  # it waits
        assert play.next_line == "SPACE  level roof"
        await play.press("space")
        doing = play.bench.shift().doing  # type: ignore[union-attr]  # clocked on above
        assert isinstance(doing, Hands)
        assert doing.sections == ("roof",)


async def test_a_reading_of_the_instrument_takes_no_press_for_a_break(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        await play.press("space")
        await play.wind(3300)
        hot = ev.ReadingTaken(air_c=45.0, rh=60.0, place="sun")
        play.bench.machine([Draft(hot)], "me")
        await play.leap(1)
        assert play.next_line.startswith("CHANGED  heat break")
        await play.press("space")
        assert play.notice == AGAIN
        assert "BreakTaken" not in play.kinds
        # A break is a key of its own, and waits for nothing.
        await play.press("b", "space")
        assert "BreakTaken" in play.kinds


async def test_what_the_worker_pressed_is_no_news(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, POLISH)) as play:
        for key in ("space", "down", "up", "h", "space", "backspace", "down", "esc"):
            await play.press(key)
            assert play.next_line.startswith("SPACE  "), key


async def test_the_line_of_each_is_news_by_the_others_press(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,), settings=Settings(helper="Tomek")) as play:
        await play.press("i", "down", "space")
        await play.wind(3)

        def second() -> str:
            told = play.app.run_screen.told
            assert told is not None
            return told.helps

        assert (play.next_line, "Tomek: cut wing" in second()) == ("SPACE  cut door", True)
        # The helper takes what the helper's line names; that of the worker stays.
        await play.choose("cut wing")
        assert second().startswith("CHANGED  Tomek: cut door")
        await play.press("enter")
        assert play.notice == AGAIN
        await play.press("enter")
        assert play.bench.rows[-1].worker == "Tomek"
        await play.press("backspace", "up")
        await play.wind(3)
        rows = len(play.bench.rows)
        await play.press("enter")
        assert len(play.bench.rows) > rows


@SIZES
@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
async def test_another_car_in_the_press_is_named_and_coloured(
    tmp_path: Path, size: tuple[int, int], theme: str
) -> None:
    van = replace(opening(WIPE, number=2), vehicle="blue van")
    settings = Settings(theme=theme)  # type: ignore[arg-type]  # one of the two
    async with played(tmp_path, opening(POLISH), van, size=size, settings=settings) as play:
        await play.choose("cut door")
        await play.press("space")
        assert "Blue van" not in play.text
        await play.choose("wipe")
        y = next(y for y, line in enumerate(play.lines) if "Blue van  SPACE  wipe" in line)
        look = {text.strip(): look.ground for text, look in play.picture.runs(y)}
        assert (look["Blue van"], look["SPACE"]) == ("soon", "band")
        assert whole(play) == []


async def test_the_cursor_of_today_goes_to_the_job_in_hand(tmp_path: Path) -> None:
    van = replace(opening(WIPE, number=2), vehicle="blue van")
    async with played(tmp_path, opening(POLISH), van) as play:
        await play.press("t", "down", "esc")
        await play.choose("cut door")
        await play.press("space", "t")
        assert "bottle green estate" in chosen(play)
        await play.press("esc")
        await play.choose("wipe")
        await play.press("space", "t")
        assert "blue van" in chosen(play)
