"""Demo sessions: a day of work wound and pressed from a file.

A session is demonstration, tutorial and end-to-end test at once. Its `steps.toml` winds a
hand clock and presses keys on the real screens over a real log in a scratch folder; what
comes out is the job record. Nothing in a session is real: places, vehicles and names are
invented, and the numbers are synthetic.
"""

from __future__ import annotations

import asyncio
import os
import tempfile
import time
from contextlib import chdir, closing, nullcontext
from pathlib import Path
from typing import Any

from msgspec import Struct
from textual.pilot import Pilot

from cartclock.demo_sessions.player import Player
from cartclock.demo_sessions.script import files_of, read_script
from cartclock.demo_sessions.script import sessions as sessions  # part of what a session offers
from cartclock.engine.desk.copies import copies_of, paper_of
from cartclock.engine.desk.shop import Shop
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.page.text.medium import Text
from cartclock.engine.paper.sheet import render
from cartclock.engine.paper.sheets.record import RECORD
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import PlanFault, Refused


class Played(Struct, frozen=True):
    """What came of a session.

    Fields:
        record: the records of all its jobs by number, then the number of presses, as text.
        keys: every key pressed, with its job time in microseconds, as it happened; the letters
            of a typed text and the enter behind it are not among them.
        rows: rows in the log.
        said: what the notice line said after each of these keys, with the same job times.
    """

    record: str
    keys: tuple[tuple[int, str], ...]
    rows: int
    said: tuple[tuple[int, str], ...]

    @property
    def presses(self) -> int:
        """How many keys were pressed."""
        return len(self.keys)


def _played(player: Player) -> Played:
    with closing(player.bench()) as bench:
        shop = Shop(bench.log, library=bench.library)
        records = [
            render(RECORD, PaperFacts(shop.record(str(job.number), bench.now_us)), Text()).decode()
            for job in shop.jobs()
        ]
        rows = bench.log.head.seq + 1
    count = f"{len(player.keys)} presses\n"
    record = "\n".join([*records, count])
    return Played(record, tuple(player.keys), rows, tuple(player.said))


def play(name: str, size: tuple[int, int] = (80, 24), folder: Path | None = None) -> Played:
    """Plays a session without a terminal, as fast as it goes.

    Args:
        name: of the session.
        size: columns and rows of its screens.
        folder: where the log is left, in `log.db`; None: it is deleted.

    Raises:
        Refused: there is no session of that name.
        PlanFault: the script does not fit its plan or the screens.
    """
    with (
        tempfile.TemporaryDirectory(prefix="cartclock-demo-")
        if folder is None
        else nullcontext(str(folder)) as place
    ):
        player = Player(name, Path(place))
        asyncio.run(_play_all(player, size))
        return _played(player)


def paper(name: str, document: str, form: str, handle: str = "", width: int = 0) -> bytes:
    """A paper of a session as it is at its end; it leaves no trace.

    Args:
        name: of the session.
        document: a key of `engine.paper.papers.PAPERS`; form: one of its forms.
        handle: the job's number, for a day its date (ISO 8601); "" for the last of the session.
        width: of a line of text, in cells; 0: its own.

    Raises:
        Refused: there is no such session, paper or form, job or day.
        PlanFault: the script does not fit its plan or the screens.
    """
    with tempfile.TemporaryDirectory(prefix="cartclock-demo-") as folder:
        player = Player(name, Path(folder))
        asyncio.run(_play_all(player, (80, 24)))
        return _paper(player, document, form, handle, width)


def _paper(player: Player, document: str, form: str, handle: str = "", width: int = 0) -> bytes:
    with Log.open(player.path) as log:
        copies = copies_of(log, player.clock, player.settings)
        if not handle and paper_of(document).of == "job":
            handle = str(max(job.number for job in copies.shop.jobs()))
        # What was attached is named as it lies beside the script.
        with chdir(files_of(player.name)):
            return copies.copy(document, handle, form, width)


async def _play_all(player: Player, size: tuple[int, int]) -> None:
    ended = False
    while not ended:
        app = player.start()
        try:
            async with app.run_test(size=size) as pilot:
                ended = await player.run(pilot)
        finally:
            app.bench.close()


def show(name: str, speed: float) -> int:
    """Plays a session on the terminal, `speed` times faster than the clock, and ends on the
    record. A caption below says what happens; whoever looks on may hold it, skip, take over and
    leave.

    Returns an exit code.
    """
    # Imported here: without a terminal nobody needs it.
    import click

    from cartclock.demo_sessions.watching import ENDED, PARTED, Left, TakenOver, Watching
    from cartclock.tui.terminal.colours import terminal_colours

    with tempfile.TemporaryDirectory(prefix="cartclock-demo-") as folder:
        watching = Watching(speed, len(read_script(name).step))
        player = Player(name, Path(folder), watching, terminal_colours(os.environ))
        begun = time.monotonic()
        goes_on = True
        ended = False

        async def pilot_it(pilot: Pilot[Any]) -> None:
            nonlocal goes_on, ended
            goes_on = False
            try:
                ended = await player.run(pilot)
                goes_on = not ended
            except Left:
                return
            except TakenOver:
                pass
            except (PlanFault, Refused):
                watching.take_over(PARTED)
            if ended:
                player.cart.show("record")
                watching.take_over(ENDED)
            if not goes_on:
                await watching.live(player.clock)

        while goes_on:
            app = player.start()
            app.run(auto_pilot=pilot_it, mouse=False)
            app.bench.close()
            if app.return_code:
                return 70
        if ended:
            played = _played(player)
            took = f"{time.monotonic() - begun:.0f} s."
            click.echo(f"{name}: {played.presses} presses, {played.rows} rows, {took}", err=True)
        elif watching.yours:
            click.echo("The scratch log is gone. cartclock begins one of your own.", err=True)
    return 0
