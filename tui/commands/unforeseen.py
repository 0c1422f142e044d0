"""What nobody foresaw: what is damaged in the log was taken for good, or this program is wrong."""

from __future__ import annotations

import os
from pathlib import Path

from cartclock.engine.trouble import Refused, StoreFault


def told(fault: BaseException, log: Path | None = None, then: str = "") -> tuple[bool, str]:
    """Whether it was a bug that was raised, and a sentence.

    Where the log is damaged that is what is told; a bug is written down beside it.

    Args:
        log: where it lies; None: where one is looked for, which need not be there.
        then: what is said behind a bug, without its full stop.
    """
    if log is None:
        from cartclock.engine.store.laptop.places import log_path

        try:
            log = log_path()
        except Refused:
            return True, "That was a bug of cartclock."
    try:
        damage = _damage(log) if log.exists() else ""
    except StoreFault as why:
        return False, str(why)
    if damage:
        return False, (
            f"The log {log} is damaged ({damage}); cartclock check-log says what else is, and "
            "cartclock check-log --repair saves what can be read."
        )
    from cartclock.engine.store.laptop.places import fault_file

    file = fault_file(log)
    where = f", what went wrong in {file}" if _written(file, fault) else ""
    there = f". Every press it answered is in {log}" if log.exists() else ""
    return True, f"That was a bug of cartclock{there}{where}{then}."


def _damage(log: Path) -> str:
    """The first thing that is wrong with it; "" if it is whole."""
    from cartclock.engine.store.views import VIEWS
    from cartclock.engine.store.whole.audit import audit
    from cartclock.tui.commands.progress import progress

    with progress() as heard:
        found = audit(log, VIEWS, told=heard)
    return next(iter((*found.faults, *found.derived)), "")


def _written(path: Path, fault: BaseException) -> bool:
    """Writes what went wrong where, for its owner's eyes and without a word that was typed; False
    if the disk does not take it.
    """
    import traceback

    lines: list[str] = []
    one: BaseException | None = fault
    while one is not None:
        lines += [f"{type(one).__name__}\n", *traceback.format_tb(one.__traceback__)]
        one = one.__cause__ or one.__context__
    try:
        path.unlink(missing_ok=True)
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.writelines(lines)
    except OSError:
        return False
    return True
