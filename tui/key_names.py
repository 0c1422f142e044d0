"""What keys are called, by the screen library and by what is printed on them.

The keys that the program's own registry gives are known here, so that the registry can be read
before the library is there; the library is asked about every other one, which a worker may have
settled.
"""

from __future__ import annotations

import difflib
import unicodedata
from functools import cache

# Name of the library -> what is printed on the key; a presenter or a pedal sends page down to take
# up and page up to take back.
_PRINTED = {
    "space": "space",
    "enter": "enter",
    "escape": "esc",
    "tab": "tab",
    "backspace": "backspace",
    "pagedown": "page down",
    "pageup": "page up",
    "up": "up",
    "down": "down",
    "left": "left",
    "right": "right",
    "question_mark": "?",
    "slash": "/",
    "plus": "+",
    "asterisk": "*",
}
_NAMED = {printed: name for name, printed in _PRINTED.items() if len(printed) == 1}


@cache
def printed(name: str) -> str:
    """What is printed on a key, by the name that the library gives it: "space", "B", "?"."""
    if name in _PRINTED:
        return _PRINTED[name]
    character = name if len(name) == 1 else _character(name)
    if character is None or not character.isprintable():
        return name
    return character.upper() if len(character.upper()) == 1 else character


def key_names(given: str) -> tuple[str, ...]:
    """The library's names for one key as a person writes it; a letter gives both cases.

    given: the character itself, or the name.

    Raises:
        ValueError: no key is called that; the text is a sentence for the worker.
    """
    if len(given) == 1 and given.isalpha():
        cases = tuple(dict.fromkeys((given.lower(), given.upper())))
        return cases if all(len(case) == 1 for case in cases) else (given,)
    if given.isdigit() and len(given) == 1:
        return (given,)
    if given in _NAMED:
        return (_NAMED[given],)
    return (given,) if given in _PRINTED else _asked(given)


def _asked(given: str) -> tuple[str, ...]:
    from textual.keys import KEY_NAME_REPLACEMENTS

    if len(given) == 1 and given.isprintable():
        plain = unicodedata.name(given, "").lower().replace("-", "_").replace(" ", "_")
        return (KEY_NAME_REPLACEMENTS.get(plain, plain),)
    character = _character(given)
    if given in _known() or (character is not None and key_names(character) == (given,)):
        return (given,)
    near = difflib.get_close_matches(given, sorted(_known()), n=1)
    raise ValueError(f"No key is called {given!r}" + (f"; {near[0]!r}?" if near else "."))


def _character(name: str) -> str | None:
    from textual.keys import REPLACED_KEYS, key_to_character

    return key_to_character(REPLACED_KEYS.get(name, name))


@cache
def _known() -> frozenset[str]:
    from textual.keys import KEY_NAME_REPLACEMENTS, Keys

    named = {key.value for key in Keys if not key.value.startswith("<")}
    return frozenset(named | set(KEY_NAME_REPLACEMENTS.values()))
