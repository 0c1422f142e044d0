"""The pieces of several jobs in one order: as far as they are asked for, against all at once."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from functools import lru_cache

import pytest
from msgspec.structs import replace

from cartclock.engine.ahead.line_up import LEFT_FOR_US, LineUp
from cartclock.engine.ahead.play import play
from cartclock.engine.ahead.played import Played
from cartclock.engine.facts.job import Job
from cartclock.engine.plan.plan import Gap, Plan, Stage, Work
from cartclock.engine.store.plan_file.reader import read_plan, starter, with_body
from tests.ahead.test_play import STARTERS, Real

# An invented coat of two layers: its gap is longer than anybody stands by for.
LAYERS = Plan(
    "invented layers",
    (
        Stage(
            "Coat",
            ("roof", "bonnet"),
            (Work("apply", 20.0),),
            layers=2,
            gap=Gap(2 * 3600, 2 * 3600, 864_000),
        ),
    ),
)


def all_at_once(plays: Sequence[Sequence[Played]], now_us: int) -> list[Played]:
    """The same by a second way: every job is played to its end first, and each time all of them
    are looked at."""
    lined: list[Played] = []
    ends_us: list[int] = []
    taken = [0] * len(plays)
    places: list[list[int]] = [[] for _ in plays]
    wet: list[set[int]] = [set() for _ in plays]
    at_us = now_us

    def ready_us(which: int) -> int:
        piece = plays[which][taken[which]]
        wait_us = piece.wait_us - piece.cut_us
        waits = [at_us, *(ends_us[places[which][i]] + wait_us for i in piece.after)]
        return max(waits if piece.not_before_us is None else [*waits, piece.not_before_us])

    while left := [i for i, pieces in enumerate(plays) if taken[i] < len(pieces)]:
        in_play = [i for i in left if wet[i]]
        near = [i for i in left if not plays[i][taken[i]].gap or ready_us(i) - at_us < LEFT_FOR_US]
        which = next(iter([*in_play, *near]), None)
        if which is None:
            which = min(left, key=ready_us)
        piece = plays[which][taken[which]]
        start_us = ready_us(which)
        lined.append(replace(piece, after=tuple(places[which][i] for i in piece.after)))
        wet[which].difference_update(piece.after)
        if piece.lays:
            wet[which].add(taken[which])
        places[which].append(len(lined) - 1)
        at_us = start_us + piece.end_us - piece.start_us
        ends_us.append(at_us)
        taken[which] += 1
    return lined


@lru_cache
def plan(name: str) -> Plan:
    return LAYERS if name == LAYERS.name else read_plan(with_body(starter(name), "hatchback"), name)


def begun(name: str, rng: random.Random) -> Real:
    """A job worked to somewhere, with picks of the worker's own among the moves."""
    real = Real(plan(name))
    for _ in range(rng.choice((0, 1, rng.randrange(10), rng.randrange(90)))):
        found = real.moves()
        if not found:
            break
        real.go_on(rng.choice(found) if rng.random() < 0.15 else found[0], rng.choice((0.5, 1.3)))
    return real


def some_jobs(seed: int) -> tuple[list[Job], int]:
    """Two jobs or three, and the instant at which the last of them was touched."""
    rng = random.Random(seed)
    names = [rng.choice((*STARTERS, LAYERS.name)) for _ in range(rng.choice((2, 2, 3)))]
    reals = [begun(name, rng) for name in names]
    jobs = [replace(one.job, id=f"job-{at}") for at, one in enumerate(reals)]
    return jobs, max(one.now_us for one in reals)


def lined_up_alike(seed: int) -> bool:
    """Raises AssertionError if a part of it is another; True if jobs were mixed in it."""
    jobs, now_us = some_jobs(seed)
    plays = [play(one, now_us) for one in jobs]
    wanted = all_at_once(plays, now_us)
    # The parts that are asked for first, of any job, change nothing of those behind them.
    for asked in (range(len(plays)), reversed(range(len(plays)))):
        line = LineUp(plays, now_us)
        for which in asked:
            own = [at for at, piece in enumerate(wanted) if piece.job == jobs[which].id]
            assert list(line.up_to(which)) == wanted[: own[-1] + 1 if own else 0]
        assert list(line.whole()) == wanted
    order = [piece.job for piece in wanted]
    return order != sorted(order)


def test_what_is_lined_up_as_it_is_asked_for_is_what_is_lined_up_at_once() -> None:
    assert {lined_up_alike(seed) for seed in range(12)} == {True, False}


@pytest.mark.long
def test_the_same_of_many_jobs_in_the_middle_of_their_work() -> None:
    assert {lined_up_alike(seed) for seed in range(1000, 1400)} == {True, False}


def test_a_job_behind_is_played_only_while_the_one_in_front_waits_for_long() -> None:
    def counted(pieces: Sequence[Played]) -> Iterator[Played]:
        nonlocal asked
        for piece in pieces:
            asked += 1
            yield piece

    behind = Real(plan("maintenance_wash"))
    second = play(replace(behind.job, id="job-2"), behind.now_us)
    asked = 0
    front = play(Real(plan("one_step_correction_and_coat")).job, behind.now_us)
    assert list(LineUp([front, counted(second)], behind.now_us).up_to(0)) == list(front)
    assert asked == 0
    layers = play(Real(plan(LAYERS.name)).job, behind.now_us)
    line = LineUp([layers, counted(second)], behind.now_us)
    told = [piece.job for piece in line.up_to(0)]
    assert asked == len(second)
    assert told == ["job-1"] * 2 + ["job-2"] * len(second) + ["job-1"] * 2
