"""Words of a person, signs of being unwell among them, stand outside the rows and can be forgotten.

A fold needs none of them: what was pressed, when and on what stays as it was.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from cartclock.engine.body.signs import seriousness
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import KINDS
from cartclock.engine.facts.sealed import Said
from cartclock.engine.facts.turn import Turn
from cartclock.engine.facts.words import row_text
from cartclock.engine.rules import changes, packs, rules
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from tests.kit.day import Day, told
from tests.kit.samples import SAMPLES

SECRETS = ("zzheadache", "zzskip", "zzredo", "zzrest", "zzclose", "zzreopen", "zzmend", "zzstrike")


@pytest.fixture
def day(tmp_path: Path) -> Iterator[Day]:
    """A day on which everything that can be said in free words was said."""
    day = Day(tmp_path, plan=1)
    bench, job = day.bench, day.job
    bench.do(rules.note_shift, ev.FeltUnwell(("zzheadache", "cramps")))
    day.take(60)
    move = bench.moves()[0]
    bench.do(rules.take_up, move, {"rest_due": "zzrest"}, rest_called=True)
    bench.do(rules.take_break, "rest", finish=True)
    bench.do(changes.skip, job, "Iron", ("left wheel",), "zzskip")
    bench.do(changes.redo, job, "Iron", ("left wheel",), "zzredo")
    drink = bench.do(rules.note_shift, ev.DrinkTaken(200)).press
    bench.strike(drink, "zzstrike")
    bench.do(rules.close_job, job, {"unfinished": "zzclose"})
    bench.do(rules.reopen_job, job, "zzreopen")
    bench.do(rules.note_job, job, ev.ProductUsed("Iron", ("left wheel",), Turn(), {"fallout": 9.0}))
    bench.do(packs.mend_use, job, {"fallout": 1}, "zzmend")
    yield day
    day.bench.close()


def bodies(bench: Bench) -> str:
    with closing(sqlite3.connect(bench.log.path)) as db:
        return "\n".join(body for (body,) in db.execute("SELECT body FROM rows"))


def refs(log: Log) -> list[str]:
    return [sealed.ref for row in log.all_rows() for sealed in codec.seals(row.event)]


def test_no_row_holds_the_words(day: Day) -> None:
    rows = bodies(day.bench)
    assert [secret for secret in SECRETS if secret in rows] == []
    assert "cramps" not in rows
    held = {day.bench.log.private_text(ref) for ref in refs(day.bench.log)}
    assert set(SECRETS) <= held
    assert day.bench.log.check() == []


def test_they_are_read_with_the_rows(day: Day) -> None:
    said = {word for row in day.bench.log.all_rows() for word in codec.sealed_words(row.event)}
    assert set(SECRETS) <= said
    assert day.again().log.all_rows() == day.bench.log.all_rows()
    assert [repr(row) for row in day.bench.rows] == [
        repr(row)
        for row in day.bench.log.all_rows()
        if row.identity in {one.identity for one in day.bench.rows}
    ]
    shown = "; ".join(row_text(row, day.bench.jobs) for row in day.bench.log.all_rows())
    assert "felt unwell: zzheadache, cramps" in shown


def test_what_was_forgotten_leaves_every_fold_as_it_was(day: Day) -> None:
    log = day.bench.log
    before = told(log.all_rows())
    log.forget(refs(log))
    assert log.check() == []
    after = log.all_rows()
    assert {word for row in after for word in codec.sealed_words(row.event)} <= {"", "forgotten"}
    jobs, shifts, odd = told(after)
    assert odd == []
    for folds, now in ((before.jobs, jobs), (before.shifts, shifts)):
        assert folds.keys() == now.keys()
        for id_, fold in folds.items():
            assert fold.state == now[id_].state
    # Somebody was unwell, and twice; it still means to stop.
    (unwell,) = [row.event for row in after if isinstance(row.event, ev.FeltUnwell)]
    assert unwell.signs == ("forgotten", "forgotten")
    assert seriousness(unwell.signs) == "stop"
    with Log.open(log.path) as other:
        assert not any(
            secret in str(Shop(other).record("1", day.bench.now_us)) for secret in SECRETS
        )
    for file in log.path.parent.iterdir():
        assert not any(secret.encode() in file.read_bytes() for secret in SECRETS), file.name


def test_a_row_that_is_read_is_encoded_again_to_the_letter(day: Day) -> None:
    log = day.bench.log
    with closing(sqlite3.connect(log.path)) as db:
        stored = db.execute("SELECT kind, v, body FROM rows ORDER BY seq").fetchall()
    assert [codec.encode(row.event) for row in log.all_rows()] == stored
    log.forget(refs(log))
    assert [codec.encode(row.event) for row in log.all_rows()] == stored


def test_words_of_the_first_version_are_read_where_they_stand() -> None:
    event = codec.decode("SectionSkipped", 1, '{"sections":["roof"],"stage":"Wash","why":"rain"}')
    assert event == ev.SectionSkipped("Wash", ("roof",), "rain")
    assert codec.seals(event) == ()
    assert '"why":"rain"' in codec.encode(event)[2]


@pytest.mark.parametrize("tag", KINDS)
def test_every_text_that_tells_a_reason_or_a_sign_is_known_for_words(tag: str) -> None:
    event = KINDS[tag].event
    spoken = {"why", "over", "signs"} & set(event.__struct_fields__)
    assert set(codec.word_fields(event)) == spoken
    for word in codec.sealed_words(codec.decode(*codec.encode(SAMPLES[tag]))):
        assert isinstance(word, Said)
