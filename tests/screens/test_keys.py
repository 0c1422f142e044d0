"""The key registry: no key with two meanings, Caps Lock, other keys, the table."""

from __future__ import annotations

import pytest
from textual import events
from textual.app import App
from textual.keys import REPLACED_KEYS, key_to_character

from cartclock.tui.key_names import key_names, printed
from cartclock.tui.keys import KEYS, SCREENS, keymap, markdown_table, meaning, on_screen


def by_id(id: str) -> tuple[str, ...]:
    return next(key.keys for key in KEYS if key.id == id)


def test_ids_are_unique_and_screens_known() -> None:
    assert len({key.id for key in KEYS}) == len(KEYS)
    for key in KEYS:
        assert key.screens
        assert key.screens <= set(SCREENS)


@pytest.mark.parametrize("screen", SCREENS)
def test_no_key_has_two_meanings_on_one_screen(screen: str) -> None:
    names = [name for key in on_screen(KEYS, screen) for name in key.keys]
    assert len(names) == len(set(names))


def test_letters_are_ascii_and_bound_in_both_cases() -> None:
    for key in KEYS:
        for name in key.keys:
            assert name.isascii()
            if len(name) == 1 and name.isalpha():
                assert {name.lower(), name.upper()} <= set(key.keys)


def test_keys_that_the_worker_may_rely_on() -> None:
    assert by_id("take_up") == ("space", "pagedown", "right", "enter")
    assert by_id("take_back") == ("backspace", "pageup", "left")
    assert by_id("break") == ("b", "B")
    assert by_id("other_work") == ("x", "X")
    assert by_id("reading") == ("r", "R")
    assert by_id("caller") == ("c", "C")
    assert by_id("help") == ("question_mark",)
    assert by_id("minutes") == tuple("0123456789")


def test_every_key_has_a_label_and_one_sentence() -> None:
    for key in KEYS:
        assert key.label or key.id in ("up", "down", "theme", "other_cart")
        assert key.help.endswith(".")
        assert key.help.count(". ") == 0


def test_what_is_printed_is_the_character_that_the_library_knows_the_key_by() -> None:
    shown = {name: printed(name) for key in KEYS for name in key.keys}
    for name, face in shown.items():
        character = key_to_character(REPLACED_KEYS.get(name, name))
        if character is not None and character.isprintable() and character != " ":
            assert character.upper() == face
            assert key_names(character) == key_names(name)
    assert {face for face in shown.values() if len(face) > 1} == {
        "space", "enter", "esc", "backspace", "page down", "page up", "up", "down", "left", "right",
        "tab",
    }  # fmt: skip


async def test_names_are_those_that_the_terminal_library_sends() -> None:
    heard: list[str] = []

    class Ear(App[None]):
        def on_key(self, event: events.Key) -> None:
            heard.append(event.key)

    app = Ear()
    async with app.run_test(size=(20, 5)) as pilot:
        await pilot.press("b", "B", "?", "/", "+", "7", "space", "escape", "backspace")
        await pilot.press("pagedown", "pageup", "left", "right", "up", "down", "enter")
    assert [meaning(KEYS, "run", name) for name in heard] == [
        "break", "break", "help", "cut_in_two", "add", "minutes", "take_up", "back", "take_back",
        "take_up", "take_back", "take_back", "take_up", "up", "down", "take_up",
    ]  # fmt: skip


def test_meaning_depends_on_the_screen() -> None:
    assert meaning(KEYS, "run", "space") == "take_up"
    assert meaning(KEYS, "plan", "space") == "choose"
    assert meaning(KEYS, "help", "space") == "press"
    assert meaning(KEYS, "help", "b") is None
    assert meaning(KEYS, "run", "f9") is None


def test_no_overrides_change_nothing() -> None:
    assert keymap({}) == KEYS


def test_overrides() -> None:
    keys = {key.id: key for key in keymap({"break": ["x"], "other_work": ["b", "f5", "minus"]})}
    assert keys["break"].keys == ("x", "X")
    assert keys["other_work"].keys == ("b", "B", "f5", "minus")
    assert keys["other_work"].faces == ("B", "f5", "-")
    assert keys["note"] == next(key for key in KEYS if key.id == "note")


def test_an_override_may_be_the_character_itself() -> None:
    keys = {key.id: key for key in keymap({"cut_in_two": ["-"], "add": ["!", "é"]})}
    assert keys["cut_in_two"].keys == ("minus",)
    assert keys["add"].keys == ("exclamation_mark", "é", "É")


def test_minutes_may_be_ten_other_keys() -> None:
    others = [f"f{number}" for number in range(1, 11)]
    keys = {key.id: key for key in keymap({"minutes": others})}
    assert keys["minutes"].keys == tuple(others)
    assert keys["minutes"].face == "f1-f10"


@pytest.mark.parametrize(
    ("overrides", "sentence"),
    [
        ({"note": ["b"]}, "Key 'B' would mean both 'break' and 'note' on the screen 'run'."),
        ({"note": ["/"]}, "Key '/' would mean both"),
        ({"quit": ["T"]}, "Key 'T' would mean both 'today' and 'quit'"),
        ({"braek": ["g"]}, "Nothing is called 'braek'; 'break'?"),
        ({"note": ["spce"]}, "No key is called 'spce'; 'space'?"),
        ({"note": [""]}, "No key is called ''."),
        ({"note": []}, "'note' must keep at least one key."),
        ({"note": "j"}, "The keys of 'note' must be a list"),
        ({"minutes": ["f1"]}, "'minutes' needs ten different keys"),
        ({"minutes": list("123456789j")}, "'minutes' needs ten different keys"),
    ],
    ids=[
        "clash", "clash of signs", "clash everywhere", "unknown id", "unknown key", "no name",
        "no keys", "not a list", "too few minutes", "a letter for minutes",
    ],
)  # fmt: skip
def test_bad_overrides_are_refused_with_a_sentence(
    overrides: dict[str, list[str]], sentence: str
) -> None:
    with pytest.raises(ValueError) as refused:
        keymap(overrides)
    assert str(refused.value).startswith(sentence)


def test_the_same_key_may_mean_two_things_on_two_screens() -> None:
    keys = keymap({"mark": ["backspace"]})
    assert meaning(keys, "run", "backspace") == "take_back"
    assert meaning(keys, "plan", "backspace") == "mark"


def test_markdown_table_has_a_row_for_every_key() -> None:
    lines = markdown_table().splitlines()
    assert len(lines) == len(KEYS) + 2
    assert {line.count("|") for line in lines} == {4}
    assert lines[2].startswith("| space, page down, right, enter |")
    assert any(line.startswith("| ? |") and line.endswith("| every screen |") for line in lines)


def test_a_bar_as_a_key_does_not_break_the_table() -> None:
    table = markdown_table(keymap({"cut_in_two": ["|"]}))
    assert "| \\| | Cut sections" in table
