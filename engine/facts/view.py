"""What is known of a log as a whole, said of one job, one shift or one product at a time.

A view is a function of a fold: what a job (with the shifts it was worked in) or a shift (with
the jobs worked in it) adds to what is known. It never sees a correction, a late entry or an
order of rows: those make the fold of that job or shift another, and its part is made anew.
Sums over jobs are sums of parts, so nothing is ever taken away from a sum. Packs stand on the
cart and are no matter of a job or a shift: what is said of them is said of one product, by all
the rows that open or weigh its packs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, ClassVar, Generic, Literal, TypeVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import TURNING, Shift

Of = Literal["job", "shift", "product"]
T = TypeVar("T")
# A table's name and the values of one line of it, the id first.
TableLine = tuple[str, tuple[Any, ...]]


def _forgotten(ref: str) -> str | None:
    return None


class Subject(Struct, frozen=True):
    """What a part is made of: one job or shift, and what it was done in or with; or a product.

    Fields:
        id: of the job, the shift or the product.
        jobs: the job; of a shift: every job worked in it.
        shifts: the shift; of a job: every shift it was worked in. Each with what others measured
            at its place (`engine.facts.in_force`).
        packs: of a product: the rows of its packs with their corrections, as written.
        text: a sealed text by its reference; None if it was forgotten. What a fold holds of words
            may be older than the forgetting.
        origin: of the log that an imported job came from; "" of this log's own.
    """

    id: str
    jobs: Mapping[str, Job] = {}
    shifts: Mapping[str, Shift] = {}
    packs: Sequence[Row] = ()
    text: Callable[[str], str | None] = _forgotten
    origin: str = ""

    @property
    def job(self) -> Job:
        """The job, of a view of jobs."""
        return self.jobs[self.id]

    @property
    def shift(self) -> Shift:
        """The shift, of a view of shifts."""
        return self.shifts[self.id]


class View(Generic[T]):
    """One thing known of the log.

    Fields:
        name: literal, for ever; what it is kept under.
        version: of `part`, `lines` and `tables`; what was kept under another is made anew.
        of: what a part is said of.
        imported: whether it also tells of jobs that were imported; what counts hours, stock or
            learns tells of the log's own alone.
        kinds: tags of events; plain rows of other kinds (`goes_on`) leave a part as it is.
        tables: statements that make its tables and indexes, each table's name -> its own. The
            first column of each table is `id`.
    """

    name: str
    version: int
    of: Of
    imported: ClassVar[bool] = False
    kinds: frozenset[str]
    tables: ClassVar[Mapping[str, tuple[str, ...]]]

    def part(self, seen: Subject) -> T:
        """What this job or shift adds. Pure and total: the same for the same folds."""
        raise NotImplementedError

    def lines(self, id_: str, part: T) -> Iterable[TableLine]:
        """The part as lines of the tables."""
        raise NotImplementedError

    def take(self, part: T, rows: Sequence[Row], seen: Subject) -> T | None:
        """The part after plain rows of its kinds that go on at its end; None: make it anew.

        Only for speed: it must give what `part` gives of the same subject.
        """
        return None


# These say what a stretch of time was, so every job of their shift may be told otherwise.
_BACKWARD = (ev.BreakJudged, ev.GapJudged, ev.ClockJudged, ev.GapFound, ev.TimeCorrected)


def goes_on(row: Row) -> bool:
    """True of a row that says only what is so from its time on; False: it may change what was."""
    return (
        row.corrects is None
        and row.at_us == row.entered_us
        and not isinstance(row.event, _BACKWARD)
    )


def reaches_round(row: Row) -> bool:
    """True of a row that may change what any job of its shift was: it looks back, or it turns
    what is done without naming a job."""
    return not goes_on(row) or (not row.job and row.kind in TURNING)
