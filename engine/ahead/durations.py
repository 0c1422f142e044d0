"""How long each kind of work step takes, learned of all of them together, in closed form.

ln(taken / planned) of a measured piece = its step's own part + the pace of the job + chance. The
own parts hang together: a worker who is slow at one step is slow at others, and more so in one
stage. An earlier job comes as, for each step, how many pieces were measured and the mean of their
logarithms; its pace is integrated out, so it adds one matrix and one vector, and the order of jobs
does not matter. The job of today is the same with its pace kept.

Every spread below is our own judgement, no source; together the three of a step are 0.35. They
were chosen on simulated days (decisions 6 and 10).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import erf, exp, inf, log, sqrt
from typing import NamedTuple

from cartclock.engine.hours.usual import StepKey

# What another shape of body adds to the spread. Our own judgement, no source.
OTHER_BODY = 0.15

# Quantiles of the normal distribution: four times in five, and one in five.
Z80 = 0.8416212335729143

# Of a step that took less than an eighth of its plan, or over eight times, it is likelier that it
# was pressed off before or after the work than that it was measured. Our own judgement, no source;
# by the spreads below one such step in ten thousand would be a true one.
FAR_OFF = log(8.0)
# Beyond the longest that is believed of a piece in hand, a quarter of what it has taken is left.
# Our own judgement, no source.
FAR_BEYOND = 1e-3
BEYOND_SHARE = 0.25

Measured = Mapping[StepKey, tuple[int, float]]
"""Of each step: how many pieces were measured (> 0), and the mean of ln(taken / planned)."""

Matrix = list[list[float]]


class Spreads(NamedTuple):
    """Spreads of the logarithm: of what all steps, those of a stage and one step share, of the pace
    of a job, and of a single piece; and `middle`, what a step is believed to be before anything is
    measured.
    """

    worker: float = 0.17
    stage: float = 0.22
    step: float = 0.22
    pace: float = 0.18
    noise: float = 0.30
    # A plan's minutes are what a piece takes on average, with the few that take long: its middle
    # is below.
    middle: float = -(0.30**2) / 2


SPREADS = Spreads()


class Belief:
    """What is believed of the steps of one plan, for one worker, before a job begins.

    Args:
        keys: the steps, each once.
        spreads: how far the plan's minutes may be off.

    Fields:
        jobs: how many earlier jobs of the worker it has learned from.
        from_shop: whether it has learned from other carts of the shop.
    """

    def __init__(self, keys: Iterable[StepKey], spreads: Spreads = SPREADS) -> None:
        self.keys = tuple(keys)
        self.at = {key: i for i, key in enumerate(self.keys)}
        self.spreads = spreads
        covariance = [
            [
                spreads.worker**2
                + (spreads.stage**2 if one[0] == other[0] else 0.0)
                + (spreads.step**2 if i == j else 0.0)
                for j, other in enumerate(self.keys)
            ]
            for i, one in enumerate(self.keys)
        ]
        self.precision = inverse(covariance)
        middle = [spreads.middle] * len(self.keys)
        self.vector = [spreads.middle * sum(row) for row in self.precision]
        self.jobs = 0
        self.from_shop = False
        # Means and covariance of the steps, until another job is learned from.
        self._before: tuple[list[float], Matrix] | None = (middle, covariance)

    def add(self, measured: Measured, same_body: bool = True) -> None:
        """Learns from an earlier job; steps that the plan does not have are passed over, and those
        that are `FAR_OFF`.

        same_body: False if it was of another shape, which says less.
        """
        self._take(measured, same_body, 1)

    def add_of_shop(self, measured: Measured) -> None:
        """Learns what other carts of the shop measured, as one job of a body that is not said."""
        jobs = self.jobs
        self.add(measured, same_body=False)
        self.from_shop = self.from_shop or self.jobs > jobs
        self.jobs = jobs

    def remove(self, measured: Measured, same_body: bool = True) -> None:
        """Takes back what `add` with the same arguments brought."""
        self._take(measured, same_body, -1)

    def _take(self, measured: Measured, same_body: bool, sign: int) -> None:
        own = self.spreads
        extra = 0.0 if same_body else OTHER_BODY**2
        found = {
            self.at[key]: (1.0 / (own.noise**2 / many + extra), mean)
            for key, (many, mean) in measured.items()
            if key in self.at and abs(mean) <= FAR_OFF
        }
        if not found:
            return
        total = sum(weight for weight, _mean in found.values())
        moment = sum(weight * mean for weight, mean in found.values())
        # The pace of that job is not known: what it may have been is integrated out.
        shared = 1.0 / (1.0 / own.pace**2 + total)
        for i, (weight, mean) in found.items():
            row = self.precision[i]
            row[i] += sign * weight
            self.vector[i] += sign * (weight * mean - weight * moment * shared)
            for j, (other, _mean) in found.items():
                row[j] -= sign * weight * other * shared
        self.jobs += sign
        self._before = None

    def today(self, measured: Measured) -> Today:
        """What is believed in the midst of a job of which this was measured; what is `FAR_OFF` is
        passed over.
        """
        own, last = self.spreads, len(self.keys)
        if self._before is None:
            covariance = inverse(self.precision)
            vector = self.vector
            means = [sum(c * v for c, v in zip(row, vector, strict=True)) for row in covariance]
            self._before = means, covariance
        means = [*self._before[0], 0.0]
        covariance = [[*row, 0.0] for row in self._before[1]]
        covariance.append([0.0] * last + [own.pace**2])
        for key, (pieces, mean) in measured.items():
            i = self.at.get(key)
            if i is None or abs(mean) > FAR_OFF:
                continue
            # What is seen is the step's own part and the pace together.
            seen = [row[i] + row[last] for row in covariance]
            gain = 1.0 / (seen[i] + seen[last] + own.noise**2 / pieces)
            off = (mean - means[i] - means[last]) * gain
            for j, (row, shared) in enumerate(zip(covariance, seen, strict=True)):
                means[j] += shared * off
                part = shared * gain
                covariance[j] = [c - part * s for c, s in zip(row, seen, strict=True)]
        return Today(self.at, means, covariance, own.noise**2)


class Today(NamedTuple):
    """What is believed of the rest of a job.

    Fields:
        at: where a step stands in the rest.
        means: of each step's own part, and of the pace of the job behind them.
        covariance: of the same.
        noise2: variance of a single piece.
    """

    at: Mapping[StepKey, int]
    means: Sequence[float]
    covariance: Matrix
    noise2: float

    def centre(self, key: StepKey) -> tuple[float, float]:
        """Mean and variance of ln(taken / planned) of the next piece of a step; of one the belief
        does not hold, the plan's minutes on average and what chance alone gives."""
        i = self.at.get(key)
        if i is None:
            return -self.noise2 / 2, self.noise2
        row, last = self.covariance[i], len(self.means) - 1
        spread = row[i] + self.covariance[last][last] + 2 * row[last]
        return self.means[i] + self.means[last], spread + self.noise2

    def expected(self, key: StepKey) -> float:
        """Expected over planned length of the next piece of a step."""
        mean, variance = self.centre(key)
        return exp(mean + variance / 2)

    def left_in_hand(self, key: StepKey, planned: float, gone: float) -> tuple[float, float]:
        """Mean, and mean of the square, of what is left of a piece in hand that has taken `gone`.

        planned, gone: in one unit, planned > 0; the answers are in it and in its square.
        """
        mean, variance = self.centre(key)
        mean += log(planned)
        spread = sqrt(variance)
        if gone <= 0:
            return exp(mean + variance / 2), exp(2 * mean + 2 * variance)
        z = (mean - log(gone)) / spread
        longer = _below(z)
        if longer < FAR_BEYOND:
            return BEYOND_SHARE * gone, 2 * (BEYOND_SHARE * gone) ** 2
        first = exp(mean + variance / 2) * _below(z + spread) / longer
        second = exp(2 * mean + 2 * variance) * _below(z + 2 * spread) / longer
        rest = first - gone
        return rest, max(second - 2 * gone * first + gone * gone, rest * rest)


