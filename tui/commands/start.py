"""The screens, from the first import to the exit code."""

from __future__ import annotations

import gc
import os
import sys
from contextlib import AbstractContextManager, nullcontext, suppress
from typing import TYPE_CHECKING

from cartclock.engine.trouble import Refused, StoreFault
from cartclock.tui.commands.door import BUG, DONE, REFUSED, leave, opened_bench, plainly, settled

if TYPE_CHECKING:
    from cartclock.engine.desk.bench import Bench
    from cartclock.engine.store.settings import Settings
    from cartclock.tui.terminal.colours import Colours
    from cartclock.tui.terminal.raw import RawTerminal
    from cartclock.tui.told.sight import Sight

AGAIN = "; start it again and go on"
DEMO = "dry_heat_estate"
"""The day that is played where none is named."""


def has_terminal() -> bool:
    """Whether keys come from a terminal, and all that is written goes to one that can be drawn on.

    The screens are drawn on stderr; `dumb`, `unknown` and no name at all mean a terminal on which
    nothing can be placed (terminfo(5), "Generic"; from memory).
    """
    streams = (sys.__stdin__, sys.__stdout__, sys.__stderr__)
    named = sys.platform == "win32" or os.environ.get("TERM", "") not in ("", "dumb", "unknown")
    return named and all(stream is not None and stream.isatty() for stream in streams)


@plainly
def open_screens(mouse: bool) -> None:
    """The screens, until the worker leaves them; ends the process with its exit code."""
    if not has_terminal():
        raise Refused(
            "The screens need a terminal that can place its cursor; cartclock now says in lines "
            "what is in hand and what is next, cartclock now --follow goes on saying it, and "
            "cartclock paper record JOB or cartclock paper day DATE prints."
        )
    opens = _first_hour()
    # Until the first picture nothing is thrown away, and looking for it takes a fifth of the time.
    gc.disable()
    with _holding() as held:
        settings = settled(aloud=False)
        colours = _colours()
        if held is not None and settings.theme == "auto" and colours != "none":
            _ask_ground(held)
        bench = opened_bench(settings)
        code = BUG
        try:
            code = _run(bench, settings, mouse, held, colours, opens)
        finally:
            # What was told is not told again by what its end runs into.
            with suppress(Exception) if code in (BUG, REFUSED) else nullcontext():
                bench.close()
        sys.exit(code)


def _first_hour() -> str:
    """Where there is neither log nor settings: asks the first questions, and shows a day if that
    is wanted; answers the id of the key that is to be pressed on Today then, "" for none.
    """
    from cartclock.engine.store.laptop.places import log_path, settings_path

    if log_path().exists() or settings_path().exists():
        return ""
    wanted = settle_in(offers=True)
    if wanted == "demo":
        from cartclock.demo_sessions.session import show
        from cartclock.demo_sessions.watching import USUAL_SPEED

        show(DEMO, USUAL_SPEED)
    return "add" if wanted == "job" else ""


def settle_in(offers: bool) -> str:
    """Asks the first questions that the settings do not answer; ends the process where they are
    broken off.

    offers: True if a day and a job are offered behind them.
    """
    import io
    from contextlib import redirect_stderr

    from cartclock.engine.store.laptop.places import settings_path

    with _holding() as held:
        colours = _colours()
        if held is not None and colours != "none":
            _ask_ground(held)
        _load_loop()
        from cartclock.tui.settling import Settling

        app = Settling(settings_path(), offers, colours, held)
        with redirect_stderr(io.StringIO()):
            wanted = app.run(mouse=False)
        if held is not None:
            held.give_back()
    if app.refused:
        leave(REFUSED, app.refused)
    if app.fault is not None:
        raise app.fault
    if wanted is None:
        sys.exit(app.return_code or DONE)
    return wanted


def _holding() -> AbstractContextManager[RawTerminal | None]:
    """The terminal, taken at once: what is typed during the start is neither shown nor lost."""
    if sys.platform == "win32" or sys.__stdin__ is None or sys.__stderr__ is None:
        return nullcontext()
    from cartclock.tui.terminal.raw import RawTerminal

    return RawTerminal(sys.__stdin__.fileno(), sys.__stderr__.fileno())


def _colours() -> Colours:
    from cartclock.tui.terminal.colours import terminal_colours

    return terminal_colours(os.environ)


