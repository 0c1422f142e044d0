"""Where this program keeps its files, and in which time zone the machine stands.

The only part of the program that reads the environment. `CARTCLOCK_HOME` names one folder
for everything; without it each file goes where the operating system wants its kind.
"""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from zoneinfo import ZoneInfo

import platformdirs

HOME = "CARTCLOCK_HOME"

_PROGRAM = "cartclock"


def _home() -> Path | None:
    named = os.environ.get(HOME, "")
    return Path(named).expanduser().absolute() if named else None


def log_path() -> Path:
    """The log's file; it and its folder need not be there yet."""
    folder = _home() or platformdirs.user_data_path(_PROGRAM, appauthor=False)
    return folder / "log.db"


def settings_path() -> Path:
    """The settings file; it need not be there."""
    folder = _home() or platformdirs.user_config_path(_PROGRAM, appauthor=False)
    return folder / "settings.toml"


def papers_folder() -> Path:
    """The folder for finished papers, where the worker finds them; it need not be there yet."""
    home = _home()
    return home / "papers" if home else platformdirs.user_documents_path() / _PROGRAM


def sounds_folder() -> Path:
    """The folder for sounds that can be made anew at any time; it need not be there yet."""
    home = _home()
    cache = home / "cache" if home else platformdirs.user_cache_path(_PROGRAM, appauthor=False)
    return cache / "sounds"


def local_zone() -> str:
    """IANA name of the machine's time zone; "UTC" if it cannot be told."""
    # On use: the import takes longer than all else here.
    from pendulum.tz.local_timezone import get_local_timezone

    try:
        with warnings.catch_warnings():
            # The answer without a zone is a warning and UTC; the settings can name another.
            warnings.simplefilter("ignore")
            name = get_local_timezone().name
        ZoneInfo(name)
    # Whatever the machine says of its zone, from a nameless file to nothing at all.
    except (LookupError, TypeError, ValueError, OSError, RuntimeError):
        return "UTC"
    return name
