"""A folder in which photos come to lie by themselves: a camera card, what a telephone sends.

It is looked at in a thread of its own, because a folder may lie on a card that is taken out or on a
network that answers in minutes or never. Nothing in it is opened, moved or copied.
"""

from __future__ import annotations

import os
import stat
import threading
import time
from collections.abc import Callable
from pathlib import Path

from cartclock.engine.vehicle.picture import PHOTOS, PhotoFile

# Cameras keep their folders in one for all of them (DCF, JEITA CP-3461: DCIM/100ABCDE; from
# memory), and telephones one for each month. Our own judgement.
_DEEP = 3
# Names looked at in one look, and photos told of. Our own judgement.
NAMES_A_LOOK, MOST_PHOTOS = 20_000, 200
LARGEST_BYTES = 100_000_000
# A file that was written to within so many seconds may not be whole yet. Our own judgement.
SETTLED_S = 3.0
# One look is over after so long, with what was found by then. Our own judgement.
_LOOK_S = 5.0
# So often it is looked whether anything came, and so many times as long as a look took it is let
# be: a full card must not keep the processor busy. Our own judgement.
AGAIN_S, AGAIN_TIMES = 10.0, 100.0


def photos_in(folder: str, since_s: float, now_s: float) -> tuple[PhotoFile, ...]:
    """The photos written since then, the oldest first; () if the folder is not there.

    Args:
        folder: a path, "~" for the home folder. Links in it are not followed.
        since_s: in seconds since 1970; now_s: the present, likewise. What was written to
            within `SETTLED_S` of it is left for the next look.
    """
    found: list[PhotoFile] = []
    ends_s, names = time.monotonic() + _LOOK_S, 0
    try:
        waiting = [(str(Path(folder).expanduser()), 0)]
    except RuntimeError:
        # There is no such home folder.
        return ()
    while waiting:
        place, deep = waiting.pop()
        try:
            with os.scandir(place) as entries:
                for entry in entries:
                    names += 1
                    if names > NAMES_A_LOOK or time.monotonic() > ends_s:
                        waiting.clear()
                        break
                    if entry.is_dir(follow_symlinks=False):
                        if deep + 1 < _DEEP and not entry.name.startswith("."):
                            waiting.append((entry.path, deep + 1))
                    elif (one := _photo(entry, since_s, now_s)) is not None:
                        found.append(one)
        except (OSError, ValueError):
            # It was taken out, or must not be read: what lies elsewhere is told of all the same.
            continue
    found.sort(key=lambda one: (one.at_s, one.path))
    return tuple(found[-MOST_PHOTOS:])


def _photo(entry: os.DirEntry[str], since_s: float, now_s: float) -> PhotoFile | None:
    """What an entry is a photo of; None for what is none, too old, too large or being written."""
    hidden = entry.name.startswith(".")
    if hidden or Path(entry.name).suffix.lower() not in PHOTOS:
        return None
    try:
        # Bytes that steer a terminal or are no text stand in no name that a camera gives.
        entry.path.encode("utf-8")
        known = entry.stat(follow_symlinks=False)
    except (OSError, UnicodeError):
        return None
    if not stat.S_ISREG(known.st_mode) or not 0 < known.st_size <= LARGEST_BYTES:
        return None
    if known.st_mtime < since_s or 0 <= now_s - known.st_mtime < SETTLED_S:
        return None
    return PhotoFile(str(Path(entry.path).absolute()), entry.name, known.st_mtime)


class PhotoFolder:
    """Looks at a folder now and then, and keeps what it found.

    Args:
        folder: a path.
        seconds: a clock that never runs back; wall: seconds since 1970.

    Fields:
        photos: what the newest look found.
    """

    def __init__(
        self,
        folder: str,
        seconds: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
    ) -> None:
        self.photos: tuple[PhotoFile, ...] = ()
        self._folder, self._seconds, self._wall = folder, seconds, wall
        self._looked_s: float | None = None
        self._since_s: float | None = None
        self._took_s = 0.0
        self._at: threading.Thread | None = None

    def look(self, since_s: float) -> None:
        """Begins a look where it is time for one and the one before is over.

        since_s: what was written before is not new, in seconds since 1970.
        """
        if self._at is not None and self._at.is_alive():
            return
        now_s = self._seconds()
        again = self._looked_s is None or now_s - self._looked_s >= max(
            AGAIN_S, AGAIN_TIMES * self._took_s
        )
        if not again and since_s == self._since_s:
            return
        self._looked_s, self._since_s = now_s, since_s
        # One that nobody waits for: a network that never answers must not hold the program.
        self._at = threading.Thread(target=self._look, args=(since_s,), daemon=True)
        self._at.start()

    def _look(self, since_s: float) -> None:
        begun = self._seconds()
        self.photos = photos_in(self._folder, since_s, self._wall())
        self._took_s = self._seconds() - begun

    def wait(self, seconds: float) -> bool:
        """Waits for the look that goes on; False if it is not over by then."""
        if self._at is not None:
            self._at.join(seconds)
            return not self._at.is_alive()
        return True
