"""A job begun on one cart goes on on another as if it had been one cart."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.kit.two_carts import WHO, TwoCarts, hands_us, shape


def played(folder: Path, seed: int) -> int:
    """A random plan with hand-overs, compared with one cart; how many hand-overs."""
    drawn = random.Random(seed)
    play = TwoCarts(folder, seed, drawn.randrange(3))
    handed = 0
    for _leg in range(drawn.randint(2, 5)):
        for _ in range(drawn.randint(1, 7)):
            if not play.work(drawn.randint(3, 120)):
                play.wind(30)
            elif drawn.random() < 0.1:
                play.take_back()
        if play.here.jobs[play.job].state == "closed":
            break
        play.hand_over()
        handed += 1
    assert shape(play.here.jobs[play.job]) == shape(play.one.jobs[play.same])
    assert play.here.jobs[play.job].odd == []
    for bench, who in zip(play.carts, WHO, strict=True):
        assert hands_us(bench, who) == hands_us(play.one, who)
    for bench in (*play.carts, play.one):
        bench.close()
    return handed


def test_random_plans_with_hand_overs_equal_one_cart(tmp_path: Path) -> None:
    assert sum(played(tmp_path, seed) for seed in range(8)) > 16


@pytest.mark.long
def test_many_random_plans_with_hand_overs_equal_one_cart(tmp_path: Path) -> None:
    assert sum(played(tmp_path, seed) for seed in range(8, 2_008)) > 4_000
