"""The signal that is seen: how often, for how long, and for what.

W3C WCAG 2.1, SC 2.3.1: not more than three flashes in any one second; a flash is a pair of opposing
changes.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.now.faces import Face
from cartclock.engine.now.running import Field
from cartclock.engine.times import Instant
from cartclock.tui.face.canvas import Ground, Look
from cartclock.tui.face.grounds import GROUNDS, inks
from cartclock.tui.face.signal import CALLING, Signal
from cartclock.tui.palettes import PALETTES

FIELDS: tuple[Field, ...] = (
    "plain", "wait", "ready", "late", "soon", "rest", "break", "back", "off", "ask",
)  # fmt: skip


def face(field: Field, key: str = "") -> Face:
    return Face("", "", "", "", field, key or field)


@pytest.mark.parametrize("field", FIELDS)
def test_what_must_not_be_missed_turns_the_picture_for_one_second(field: Field) -> None:
    signal = Signal()
    assert not signal.turned(face("wait", "before"), Instant(0))
    seen = [signal.turned(face(field), Instant(ms * 1000)) for ms in range(5_000, 12_000, 250)]
    turned = [False] * 4 + [True] * 4 + [False] * 20
    assert seen == (turned if field in CALLING else [False] * 28)


def test_the_state_at_the_start_calls_nobody() -> None:
    signal = Signal()
    assert not any(signal.turned(face("late"), Instant(s * 1_000_000)) for s in range(9))


def test_it_can_be_shown_to_be_known() -> None:
    signal = Signal()
    signal.turned(face("plain"), Instant(0))
    signal.show(Instant(0))
    assert [signal.turned(face("plain"), Instant(s * 1_000_000)) for s in range(4)] == [
        False, True, False, False,
    ]  # fmt: skip


@given(st.lists(st.tuples(st.sampled_from(FIELDS), st.integers(100, 3000)), max_size=40))
def test_never_more_than_three_flashes_in_a_second(states: list[tuple[Field, int]]) -> None:
    signal, ms, grounds = Signal(), 0, []
    for number, (field, lasts_ms) in enumerate(states):
        for at_ms in range(ms, ms + lasts_ms, 100):
            one = face(field, f"{field}{number}")
            grounds.append((at_ms, field, signal.turned(one, Instant(at_ms * 1000))))
        ms += lasts_ms
    turns = [now[0] for before, now in pairwise(grounds) if before[2] != now[2]]
    for at_ms in turns:
        # Two opposing changes are a flash.
        assert sum(at_ms <= other < at_ms + 1000 for other in turns) <= 6


@pytest.mark.parametrize("palette", PALETTES.values(), ids=list(PALETTES))
@pytest.mark.parametrize("ground", GROUNDS)
def test_a_turned_picture_has_no_boxes_behind_its_fainter_words(
    palette: dict[str, str], ground: Ground
) -> None:
    front, behind = inks(Look(ground), palette)
    for dim in (False, True):
        assert inks(Look(ground, dim=dim), palette, turned=True) == (behind, front)
