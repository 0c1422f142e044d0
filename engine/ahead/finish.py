"""When a job will be done, what lies in it, and what would help, as it is told."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.times import Instant, Length

PartOf = Literal[
    "waits", "gaps", "cure", "nights", "rests by the heat", "meals", "other jobs", "other work"
]


class StageAhead(Struct, frozen=True):
    """A stage that is not over.

    Fields:
        stage: its name.
        hands_us: hands on it as expected.
        done_us: when it is expected to be done; `by_us`: in four days of five.
    """

    stage: str
    hands_us: Length
    done_us: Instant
    by_us: Instant


class Part(Struct, frozen=True):
    """What of the time until a job is ready is not hands on it."""

    what: PartOf
    length_us: Length


class Finish(Struct, frozen=True):
    """When a job is done.

    Fields:
        job: its id.
        now_us: as of when.
        done_us: when its work is expected to be done; now if nothing is left.
        by_us, hardly_us: the same in four days of five, and in one of five.
        ready_us, ready_by_us: when it may be handed over, which a cure may make later.
        hands_us: hands on it as expected.
        stages: in order, those that are not over.
        parts: what of the time until it is ready is not hands on it, the longest first.
        mornings: when each day after a night begins, the first one first.
        learned: from how many earlier jobs; 0: from the plan only.
        whole: False if a step that is left has no minutes in the plan.
        from_shop: whether other carts of the shop taught of it.
    """

    job: str
    now_us: Instant
    done_us: Instant
    by_us: Instant
    hardly_us: Instant
    ready_us: Instant
    ready_by_us: Instant
    hands_us: Length
    stages: tuple[StageAhead, ...]
    parts: tuple[Part, ...]
    mornings: tuple[Instant, ...]
    learned: int
    whole: bool
    from_shop: bool = False

    @property
    def cures(self) -> bool:
        """True if all the work is done and only a cure is left."""
        return not self.stages


class PromiseKept(Struct, frozen=True):
    """How a promise of a job stands of which something is left.

    Fields:
        share: in which share of such days the job is ready by then, 0 to 1; 0 of one that is past.
        past: True if the promised time is there.
    """

    share: float
    past: bool = False


class Help(Struct, frozen=True):
    """What would help: what is done otherwise, and when the job is ready then, four in five.

    rest_c: temperature of the air to rest in, where that is what helps.
    """

    what: str
    ready_by_us: Instant
    rest_c: float | None = None
