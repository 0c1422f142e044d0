"""Where this program keeps its files, and in which time zone the machine stands.

The only part of the program that reads the environment. What answers for the system is imported
only where no folder is named. `CARTCLOCK_HOME` names one folder
for everything; without it each file goes where the operating system wants its kind.
"""

from __future__ import annotations

import os
import re
import warnings
from pathlib import Path
from zoneinfo import ZoneInfo

from cartclock.engine.trouble import Refused

HOME = "CARTCLOCK_HOME"
# Of a log that goes on in place of one: from which row on, and how the digest of that one begins.
_GOES_ON = re.compile(r"(?P<stem>.+)-goes-on-(?P<row>\d+)-[0-9a-f]{8}\.db")

_PROGRAM = "cartclock"


def _home() -> Path | None:
    named = os.environ.get(HOME, "")
    try:
        return Path(named).expanduser().absolute() if named else None
    except RuntimeError:
        raise Refused(f"{HOME} names a home folder that is not there: {named}.") from None


def log_place() -> Path:
    """Where the log belongs; it and its folder need not be there yet."""
    home = _home()
    if home is None:
        from platformdirs import user_data_path

        home = user_data_path(_PROGRAM, appauthor=False)
    return home / "log.db"


def log_path() -> Path:
    """The log's file: where it belongs, or that which goes on in its place."""
    place = log_place()
    return next(iter(second_logs(place)), place)


def second_log(log: Path, row: int, digest: str) -> Path:
    """The name of a log that goes on behind a row in place of one that was taken away."""
    named = _GOES_ON.fullmatch(log.name)
    stem = log.stem if named is None else named["stem"]
    return log.with_name(f"{stem}-goes-on-{row + 1}-{digest[:8]}.db")


def second_logs(log: Path) -> list[Path]:
    """The logs that go on in place of the one at `log`, the newest first."""
    found = []
    for path in log.parent.glob(f"{log.stem}-goes-on-*.db"):
        named = _GOES_ON.fullmatch(path.name)
        if named is not None and named["stem"] == log.stem:
            found.append((int(named["row"]), path))
    return [path for _row, path in sorted(found, reverse=True)]


def second_log_said(log: Path) -> str:
    """What there is to say of a log that goes on in place of another, by its name; "" of one that
    lies where it belongs."""
    if _GOES_ON.fullmatch(log.name) is None:
        return ""
    # On use: hardly any log does.
    import shlex

    return f"The log goes on in {log}; cartclock restore {shlex.quote(str(log))} puts it back."


def existing_log() -> Path:
    """The log's file; raises Refused if it is not there."""
    path = log_path()
    if not path.exists():
        raise Refused("There is no log yet; cartclock alone opens the screens and begins one.")
    return path


def settings_path() -> Path:
    """The settings file; it need not be there."""
    home = _home()
    if home is None:
        from platformdirs import user_config_path

        home = user_config_path(_PROGRAM, appauthor=False)
    return home / "settings.toml"


def plans_folder(log: Path) -> Path:
    """Where the worker's own plan files lie, those that a new job can be opened from; it need not
    be there yet.
    """
    return log.with_name("plans")


def fault_file(log: Path) -> Path:
    """Where stands what went wrong in the program at last; it need not be there."""
    return log.with_name("fault.txt")


def sounds_folder() -> Path:
    """The folder for sounds that can be made anew at any time; it need not be there yet."""
    home = _home()
    if home is None:
        from platformdirs import user_cache_path

        return user_cache_path(_PROGRAM, appauthor=False) / "sounds"
    return home / "cache" / "sounds"


def local_zone() -> str:
    """IANA name of the machine's time zone; "UTC" if it cannot be told.

    Source: the variable TZ (POSIX, section 8.3), then the link /etc/localtime (localtime(5));
    from memory.
    """
    named = os.environ.get("TZ", "").removeprefix(":")
    zone = (named or os.path.realpath("/etc/localtime")).rpartition("zoneinfo/")[2]
    if not _is_zone(zone):
        zone = "" if named else _configured_zone()
    return zone if _is_zone(zone) else "UTC"


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return False
    return True


def _configured_zone() -> str:
    """What a machine says that has no such link, as Windows has none; "" for nothing."""
    # On use: few machines need it, and the import takes longer than all else here.
    from tzlocal import get_localzone_name

    try:
        with warnings.catch_warnings():
            # What is odd about the machine's files is no news for the worker.
            warnings.simplefilter("ignore")
            return get_localzone_name() or ""
    # Whatever the machine says of its zone, from two that differ to nothing at all.
    except (LookupError, ValueError, OSError):
        return ""
