"""What stands in the way of a correction, found in one go, is what is found one by one."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Collection, Sequence

import pytest
from hypothesis import Phase, settings
from hypothesis.stateful import invariant, run_state_machine_as_test
from msgspec.structs import replace

import cartclock.engine.desk.pressing
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.refold import Stays, consequence, in_the_way
from cartclock.engine.facts.rows import Row
from cartclock.engine.press import Press
from tests.facts.test_anything_goes import AnythingGoes

FOUND: Counter[int] = Counter()


def one_by_one(
    rows: Sequence[Row], presses: Collection[Press], stays: Stays, keep: Collection[Press]
) -> tuple[Press, ...]:
    """The press of the first odd row is struck, again and again."""
    also: set[Press] = set()
    last = rows[-1]
    while True:
        strikes = [
            replace(last, seq=last.seq + index, event=ev.PressStruck(press.seq, "", press.origin))
            for index, press in enumerate(sorted(also), start=1)
        ]
        _found, odd = consequence([*rows, *strikes], {*presses, *also}, stays)
        if odd is None:
            return tuple(sorted(also))
        if odd.row.press in also or odd.row.press in keep:
            return ()
        also.add(odd.row.press)


def both(
    rows: Sequence[Row], presses: Collection[Press], stays: Stays, keep: Collection[Press]
) -> tuple[Press, ...]:
    """The answer of both ways, which is one."""
    found = in_the_way(rows, presses, stays, keep)
    assert found == one_by_one(rows, presses, stays, keep)
    FOUND[len(found)] += 1
    return found


class Corrected(AnythingGoes):
    """Anything goes, for the sake of what is corrected."""

    @invariant()
    def laws(self) -> None:
        """Proved where anything goes already."""

    def teardown(self) -> None:
        self.bench.close()
        shutil.rmtree(self.folder)


def test_what_stands_in_the_way_is_what_one_by_one_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cartclock.engine.desk.pressing, "in_the_way", both)
    how = settings(max_examples=8, stateful_step_count=40, phases=[Phase.explicit, Phase.generate])
    run_state_machine_as_test(Corrected, settings=how)
    assert FOUND[0] and FOUND[1] and max(FOUND) > 5, FOUND