class Sum(NamedTuple):
    """The length of several pieces together, as if it were lognormal.

    Fields:
        mean: expected, in the unit of the pieces; 0 if nothing is left.
        sigma: spread of its logarithm.
    """

    mean: float
    sigma: float

    @property
    def mu(self) -> float:
        """Mean of its logarithm; minus infinity if nothing is left."""
        return log(self.mean) - self.sigma**2 / 2 if self.mean > 0 else -inf

    def quantile(self, z: float, extra: float = 0.0) -> float:
        """What it is longer than in a share of days given by z.

        z: 0 the median, `Z80` four times in five.
        extra: variance of the logarithm that comes from beside the work.
        """
        if self.mean <= 0:
            return 0.0
        variance = self.sigma**2 + extra
        return exp(log(self.mean) - variance / 2 + z * sqrt(variance))


def sum_of(
    today: Today,
    left: Iterable[tuple[StepKey, float, int]],
    in_hand: tuple[float, float] | None = None,
) -> Sum:
    """The sum of what is left, whose errors hang together.

    left: step, planned length of one piece, how many. in_hand: as `left_in_hand` tells it.

    Source: Fenton-Wilkinson, the two first moments of a sum of lognormals; from memory.
    """
    covariance, last = today.covariance, len(today.means) - 1
    pace2 = covariance[last][last]
    # By place in the belief: pieces of one step differ by chance alone.
    sums: dict[int, float] = {}
    squares: dict[int, float] = {}
    first = second = 0.0
    for key, planned, many in left:
        i = today.at.get(key)
        length = planned * today.expected(key)
        first += many * length
        if i is None:
            second += many * length**2 * (exp(today.noise2) - 1)
            # Nothing else is known to hang together with it.
            i = -1 - len(sums)
            sums[i] = many * length
            continue
        sums[i] = sums.get(i, 0.0) + many * length
        squares[i] = squares.get(i, 0.0) + many * length**2
    for i, own in sums.items():
        for j, other in sums.items():
            if i < 0 or j < 0:
                second += own * other
                continue
            shared = covariance[i][j] + covariance[i][last] + covariance[j][last] + pace2
            second += own * other * exp(shared)
    for i, square in squares.items():
        shared = covariance[i][i] + 2 * covariance[i][last] + pace2
        second += square * exp(shared) * (exp(today.noise2) - 1)
    if in_hand is not None:
        rest, rest2 = in_hand
        # Its own error is counted apart.
        second += 2 * first * rest + rest2
        first += rest
    if first <= 0:
        return Sum(0.0, 0.0)
    return Sum(first, sqrt(max(0.0, log(second / first**2))))


def inverse(matrix: Sequence[Sequence[float]]) -> Matrix:
    """The inverse of a symmetric positive definite matrix, by Cholesky.

    Raises ValueError if it is not positive definite.
    """
    many = len(matrix)
    lower: Matrix = []
    for i in range(many):
        row: list[float] = []
        for j in range(i + 1):
            other = lower[j] if j < i else row
            rest = matrix[i][j] - sum(a * b for a, b in zip(row, other, strict=False))
            row.append(sqrt(rest) if i == j else rest / other[j])
        lower.append(row)
    # The inverse of the lower half, by columns.
    columns: Matrix = []
    for j in range(many):
        column = [0.0] * j + [1.0 / lower[j][j]]
        for i in range(j + 1, many):
            row = lower[i]
            column.append(-sum(row[k] * column[k] for k in range(j, i)) / row[i])
        columns.append(column)
    found: Matrix = [[0.0] * many for _ in range(many)]
    for i in range(many):
        for j in range(i + 1):
            one, other = columns[i][i:], columns[j][i:]
            found[i][j] = found[j][i] = sum(a * b for a, b in zip(one, other, strict=True))
    return found


def _below(z: float) -> float:
    """The share of a normal distribution below z."""
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))
