"""What is learned of how long work takes, against check values and against its own laws."""

from __future__ import annotations

import csv
import random
from math import exp, log
from pathlib import Path

import pytest

from cartclock.engine.ahead.durations import (
    FAR_OFF,
    Z80,
    Belief,
    Spreads,
    Sum,
    Today,
    inverse,
    sum_of,
)

VECTORS = Path(__file__).parent / "vectors"
POLISH, WIPE = ("coat", "polish", 0), ("wipe down", "wipe", 0)
KEYS = [(f"stage {i // 3}", f"verb {i}", 0) for i in range(9)]


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a table of check values; its first line names the source."""
    lines = (VECTORS / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source: ")
    return list(csv.DictReader(lines[1:]))


@pytest.mark.parametrize("row", rows("lognormal_sums.csv"), ids=lambda row: row["fw_mu"])
def test_a_sum_has_the_two_moments_of_its_parts(row: dict[str, str]) -> None:
    means, spreads = ([float(x) for x in row[name].split(";")] for name in ("mus(ln)", "sds"))
    shared = float(row["rho_log(common corr, off-diagonal)"])
    covariance = [
        [a * b * (1.0 if i == j else shared) for j, b in enumerate(spreads)]
        for i, a in enumerate(spreads)
    ]
    # A belief in which chance has no part, and no pace.
    keys = [("", "", i) for i in range(len(means))]
    believed = [[*row, 0.0] for row in covariance]
    believed.append([0.0] * (len(means) + 1))
    today = Today({key: i for i, key in enumerate(keys)}, [*means, 0.0], believed, 0.0)
    found = sum_of(today, [(key, 1.0, 1) for key in keys])
    assert found.mu == pytest.approx(float(row["fw_mu"]), abs=1e-6)
    assert found.sigma == pytest.approx(float(row["fw_sigma"]), abs=1e-6)
    assert found.quantile(0) == pytest.approx(float(row["P50"]), abs=6e-4)
    assert found.quantile(Z80) == pytest.approx(float(row["P80"]), abs=6e-4)
    # Drawn at random the sum is no lognormal, and still close to it.
    assert found.quantile(Z80) == pytest.approx(float(row["mc_P80"]), rel=0.003)


def test_the_pace_of_today_is_told_from_what_the_worker_is_like() -> None:
    wanted = {row["quantity"]: row["value"] for row in rows("pace_update.csv")}
    belief = Belief([POLISH, WIPE], Spreads(0.0, 0.0, 0.4, pace=0.2, middle=0.0))
    measured = {POLISH: (2, (log(30 / 22) + log(27 / 22)) / 2), WIPE: (1, log(7 / 6))}
    today = belief.today(measured)
    names = ("polish", "wipe", "None")
    planned = (log(22), log(6), 0.0)
    for i, name in enumerate(names):
        mean = today.means[i] + planned[i]
        assert mean == pytest.approx(float(wanted[f"mean[{name}]"]), abs=1e-6)
        for j, other in enumerate(names):
            said = float(wanted[f"cov[{name},{other}]"])
            assert today.covariance[i][j] == pytest.approx(said, abs=1e-6)
    left = sum_of(today, [(POLISH, 22, 2), (WIPE, 6, 1)])
    assert left.mu == pytest.approx(float(wanted["mu_sum"]), abs=1e-6)
    assert left.sigma == pytest.approx(float(wanted["sigma_sum"]), abs=1e-6)
    assert left.quantile(0) == pytest.approx(float(wanted["P50_min"]), abs=1e-6)
    assert left.quantile(Z80) == pytest.approx(float(wanted["P80_min"]), abs=1e-6)


def _measured(rng: random.Random) -> dict[tuple[str, str, int], tuple[int, float]]:
    return {key: (rng.randint(1, 20), rng.gauss(0, 0.4)) for key in rng.sample(KEYS, 5)}


def test_a_job_added_and_taken_back_leaves_the_belief_as_it_was() -> None:
    rng = random.Random(14)
    jobs = [(_measured(rng), rng.random() < 0.5) for _ in range(5)]
    plain, other = Belief(KEYS), Belief(KEYS)
    for measured, same in jobs:
        plain.add(measured, same)
    for measured, same in [jobs[3], *jobs[::-1]]:
        other.add(measured, same)
    other.remove(*jobs[3])
    assert (other.jobs, plain.jobs) == (5, 5)
    one, two = plain.today(jobs[0][0]), other.today(jobs[0][0])
    assert two.means == pytest.approx(one.means)
    for row, again in zip(one.covariance, two.covariance, strict=True):
        assert again == pytest.approx(row)


def test_what_was_measured_moves_its_own_step_most_and_its_stage_more_than_others() -> None:
    belief = Belief(KEYS)
    before = belief.today({})
    assert before.expected(KEYS[0]) == pytest.approx(
        # Chance alone leaves a piece at the plan's minutes on average.
        exp((0.17**2 + 0.22**2 + 0.22**2 + 0.18**2) / 2)
    )
    for _ in range(5):
        belief.add({KEYS[0]: (6, log(1.5))})
    found = [belief.today({}).means[i] for i in (0, 1, 8)]
    assert 0 < found[2] < found[1] < found[0] < log(1.5)
    # Another shape says less of the same.
    other = Belief(KEYS)
    for _ in range(5):
        other.add({KEYS[0]: (6, log(1.5))}, same_body=False)
    assert 0 < other.today({}).means[0] < found[0]


def test_what_is_in_hand_has_something_left_however_long_it_takes() -> None:
    today = Belief(KEYS).today({})
    whole, square = today.left_in_hand(KEYS[0], 10.0, 0.0)
    assert whole == pytest.approx(10 * today.expected(KEYS[0]))
    assert square > whole**2
    # Who is beyond the plan has less left than the plan gave, and more the longer it takes.
    rests = [today.left_in_hand(KEYS[0], 10.0, gone)[0] for gone in (1, 5, 10, 30, 90, 500)]
    assert rests[0] > rests[1] > rests[2] > 0
    assert rests[2] < rests[3] < rests[4] < rests[5]


def test_errors_that_hang_together_do_not_cancel_out() -> None:
    today = Belief(KEYS).today({})
    one = sum_of(today, [(KEYS[0], 10.0, 1)])
    many = sum_of(today, [(key, 10.0, 20) for key in KEYS])
    assert many.mean == pytest.approx(one.mean * 180)
    assert one.sigma > many.sigma > 0.25
    # A step the belief does not hold takes what the plan says, give or take chance.
    new = sum_of(today, [(("new", "new", 0), 10.0, 1)])
    assert new.mean == pytest.approx(10.0)
    assert sum_of(today, []) == Sum(0.0, 0.0)
    assert sum_of(today, []).quantile(Z80) == 0.0


def test_an_inverse_times_its_matrix_is_one() -> None:
    matrix = [[4.0, 2.0, 0.6], [2.0, 5.0, 1.0], [0.6, 1.0, 3.0]]
    back = inverse(matrix)
    for i in range(3):
        for j in range(3):
            told = sum(matrix[i][k] * back[k][j] for k in range(3))
            assert told == pytest.approx(float(i == j), abs=1e-12)
    with pytest.raises(ValueError, match="math domain"):
        inverse([[1.0, 2.0], [2.0, 1.0]])


@pytest.mark.parametrize("seconds", [5, 30, 5 * 3600])
def test_what_was_pressed_off_teaches_nothing(seconds: float) -> None:
    far = {KEYS[0]: (1, log(seconds / 1800))}
    assert abs(far[KEYS[0]][1]) > FAR_OFF
    belief, untaught = Belief(KEYS), Belief(KEYS).today({})
    assert belief.today(far) == untaught
    belief.add(far)
    assert (belief.jobs, belief.today({})) == (0, untaught)
    near = {KEYS[0]: (1, log(600 / 1800))}
    assert belief.today(near).expected(KEYS[1]) < untaught.expected(KEYS[1])
