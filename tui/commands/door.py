"""What every command does alike: its exit code, its settings, its log.

What only some of them need is imported where it is used.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from typing import TYPE_CHECKING, Any, NoReturn

from cartclock.engine.trouble import Asks, PlanFault, Refused, StoreFault

if TYPE_CHECKING:
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.settings import Settings

DONE, REFUSED, BAD_INPUT, BUG = 0, 1, 2, 70
# So many faults of the settings are said at a command.
_FAULTS_SAID = 5
ASKED = "_CARTCLOCK_COMPLETE"
"""The variable by which a shell asks how a word goes on."""


def leave(code: int, sentence: str) -> NoReturn:
    """Ends the command with a sentence on stderr; what it quotes of a file steers nothing there."""
    from cartclock.engine.letters import inert

    sys.stderr.write(f"{inert(sentence)}\n")
    sys.exit(code)


def say(text: str, err: bool = False) -> None:
    """Says something; names out of files and logs steer nothing where it is read."""
    import click

    from cartclock.engine.letters import inert

    click.echo(inert(text), err=err)


def plainly(command: Callable[..., Any]) -> Callable[..., Any]:
    """Turns troubles into a sentence on stderr and an exit code."""

    @wraps(command)
    def run(*args: Any, **options: Any) -> Any:
        try:
            done = command(*args, **options)
            # Here and not at the exit of the interpreter, which would say it in its own way.
            sys.stdout.flush()
            return done
        except PlanFault as faults:
            leave(BAD_INPUT, str(faults))
        except (Refused, Asks, StoreFault) as why:
            leave(REFUSED, str(why))
        except BrokenPipeError:
            # The reader of a pipe went away; the interpreter must not complain at its exit.
            sys.stderr.close()
            sys.exit(DONE)
        except OSError as why:
            _drop_output()
            named = "" if why.filename is None else f" ({why.filename})"
            leave(REFUSED, f"The system did not take it: {why.strerror or why}{named}.")
        except Exception as fault:
            _unforeseen(fault)

    return run


def _unforeseen(fault: Exception) -> NoReturn:
    """Ends the command: its log is damaged, or it is wrong itself."""
    import click

    if isinstance(fault, click.ClickException | click.Abort | click.exceptions.Exit):
        raise fault
    from cartclock.tui.commands.unforeseen import told

    bug, sentence = told(fault)
    leave(BUG if bug else REFUSED, sentence)


def _drop_output() -> None:
    """What could not be written is not tried again at the exit of the interpreter."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def settled(aloud: bool = True) -> Settings:
    """The settings of this computer; raises PlanFault.

    aloud: what of them is not heeded is said on stderr; the screens say it themselves.
    """
    from cartclock.engine.store.laptop.places import settings_path
    from cartclock.engine.store.settings import load_settings

    found = load_settings(settings_path())
    if aloud:
        for sentence in found.unheeded[:_FAULTS_SAID]:
            say(sentence, err=True)
        if len(found.unheeded) > _FAULTS_SAID:
            say(f"{len(found.unheeded)} lines of it are not heeded.", err=True)
    return found


def opened_bench(settings: Settings) -> Bench:
    """The bench of the log, made if there is none."""
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.clock import SystemClock
    from cartclock.engine.store.laptop.places import log_path

    return Bench.open(log_path(), SystemClock(), settings.worker)


def reading_bench(settings: Settings) -> Bench:
    """The bench of a log that is there, for a command that only reads: it makes none, and needs
    not to write to the one there is.
    """
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.clock import SystemClock
    from cartclock.engine.store.laptop.places import existing_log
    from cartclock.engine.store.log import Log

    log = Log.open_to_read(existing_log())
    log.only_read()
    return Bench(log, SystemClock(), settings.worker)


def existing_bench(settings: Settings) -> Bench:
    """The bench of a log that is there, to be written to."""
    from cartclock.engine.store.laptop.places import existing_log

    existing_log()
    return opened_bench(settings)


def is_meant(question: str) -> bool:
    """Whether somebody at the terminal says so; nobody else is asked."""
    import click

    return sys.stdin.isatty() and click.confirm(question, err=True)