def _ask_ground(held: RawTerminal) -> None:
    """Asks on which ground the terminal writes; until the first picture it has time to answer."""
    from cartclock.tui.terminal.ground import ASK
    from cartclock.tui.terminal.unseen import is_deaf

    if not is_deaf(os.environ.get("TERM", "")):
        held.ask(ASK)


def _first(held: RawTerminal, sight: Sight, theme: str, colours: Colours) -> str:
    """Writes the first picture where the program opens on one; answers the theme."""
    from cartclock.tui.commands.first import opens_on_run, show_first
    from cartclock.tui.terminal.ground import ANSWER, said_light

    if theme == "auto" and held.asked_s is not None:
        light = said_light(held.answer(ANSWER))
        theme = theme if light is None else "sun" if light else "shade"
    if opens_on_run(sight.workplace):
        shown = "sun" if theme == "sun" and colours != "none" else "shade"
        show_first(held, sight, shown, colours)
    return theme


def _load_loop() -> None:
    """Imports asyncio without the sealing of network lines, which this program has none of.

    The library of ciphers behind it is a tenth of what the first picture waits for.
    """
    if "asyncio" in sys.modules or "ssl" in sys.modules:
        return
    # None makes an import fail (Python reference, section 5.3.1), and asyncio does without.
    sys.modules["ssl"] = None  # type: ignore[assignment]  # typeshed knows modules only
    try:
        import asyncio  # noqa: F401  # for what imports it later
    finally:
        del sys.modules["ssl"]


def _run(
    bench: Bench,
    settings: Settings,
    mouse: bool,
    held: RawTerminal | None,
    colours: Colours,
    opens: str,
) -> int:
    import io
    from contextlib import redirect_stderr

    from cartclock.engine.desk.shop import Shop
    from cartclock.engine.store.laptop.places import second_log_said
    from cartclock.tui.terminal.signals import BY_SIGNAL
    from cartclock.tui.told.sight import Sight
    from cartclock.tui.told.workplace import Workplace

    shop = Shop(bench.log, settings.rest_place, settings.closed, bench.library)
    workplace = Workplace(bench, shop, settings)
    sight, theme = Sight(workplace), settings.theme
    if held is not None:
        theme = _first(held, sight, theme, colours)
    _load_loop()
    from cartclock.tui.app import CartClock

    app = CartClock(workplace, theme, colours=colours, held=held, sight=sight)
    app.opens = opens
    # The library prints pages about a fault, with what the worker wrote in them.
    with redirect_stderr(io.StringIO()) as printed:
        app.run(mouse=mouse)
    if held is not None:
        # Before anything is said: a fault may have come before the library had the terminal.
        held.give_back()
    code = app.return_code or DONE
    fault, log = app.fault, bench.log.path
    if fault is None and code > BY_SIGNAL:
        _say(f"The system told cartclock to end. Every press it answered is in {log}.")
        return code
    if fault is None and code == DONE and not printed.getvalue():
        _part(bench, settings)
        _back_up(bench, settings)
        if said := second_log_said(bench.log.path):
            _say(said)
        return DONE
    if fault is None:
        _say(f"That was a bug of cartclock. Every press it answered is in {log}{AGAIN}.")
        return BUG
    from cartclock.tui.commands.unforeseen import told

    bug, sentence = told(fault, log, AGAIN)
    _say(sentence)
    return BUG if bug else REFUSED


def _part(bench: Bench, settings: Settings) -> None:
    """Leaves one line behind; a terminal that went away has nobody to read it."""
    from cartclock.engine.letters import inert
    from cartclock.engine.now.parting import parting_text

    said = parting_text(bench.jobs, bench.shift(), bench.shifts, bench.now_us, settings.zone)
    with suppress(OSError):
        sys.stdout.write(f"{inert(said)}\n")
        sys.stdout.flush()


def _back_up(bench: Bench, settings: Settings) -> None:
    """Who leaves at once after the end of a job or a shift has a backup of it all the same."""
    if not bench.ended:
        return
    from cartclock.engine.dates import day_of
    from cartclock.engine.store.whole.backups import back_up
    from cartclock.tui.commands.progress import progress

    try:
        with progress() as told:
            back_up(bench.log.path, day_of(bench.now_us, settings.zone).isoformat(), told)
    except StoreFault as why:
        _say(str(why))
    except KeyboardInterrupt:
        _say("No backup was made: it was broken off.")


def _say(sentence: str) -> None:
    try:
        sys.stderr.write(f"{sentence}\n")
        sys.stderr.flush()
    except OSError:
        # The terminal went away, and with it whoever would have read this.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())
