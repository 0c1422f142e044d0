"""The watched flashes of a log, read when they are first asked for and kept until told otherwise.

A worker learns from every job of the cart, also those closed long ago; the folds in memory
hold only what is open. So the jobs with a watched film are read once, with the shifts they
were worked in, and again only after a press that could have changed them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from engine.figures.flash import OwnFlash
from engine.job import events as ev
from engine.job.flashing import Own, Watched, learned, watched
from engine.job.refold import folded
from engine.job.rows import told
from engine.store.log import Log

# Older jobs are not read for it. Our own judgement.
MOST_JOBS = 40


class WatchedFilms:
    """What the workers of one log have watched.

    Args:
        log: read through, never written.
    """

    def __init__(self, log: Log) -> None:
        self._log = log
        self._jobs: dict[str, tuple[Watched, ...]] = {}
        self._ids: tuple[str, ...] | None = None
        self._learned: dict[str, Own] = {}

    def of(self, worker: str) -> Own:
        """The worker's sections that are learned from, by product. Nothing is read before a
        product is asked for; raises StoreFault then if the log cannot be read."""
        return _OfWorker(self, worker)

    def forget(self, jobs: Iterable[str] | None = None) -> None:
        """These jobs were written to, or all of them may have been: to be read anew."""
        self._ids = None
        self._learned.clear()
        if jobs is None:
            self._jobs.clear()
            return
        for job in jobs:
            self._jobs.pop(job, None)

    def learned(self, worker: str) -> Own:
        """As `of`, read now."""
        known = self._learned.get(worker)
        if known is None:
            self._read()
            mine = [one for job in self._jobs.values() for one in job if one.worker == worker]
            known = self._learned[worker] = learned(mine)
        return known

    def _read(self) -> None:
        if self._ids is None:
            self._ids = self._log.jobs_with(ev.WindowSeen)[:MOST_JOBS]
        missing = [job for job in self._ids if job not in self._jobs]
        if not missing:
            return
        own = self._log.rows_of(missing, ())
        shift_ids = {row.shift for row in own if row.shift and row.job in missing}
        found = folded(told(self._log.rows_of(missing, shift_ids)), missing, shift_ids)
        for job_id, job in found.jobs.items():
            self._jobs[job_id] = tuple(watched(job, found.shifts.values()))


class _OfWorker(Mapping[str, tuple[OwnFlash, ...]]):
    def __init__(self, films: WatchedFilms, worker: str) -> None:
        self._films, self._worker = films, worker

    def __getitem__(self, product: str) -> tuple[OwnFlash, ...]:
        return self._films.learned(self._worker)[product]

    def __iter__(self) -> Iterator[str]:
        return iter(self._films.learned(self._worker))

    def __len__(self) -> int:
        return len(self._films.learned(self._worker))
