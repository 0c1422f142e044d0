"""Asks the terminal on which ground it writes, and picks the answer out of what is typed.

xterm control sequences, "Operating System Commands": OSC 11 with a question mark asks for the
colour of the text background, and the answer is an OSC 11 with `rgb:` and three numbers of one
to four hexadecimal digits (X11, XParseColor). From memory.

Nobody waits for the answer. It may come late, in pieces, or never; until it has come, what may
be its beginning is held back for a moment, so that none of it is taken for keys.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from cartclock.tui.terminal.colours import RGB, contrast

ASK = "\x1b]11;?\x07"
ANSWER = re.compile(rb"\x1b\]11;([\x20-\x7e]{0,100})(?:\x07|\x1b\\)")
"""What is answered, among bytes that were typed."""
# Our own judgement: whoever knows the question has answered it by then, also over a slow line.
# A lone escape is held back no longer than that.
EXPECTED_S = 3.0
# Two bytes or more of its beginning are hardly typed, and are held back so long.
BEGUN_S = 0.5
# An answer whose end does not come is given up after so long; our own judgement.
BROKEN_S = 2.0

_BEGIN = "\x1b]11;"
_ANSWER = re.compile(r"\x1b\]11;([^\x07\x1b\x9c]*)(?:\x07|\x1b\\|\x9c)")
# What there may be of an answer before its end, a hundred characters at most.
_PART = re.compile(r"\x1b\]11;[\x20-\x7e]{0,100}\x1b?")
_STUMP = re.compile(r"\x1b\]11;[\x20-\x7e]{0,100}")
_COLOUR = re.compile(
    r"rgba?:([0-9A-Fa-f]{1,4})/([0-9A-Fa-f]{1,4})/([0-9A-Fa-f]{1,4})(?:/[0-9A-Fa-f]{1,4})?"
)


def colour(said: str) -> RGB | None:
    """The colour of an answer, `rgb:hhhh/hhhh/hhhh`; None if it names none."""
    found = _COLOUR.fullmatch(said)
    if found is None:
        return None
    red, green, blue = (
        round(255 * int(part, 16) / (16 ** len(part) - 1)) for part in found.group(1, 2, 3)
    )
    return (red, green, blue)


def is_light(ground: RGB) -> bool:
    """Whether black is read better than white on a ground (WCAG 2.1, contrast ratio)."""
    return contrast((0, 0, 0), ground) > contrast((255, 255, 255), ground)


def said_light(answer: bytes) -> bool | None:
    """Whether an answer, of the form `ANSWER`, names a light ground; None if it names no colour."""
    found = ANSWER.fullmatch(answer)
    ground = None if found is None else colour(found[1].decode("ascii"))
    return None if ground is None else is_light(ground)


class Answer:
    """The answer among what is typed. Nothing is held back unless the question was asked.

    Args:
        found: told once whether the ground is light.
    """

    def __init__(self, found: Callable[[bool], object]) -> None:
        self._found = found
        self._asked_at: float | None = None
        self._held = ""
        self._held_at = 0.0
        # What was given out last ended in an escape, which may have been the answer's first byte;
        # and what is held begins with one that was.
        self._escaped = self._lent = False

    def asked(self, now_s: float) -> None:
        """The question went out. now_s: of a clock that runs on, in seconds."""
        self._asked_at, self._held, self._escaped, self._lent = now_s, "", False, False

    @property
    def holds(self) -> bool:
        """True while it keeps what may be keys after all."""
        return bool(self._held)

    def sift(self, text: str, now_s: float) -> str:
        """What is typed, without the answer; what may be the beginning of one is kept.

        Args:
            text: what was read; "" if nothing came for as long as an escape sequence lasts.
            now_s: of the clock of `asked`.
        """
        if self._asked_at is None:
            return text
        if not text:
            return self._given_up(now_s)
        rest = _BEGIN[1:]
        if self._escaped and not self._held and (text.startswith(rest) or rest.startswith(text)):
            self._held, self._lent = "\x1b", True
        text, self._held = self._held + text, ""
        begin, end = self._part(text, now_s - self._asked_at)
        before, behind = text[self._lent and begin > 0 : begin], text[end:]
        if self._held:
            self._held_at = now_s
        else:
            self._lent = False
        out = before + behind
        self._escaped = out.endswith("\x1b") if out else self._escaped
        return out

    def _part(self, text: str, waited_s: float) -> tuple[int, int]:
        """From where to where the answer stands in the text, or what is now held of one."""
        found = _ANSWER.search(text)
        if found is not None:
            self._asked_at = None
            ground = colour(found[1])
            if ground is not None:
                self._found(is_light(ground))
            return found.span()
        begin = text.find(_BEGIN)
        if begin >= 0 and not _PART.fullmatch(text, begin):
            # Something else stands in it: no answer, and no keys either as far as it goes.
            stump = _STUMP.match(text, begin)
            return (begin, begin) if stump is None else stump.span()
        if begin < 0:
            shortest = 1 if waited_s < EXPECTED_S or self._lent else 2
            lengths = range(len(_BEGIN) - 1, shortest - 1, -1)
            begin = next(
                (len(text) - one for one in lengths if text.endswith(_BEGIN[:one])), len(text)
            )
        self._held = text[begin:]
        return begin, len(text)

    def _given_up(self, now_s: float) -> str:
        """What was held back and is keys after all; an answer whose end never came is none."""
        held, waited_s = self._held, now_s - self._held_at
        if len(held) > 1 and waited_s < (BROKEN_S if held.startswith(_BEGIN) else BEGUN_S):
            return ""
        self._held = ""
        if held.startswith(_BEGIN):
            self._asked_at = None
            return ""
        if held:
            self._escaped = held == "\x1b"
        out = held[self._lent :]
        self._lent = False
        return out
