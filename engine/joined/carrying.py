"""The process that sends a log to the shop while the program runs, and gets what comes back.

It minds a second process for each attempt, which alone imports what speaks to the shop, and kills
it where nothing is heard of it: a line can be dead and the system still hold it for alive. Both end
with who started them, however that ends: each waits for the end of its input, which the system
brings about.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

from cartclock.engine.joined.carried import Carried, carried, note_carried
from cartclock.engine.joined.membership import membership_file
from cartclock.engine.store.whereabouts import heads_seen
from cartclock.engine.times import Instant

ATTEMPT_EVERY_S = 60.0
"""Between two attempts, where there is something new. Our own judgement."""

SILENT_S = 60.0
"""An attempt of which nothing was heard for so long is given up; a statement at the server has as
long."""

_PULL_S = 300.0
"""What other carts say is asked for so often."""

_MOST_S = 900.0
_NICE = 15
_LOOK_S = 0.25
_DONE, _REFUSED = 0, 3
_MODULE = "cartclock.engine.joined.carrying"


class Carrier:
    """The process as its parent has it, started at once.

    Args:
        log: the log to send; its shop is the one that stands beside it.
        every_s: between two attempts.
        silent_s: after so long without a word an attempt is given up.
    """

    def __init__(
        self, log: Path, every_s: float = ATTEMPT_EVERY_S, silent_s: float = SILENT_S
    ) -> None:
        self.log = log
        self._process = _started(log, f"{every_s}", f"{silent_s}")

    @property
    def pid(self) -> int:
        """Its number."""
        return self._process.pid

    @property
    def runs(self) -> bool:
        """Whether it still does."""
        return self._process.poll() is None

    def close(self) -> None:
        """Ends it, and what it has begun: the rows wait on this cart."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.close()
        self._process.stdout.close()
        try:
            self._process.wait(1.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


def _started(log: Path, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        # Nothing is imported from the folder it happens to be called in.
        [sys.executable, "-P", "-m", _MODULE, str(log), *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        # A key that ends the program, or a terminal that goes away, speaks to the program alone.
        start_new_session=True,
    )


def _ends_with_parent() -> threading.Event:
    """Set once the input has ended: who started this process is gone, or wants it gone."""
    ended = threading.Event()

    def wait() -> None:
        with suppress(OSError):
            while os.read(0, 1):
                pass
        ended.set()

    threading.Thread(target=wait, daemon=True).start()
    return ended


def _mind(log: Path, every_s: float, silent_s: float) -> None:
    """Attempt after attempt, further apart the more of them fail, until the parent is gone."""
    if hasattr(os, "nice"):
        os.nice(_NICE)
    ended = _ends_with_parent()
    failures, pulled_s = 0, -_PULL_S
    while not ended.is_set():
        now_s = time.monotonic()
        said = carried(log)
        newest = heads_seen(log)[:1]
        new = said is None or said.failed or not newest or newest[0].seq > said.seq
        if (new or now_s - pulled_s >= _PULL_S) and log.exists() and membership_file(log).exists():
            if _attempted(log, silent_s, ended):
                failures, pulled_s = 0, now_s
            else:
                failures += 1
        ended.wait(min(every_s * 2**failures, max(every_s, _MOST_S)))


def _attempted(log: Path, silent_s: float, ended: threading.Event) -> bool:
    """One attempt in a process of its own; whether all was sent."""
    child = _started(log)
    heard_s = time.monotonic()

    def hear() -> None:
        nonlocal heard_s
        assert child.stdout is not None
        for _line in child.stdout:
            heard_s = time.monotonic()

    hearing = threading.Thread(target=hear, daemon=True)
    hearing.start()
    code = None
    while code is None:
        try:
            code = child.wait(_LOOK_S)
        except subprocess.TimeoutExpired:
            if ended.is_set() or time.monotonic() - heard_s > silent_s:
                child.kill()
    hearing.join()
    assert child.stdin is not None and child.stdout is not None
    child.stdin.close()
    child.stdout.close()
    if code not in (_DONE, _REFUSED) and not ended.is_set():
        _note_failed(log, parted=False)
    return code == _DONE


def _note_failed(log: Path, parted: bool) -> None:
    before = carried(log) or Carried()
    said = Carried(
        before.seq, before.sent_us, Instant(time.time_ns() // 1000), failed=True, parted=parted,
        open_jobs=before.open_jobs, taken=before.taken, given=before.given,
    )  # fmt: skip
    with suppress(OSError):
        note_carried(log, said)


def _attempt(log: Path) -> int:
    """Sends what is new and notes what came of it; the exit code of its process."""
    from importlib.metadata import version

    from cartclock.engine.joined.faults import Parted
    from cartclock.engine.joined.link import linked
    from cartclock.engine.joined.membership import membership
    from cartclock.engine.joined.visiting import visit_shop
    from cartclock.engine.store.log import Log
    from cartclock.engine.trouble import Trouble

    ended = _ends_with_parent()

    def end() -> None:
        ended.wait()
        # Whatever it is waiting for: what was acknowledged is at the shop, the rest is here.
        os._exit(_REFUSED)

    threading.Thread(target=end, daemon=True).start()

    def told(_left: int) -> None:
        sys.stdout.write(".\n")
        sys.stdout.flush()

    try:
        joined = membership(log)
        with Log.open_to_read(log) as opened, linked(joined, log) as line:
            # Read by the screens, which let go of a job that was taken: the log has one writer.
            visit_shop(opened, line, version("cartclock"), told, joined.private)
    except Trouble as why:
        _note_failed(log, isinstance(why, Parted))
        return _REFUSED
    return _DONE


def _main() -> None:
    log = Path(sys.argv[1])
    if len(sys.argv) > 2:
        _mind(log, *map(float, sys.argv[2:4]))
    else:
        sys.exit(_attempt(log))


if __name__ == "__main__":
    _main()
