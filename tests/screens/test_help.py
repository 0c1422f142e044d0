"""Help: every key with what it does and why it cannot be used now; words find, ENTER presses.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.store.settings import Settings
from cartclock.tui.keys import KEYS, SCREENS, keymap, on_screen
from cartclock.tui.pages.help import NOTHING, found
from cartclock.tui.screens.help import HERE, NO_KEY, HelpScreen
from tests.kit.page import chosen, read, said
from tests.kit.plans import COAT
from tests.kit.stage import HOME, LARGE, SMALL, Play, compare, played, whole

SIZES = pytest.mark.parametrize("size", [HOME, SMALL, LARGE], ids=["80x24", "40x12", "120x40"])


async def find(play: Play, word: str) -> None:
    """Opens Help and types a word."""
    await play.press("?", *word)


@SIZES
async def test_every_key_and_its_sentence_can_be_read(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (COAT,), size=size) as play:
        await play.press("?")
        assert play.called == "help"
        assert whole(play) == []
        compare("help", play)
        for key in KEYS:
            assert key.help in read(play), key.id
            first, *others = key.faces
            assert f"{first}   {key.label}" in read(play), key.id
            assert not others or f"Also on {', '.join(others)}." in read(play), key.id
        for word in ("WAIT", "READY", "LATE", "minutes ago"):
            assert word in read(play)
        shown = ""
        for _ in said(play):
            shown += " ".join(play.text.split()) + "\n"
            await play.press("down")
        for word in ("Take back the newest press.", "medical advice", "asking first on the clock"):
            assert word.split()[-1] in shown
        await play.press("esc")
        assert play.called == "run"


@SIZES
async def test_letters_leave_what_they_are_about(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, (COAT,), size=size) as play:
        await find(play, "water")
        compare("help_found", play)
        assert whole(play) == []
        assert "about: water_" in play.text
        assert chosen(play).startswith("Y   water")
        assert any("Note a drink of water" in line for line in said(play))
        assert not any(line.startswith("B   ") for line in said(play))
        await play.press(*["backspace"] * 4)
        assert "about: w_" in play.text
        await play.press("esc")
        assert len(said(play)) > len(KEYS)
        await play.press("esc")
        assert play.called == "run"


@pytest.mark.parametrize(
    ("typed", "id"),
    [
        ("drink", "drink"), ("thirst", "drink"), ("rain", "water"), ("undo", "take_back"),
        ("skip", "leave_out"), ("split", "cut_in_two"), ("phone", "other_work"),
        ("lunch", "break"), ("dizzy", "unwell"), ("alone", "well"), ("pdf", "print"),
        ("leave o", "leave_out"), ("s", "leave_out"), ("scratch", "vehicle"),
    ],
)  # fmt: skip
def test_a_newcomers_word_finds_the_key(typed: str, id: str) -> None:
    assert id in [key.id for key in found(keymap({}), typed)[:2]]


def test_a_word_is_found_whatever_stands_around_it() -> None:
    """Of a key without a label the sentence holds the word, in the marks of a setting."""
    assert [key.id for key in found(keymap({}), "theme")] == ["theme"]


def test_each_of_several_words_has_to_do_with_the_key() -> None:
    keys = keymap({})
    assert found(keys, "seen ready")[0].id == "seen"
    assert [key.id for key in found(keys, "light ground")] == ["theme"]
    assert found(keys, "drink zzz") == ()
    assert found(keys, "drink ") == found(keys, "drink")
    assert found(keys, "- ") == ()


async def test_a_blank_behind_a_word_belongs_to_it_and_presses_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        before = play.kinds
        await find(play, "seen ready ?*")
        assert play.called == "help"
        assert "about: seen ready ?*_" in play.text
        assert play.kinds == before
        await play.press("backspace", "backspace", "backspace")
        assert chosen(play).startswith("W   seen ready")
        await play.press("esc")
        assert len(said(play)) > len(KEYS)
        await play.press("esc")
        assert play.called == "run"
        assert play.kinds == before


def test_no_other_word_of_a_key_is_its_own() -> None:
    for key in KEYS:
        assert not set(key.also) & set(key.label.lower().split()), key.id
        assert len(set(key.also)) == len(key.also), key.id
        assert all(word == word.lower() and word.isalpha() for word in key.also), key.id


def test_the_nearest_comes_first_and_all_stay_where_nothing_is_typed() -> None:
    keys = keymap({})
    assert found(keys, "") == keys
    assert found(keys, "water")[0].id == "water"
    assert found(keys, "zzz") == ()


async def test_enter_presses_what_was_found_on_run(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await find(play, "thirst")
        await play.press("enter")
        assert play.called == "run"
        assert "Drink" in play.sheet.title
        await play.press("esc")
        await find(play, "lunch")
        await play.press("enter")
        assert play.sheet.title.startswith("Break")


async def test_it_presses_where_help_was_asked_for_if_the_key_works_there(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("t")
        await find(play, "add")
        await play.press("enter")
        assert play.called == "today"
        assert play.sheet.title == "New job: which plan?"
        await play.press("esc", "l")
        await find(play, "mark")
        await play.press("enter")
        assert play.called == "plan"
        await find(play, "stock")
        await play.press("enter")
        assert play.called == "products"


async def test_what_cannot_be_used_now_says_why_and_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False) as play:
        before = play.kinds
        await find(play, "thirst")
        assert "Not now: You are not on the clock" in chosen(play)
        await play.press("enter")
        assert play.called == "run"
        assert play.notice == "You are not on the clock; I clocks you on."
        assert play.kinds == before


async def test_what_is_no_key_or_works_only_where_it_is_pressed_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        before = play.kinds
        await find(play, "late")
        while not chosen(play).startswith("LATE"):
            await play.press("down")
        await play.press("enter")
        assert play.notice == NO_KEY
        await play.press("esc")
        await play.press(*"0-9", "enter")
        assert play.notice in (HERE, NO_KEY)
        await play.press("esc", *"zzz")
        assert said(play) == [NOTHING]
        await play.press("enter")
        assert play.called == "help"
        assert play.kinds == before


async def test_a_held_key_presses_once(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await find(play, "take")
        assert chosen(play).startswith("space")
        before = len(play.kinds)
        await play.hold("enter", 4)
        assert play.called == "run"
        assert play.kinds[before:].count("WorkStarted") == 1


async def test_it_says_why_a_key_cannot_be_used_now(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,), on=False) as play:
        await play.press("?")
        off = "Not now: You are not on the clock; I clocks you on."
        assert read(play).count(off) >= 8
        await play.press("esc", "i", "space", "?")
        assert off not in read(play)
        assert "Not now: Nothing is in hand." in read(play)


async def test_it_shows_the_keys_the_worker_has_chosen(tmp_path: Path) -> None:
    settings = Settings(keys={"break": ("f6",)})
    async with played(tmp_path, (COAT,), settings=settings) as play:
        await play.press("?")
        assert any(line.startswith("f6   break") for line in said(play))
        assert not any(line.startswith("B   ") for line in said(play))
        await play.press("esc", "f6")
        assert play.sheet.title == "Break"


async def test_it_opens_from_every_screen(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        for screen in SCREENS:
            # A sign of being unwell opens the page of advice; D is another key on Run.
            ways = {
                "advice": ("f", "space"),
                "outlook": ("p", "d"),
                "card": ("p", "h", "right"),
                "charts": ("p", "tab"),
                "tomorrow": ("p", "d", "m"),
                "estimate": ("p", "d", "n"),
            }
            letters = [key.keys[0] for key in KEYS if key.id == screen]
            await play.press(*ways.get(screen, letters), "?")
            assert play.called == "help", screen
            await play.press("?", "esc")
            assert play.called == ("run" if screen == "help" else screen)
            await play.press("esc", "esc")
            await play.press("u") if play.called != "run" else None
            assert play.called == "run", screen


def test_every_key_of_the_screen_has_a_meaning_there() -> None:
    for key in on_screen(KEYS, "help"):
        assert hasattr(HelpScreen, f"press_{key.id}"), key.id


async def test_a_sleeve_on_the_keys_is_not_looked_for_without_end(tmp_path: Path) -> None:
    async with played(tmp_path, [COAT]) as play:
        await play.press("?", *"x" * 200)
        assert "x" * 30 in play.text
        assert len(play.app.screen._typed) == 80
        await play.press("esc", "esc")
        assert play.called == "run"
