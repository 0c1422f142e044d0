"""What every command does alike: its exit code, its settings, its log.

What only some of them need is imported where it is used.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Any, NoReturn

from cartclock.engine.trouble import Asks, PlanFault, Refused, StoreFault

if TYPE_CHECKING:
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.settings import Settings

DONE, REFUSED, BAD_INPUT, BUG = 0, 1, 2, 70


def leave(code: int, sentence: str) -> NoReturn:
    """Ends the command with a sentence on stderr."""
    sys.stderr.write(f"{sentence}\n")
    sys.exit(code)


def plainly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turns troubles into a sentence on stderr and an exit code."""

    @wraps(command)
    def run(*args: Any, **options: Any) -> Any:
        try:
            return command(*args, **options)
        except PlanFault as faults:
            leave(BAD_INPUT, str(faults))
        except (Refused, Asks, StoreFault) as why:
            leave(REFUSED, str(why))
        except BrokenPipeError:
            # The reader of a pipe went away; the interpreter must not complain at its exit.
            sys.stderr.close()
            sys.exit(DONE)

    return run


def settled() -> Settings:
    """The settings of this computer; raises PlanFault."""
    from cartclock.engine.store.laptop.places import settings_path
    from cartclock.engine.store.settings import load_settings

    return load_settings(settings_path())


def opened_bench(settings: Settings) -> Bench:
    """The bench of the log, made if there is none."""
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.clock import SystemClock
    from cartclock.engine.store.laptop.places import log_path

    return Bench.open(log_path(), SystemClock(), settings.worker)


def existing_bench(settings: Settings) -> Bench:
    """The bench of a log that is there; a command that only reads makes none."""
    from cartclock.engine.store.laptop.places import existing_log

    existing_log()
    return opened_bench(settings)
