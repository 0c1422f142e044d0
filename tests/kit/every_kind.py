"""Writes a log with a row of every kind, to be kept and read by every later version.

    python -m tests.kit.every_kind VERSION

writes `tests/store/logs/VERSION.db` and, in a folder beside it, what it gives (`tests.kit.kept`).
A log that is there is never written again.

Everything in it is invented and synthetic. First a day as the bench writes it, with
corrections of corrections, late entries and reasons in free words; then one row of every
kind as it comes, possible or not.
"""

from __future__ import annotations

import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Draft, Row
from cartclock.engine.rules import arrival, changes, looks, packs, rules
from cartclock.engine.store.log import Log
from tests.kit.films import Films, coat
from tests.kit.kept import KEPT
from tests.kit.samples import SAMPLES

LOGS = Path(__file__).parents[1] / "store/logs"


def keep(version: str) -> None:
    """Writes the log of a version and what it gives. Raises FileExistsError if it is there."""
    with TemporaryDirectory() as folder:
        films = Films(Path(folder), coat())
        _day(films)
        _rows_of_every_kind(films)
        films.bench.close()
        with closing(sqlite3.connect(films.path)) as db:
            # The kept file must open where nothing may be written.
            db.execute("PRAGMA journal_mode = delete")
        with (LOGS / f"{version}.db").open("xb") as file:
            file.write(films.path.read_bytes())
        given = LOGS / version
        given.mkdir()
        with Log.open(films.path) as log:
            for name, say in KEPT.items():
                (given / f"{name}.txt").write_text(say(log))


def _day(films: Films) -> None:
    bench, clock, job = films.bench, films.clock, films.job
    # Whole numbers where the field is a fraction: their text on disk has no point.
    bench.do(packs.open_pack, ev.PackOpened("coat", 30, lot="A17", expires="2026-09-30"))
    films.learn()
    sealed = bench.seal("swirls left [/x] é")
    bench.do(rules.note_job, job, ev.NoteWritten(sealed, private=True))
    bench.do(arrival.note_vehicle, job, ev.PaintRead("bonnet", "before", 98, 121))
    bench.do(rules.note_job, job, ev.PaperIssued("record", 1, "0" * 64))
    bench.do(rules.note_shift, ev.FeltUnwell(("dizziness",)))
    wrong = bench.do(rules.note_shift, ev.FeltUnwell(("headache", "cramps"))).press
    bench.strike(wrong, "that was the other man")
    films.film(50)
    bench.undo()
    bench.do_as("helper", 0, rules.clock_on, ev.ClockedOn("carport"))
    bench.do_as("helper", 0, rules.note_shift, ev.DrinkTaken(200))
    bench.do_as("me", 30_000_000, rules.note_shift, ev.DrinkTaken(250))
    moved = bench.do(rules.note_shift, ev.DrinkTaken(300)).press
    clock.wind(20)
    moving = bench.move(moved, bench.now_us - 60_000_000).press
    clock.wind(1)
    bench.strike(moving)
    bench.restore(moving)
    back = bench.do(rules.note_shift, ev.DrinkTaken(111)).press
    bench.strike(back, "mistaken")
    bench.restore(back)
    gone = bench.do(rules.note_shift, ev.DrinkTaken(112)).press
    bench.strike(gone)
    bench.do(rules.note_shift, ev.RestOverruled("a film is flashing, then I rest"))
    bench.do(changes.skip, job, "Coat", ("panel 9",), "film on it, the owner wants it so")
    bench.do(changes.redo, job, "Coat", ("panel 1",), "saw a high spot")
    bench.do(changes.split, job, "Coat", "panel 10", ("panel 10 left", "panel 10 right"))
    bench.do(looks.find, job, "Coat", "panel 2", "high spot")
    bench.do(packs.mend_use, job, {"coat": 2}, "the pad drank it")
    clock.wind(600)
    early = next(move for move in bench.moves() if move.act == "take up")
    said = {"rest_due": "two panels, then I rest", "cold": "the lamps are on"}
    bench.do(rules.take_up, early, over=said, rest_called=True)
    clock.wind(30)
    bench.do(rules.take_break, "rest", 600)
    clock.wind(900)
    bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "take up"))
    bench.do(rules.put_down)
    bench.do(packs.weigh, ev.PackWeighed("coat", 21.5))
    bench.do(rules.close_job, job, {"unfinished": "the owner came before noon"})
    bench.do(rules.clock_off, {"window_open": "the other man minds it"})


def _rows_of_every_kind(films: Films) -> None:
    log, now_us = films.bench.log, films.bench.now_us
    job, shift = films.bench.new_id(), films.bench.new_id()
    drafts = [
        Draft(event, job if type(event) in ev.JOB_EVENTS else "") for event in SAMPLES.values()
    ]
    first = log.head.seq + 1
    log.append(
        [
            Row(
                origin=log.origin,
                seq=first + index,
                press=first + index,
                shift=shift,
                job=draft.job,
                worker="other",
                at_us=now_us + index,
                entered_us=now_us + index,
                wall_us=now_us + index,
                boot="boot",
                tick_us=index,
                sure=index % 2 == 0,
                by="worker" if index % 3 else "machine",
                event=draft.event,
            )
            for index, draft in enumerate(drafts)
        ]
    )


if __name__ == "__main__":
    keep(sys.argv[1])
