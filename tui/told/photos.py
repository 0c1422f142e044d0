"""New photos in the folder of the settings: which they are, and the line that tells of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.store.laptop.photo_folder import PhotoFolder
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.picture import PhotoFile

_SECOND_US = 1_000_000


class NewPhotos:
    """The photos that were written since a job was opened and belong to none.

    Args:
        folder: in which they come to lie, or None without one.
        bench: the open log.
    """

    def __init__(self, folder: PhotoFolder | None, bench: Bench) -> None:
        self._folder, self._bench = folder, bench
        # Paths of those that somebody said are of no job.
        self._passed_over: frozenset[str] = frozenset()
        # What the answer rests on, and the answer.
        self._of: tuple[object, ...] = ()
        self._found: tuple[PhotoFile, ...] = ()

    def look(self) -> None:
        """Begins a look at the folder where there is one, a job is open and it is time for it."""
        if self._folder is not None and (opened := self._opened()):
            self._folder.look(min(opened) / _SECOND_US)

    def _opened(self) -> list[Instant]:
        """When the jobs that are open were opened."""
        return [job.opened_us for job in self._bench.jobs.values() if job.state == "open"]

    @property
    def found(self) -> tuple[PhotoFile, ...]:
        """Every one of them, the oldest first; () without an open job."""
        if self._folder is None or not self._folder.photos:
            return ()
        of = (self._folder.photos, self._bench.log.head.seq, self._passed_over)
        if of != self._of:
            known = self._attached() | self._passed_over
            self._of = of
            photos = self._folder.photos if self._opened() else ()
            self._found = tuple(one for one in photos if one.path not in known)
        return self._found

    def _attached(self) -> set[str]:
        """Where the files lie that belong to the jobs at hand."""
        return {
            self._bench.text(row.event.path)
            for job in self._bench.jobs.values()
            for row in job.facts
            if isinstance(row.event, ev.FileAttached)
        }

    def pass_over(self, photos: Iterable[PhotoFile]) -> None:
        """They are of no job; they are told of no more while the program runs."""
        self._passed_over |= {photo.path for photo in photos}

    @property
    def notices(self) -> tuple[str, ...]:
        """What is said of them while no film is in play; () if there are none."""
        return (f"{count_text(self.found)}: before, panel? V, N says it.",) if self.found else ()


def count_text(photos: Sequence[PhotoFile]) -> str:
    """How many: "3 new photos"."""
    return "1 new photo" if len(photos) == 1 else f"{len(photos)} new photos"
