"""A job carried to another laptop is told there as it is told here, and counts for nothing else."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec
import pytest
from click.testing import CliRunner, Result
from hypothesis import Phase, settings
from hypothesis.stateful import precondition, rule, run_state_machine_as_test

from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.exchange import export_job, import_job
from cartclock.engine.desk.past import Past
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import KINDS
from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.facts.rows import Row
from cartclock.engine.history.answers import Sought
from cartclock.engine.press import Press
from cartclock.engine.rules import packs, rules
from cartclock.engine.store import codec
from cartclock.engine.store.clock import HandClock
from cartclock.engine.store.exchange import job_file
from cartclock.engine.store.imported import every_imported
from cartclock.engine.store.log import Log
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from cartclock.engine.store.whole.repair import repair
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused
from cartclock.tui.commands.group import commands
from tests.facts.test_anything_goes import AnythingGoes, pick, yes
from tests.kit.carried import forms_of, laptop, out, own_things, record_without, refs_of
from tests.kit.damaged import WHO, killed_log
from tests.kit.films import START_US
from tests.kit.reckoner import SECOND_US
from tests.kit.samples import SAMPLES
from tests.kit.viewed import make_all

# A day is too long to be made shorter by trying.
NO_SHRINKING = (Phase.explicit, Phase.generate)
ROOT = Path(__file__).parents[2]
NOTE = "their dog is called Ziggurat"


@pytest.fixture
def here(tmp_path: Path) -> Bench:
    """A laptop with two jobs: 1, a coat in work, with a note; 2, whose customer is noted."""
    bench = Bench.open(killed_log(tmp_path), HandClock(START_US + 10**9))
    job = next(one.id for one in bench.jobs.values() if one.opened.number == 1)
    bench.do(rules.note_job, job, ev.NoteWritten(bench.seal(NOTE)))
    bench.do(rules.note_job, job, ev.FileAttached("1" * 64, bench.seal("/photos/roof.jpg")))
    bench.do(rules.note_shift, ev.FeltUnwell(("headache",)))
    return bench


@pytest.fixture
def there(tmp_path: Path) -> Bench:
    return laptop(tmp_path / "there")


def job_of(bench: Bench, number: int) -> str:
    return next(one.id for one in bench.jobs.values() if one.opened.number == number)


def sure(bench: Bench) -> None:
    """Nothing is wrong with the log, with what is known beside it, and nothing is odd."""
    make_all(bench.library)
    bench.library.settle()
    found = audit(bench.log.path, VIEWS)
    assert (found.wrong, found.odd) == ((), ())


# The round trip.


@pytest.mark.parametrize("private", [False, True])
@pytest.mark.parametrize("number", [1, 2])
def test_papers_are_the_same_on_both(
    here: Bench, there: Bench, number: int, private: bool, tmp_path: Path
) -> None:
    made = out(here, str(number), private)
    if private:
        # Signs of being unwell stay, and with them what they say.
        assert made.texts > 0
    # A file is named by its digest; its path and the note are private texts, of job 1.
    assert b"1" * 64 in made.content
    for text in ("/photos/roof.jpg", NOTE):
        assert (text.encode() in made.content) is (private and number == 1), text
    before = own_things(there)
    done = import_job(there, made.content)
    assert done.written and done.rows == made.rows and done.texts == made.texts
    assert own_things(there) == before
    job = job_of(here, number)
    held = refs_of(there.log._db)
    now_us = here.now_us
    there.clock.wind(86400)
    told = Shop(there.log, library=there.library).record(job, there.now_us)
    assert told == record_without(here.log, job, now_us, held)
    # Made of a log without what was not carried, by the code of a log that imported nothing.
    here.log.forget(refs_of(here.log._db) - held)
    here = Bench.open(here.log.path, here.clock)
    shops = [Shop(bench.log, library=bench.library) for bench in (here, there)]
    papers = [forms_of(shop, tmp_path / "none", job, now_us) for shop in shops]
    assert papers[0] == papers[1] and len(papers[0]) > 10
    sure(there)


def test_what_was_exported_is_exported_alike_from_there(here: Bench, there: Bench) -> None:
    content = out(here, "1", True).content
    import_job(there, content)
    assert out(there, job_of(here, 1), True).content == content


class Carried(AnythingGoes):
    """Anything goes on the one laptop, and its jobs are carried to another at any time."""

    seen: dict[str, int]

    def __init__(self) -> None:
        super().__init__()
        self.there = laptop(self.folder / "there")
        self.before = own_things(self.there)

    @precondition(lambda self: not self.stale)
    @rule(number=pick, private=yes, knowing=yes)
    def carry(self, number: int, private: bool, knowing: bool) -> None:
        jobs = Shop(self.bench.log).jobs()
        if jobs:
            self.carried(jobs[number % len(jobs)].job, private, knowing)

    def carried(self, job: str, private: bool, knowing: bool) -> None:
        now_us = self.bench.now_us
        shop = Shop(self.bench.log, library=self.bench.library if knowing else None)
        made = export_job(shop, job, now_us, private)
        try:
            done = import_job(self.there, made.content)
        except Refused as no:
            assert "two logs parted" in str(no) and self.parted(), no
            self.seen["parted"] += 1
            self.anew()
            done = import_job(self.there, made.content)
        assert done.written or not done.rows
        assert not import_job(self.there, made.content).written
        assert done.written or done.older or not done.texts
        if done.older:
            # An image was put back, and went on as before.
            self.anew()
            import_job(self.there, made.content)
        held = refs_of(self.there.log._db)
        told = Shop(self.there.log, library=self.there.library).record(job, self.there.now_us)
        told = msgspec.structs.replace(told, now_us=now_us)
        home = record_without(self.bench.log, job, now_us, held)
        other = [
            (name, getattr(told, name), getattr(home, name))
            for name in told.__struct_fields__
            if getattr(told, name) != getattr(home, name)
        ]
        assert other == []
        self.seen["carried"] += 1
        self.seen["hours"] += bool(told.accounts)

    def parted(self) -> bool:
        """Whether the other laptop holds a row of this log that is another here."""
        asked = "SELECT seq, digest FROM rows WHERE origin = ?"
        origin = self.bench.log.origin
        there = dict(self.there.log._db.execute(asked, (origin,)).fetchall())
        for one in every_imported(self.there.log):
            there |= {part.seq: part.digest for part in one.parts if part.origin == origin}
        here = dict(self.bench.log._db.execute(asked, (origin,)).fetchall())
        return any(here.get(seq, digest) != digest for seq, digest in there.items())

    def anew(self) -> None:
        self.there.close()
        shutil.rmtree(self.folder / "there")
        self.there = laptop(self.folder / "there")

    def teardown(self) -> None:
        try:
            if self.stale:
                self.bench.follow()
                self.stale = False
            for number, job in enumerate(Shop(self.bench.log).jobs()):
                self.carried(job.job, number % 2 > 0, number % 3 > 0)
            assert own_things(self.there) == self.before
            sure(self.there)
            listed = {one.job for one in Past(self.there.library).jobs() if one.line.origin}
            assert listed == {one.job for one in every_imported(self.there.log)}
            self.there.close()
        finally:
            # What is ahead is not carried.
            super(AnythingGoes, self).teardown()


def carried(part: str, how: settings) -> dict[str, int]:
    seen = {"carried": 0, "hours": 0, "parted": 0}
    run_state_machine_as_test(type(f"Carried{part}", (Carried,), {"seen": seen}), settings=how)
    assert seen["carried"] > 10 and seen["hours"], seen
    return seen


def test_whatever_was_done_is_told_the_same_there() -> None:
    carried("", settings(max_examples=5, stateful_step_count=15, phases=NO_SHRINKING))


@pytest.mark.long
def test_whatever_was_done_is_told_the_same_there_for_long() -> None:
    seen = carried("Long", settings(max_examples=400, stateful_step_count=50, phases=NO_SHRINKING))
    assert seen["parted"] > 3, seen


# Once, whole, or not at all.


def rows_in(log: Path) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(log)) as db:
        tables = ("rows", "private", "plan_text", "job_summary", "shift_summary")
        return [line for name in tables for line in db.execute(f"SELECT * FROM {name}")]


def test_twice_is_once_and_later_adds_what_is_new(here: Bench, there: Bench) -> None:
    bare, early = out(here, "1").content, out(here, "1", True)
    assert import_job(there, bare).written
    before = rows_in(there.log.path)
    assert not import_job(there, bare).written
    assert rows_in(there.log.path) == before
    # The same rows with their texts: only the texts are new.
    done = import_job(there, early.content)
    assert (done.written, done.rows, done.texts) == (True, 0, early.texts)


def test_a_file_that_is_older_than_what_is_here_changes_nothing(here: Bench, there: Bench) -> None:
    early = out(here, "1").content
    here.do(rules.note_shift, ev.DrinkTaken(330))
    late = out(here, "1")
    assert import_job(there, late.content).rows == late.rows
    before = rows_in(there.log.path)
    done = import_job(there, early)
    assert (done.older, done.written) == (True, False)
    assert rows_in(there.log.path) == before
    # And the other way round only what came since is added.
    other = laptop(there.log.path.parent / "other", 5)
    import_job(other, early)
    assert import_job(other, late.content).rows == 1


def test_exported_later_with_no_row_more_its_open_shift_goes_on(here: Bench, there: Bench) -> None:
    job = job_of(here, 1)
    import_job(there, out(here, "1").content)
    shop = Shop(there.log)
    first = shop.record(job, there.now_us).accounts[0].end_us
    assert shop.record(job, Instant(there.now_us + 10**9)).accounts[0].end_us == first
    here.clock.wind(60)  # type: ignore[attr-defined]  # it is wound by hand
    done = import_job(there, out(here, "1").content)
    assert (done.written, done.rows) == (True, 0)
    assert shop.record(job, there.now_us).accounts[0].end_us == first + 60_000_000


def test_a_job_comes_home_to_nothing_new(here: Bench) -> None:
    content = out(here, "1").content
    before = rows_in(here.log.path)
    done = import_job(here, content)
    assert (done.own, done.written) == (True, False)
    assert rows_in(here.log.path) == before


def fork(bench: Bench, to: Path) -> Bench:
    """The same laptop, as a copy of its log goes on."""
    to.mkdir()
    bench.log.backup(to / "log.db")
    copy = Bench.open(to / "log.db", HandClock(START_US + 2 * 10**9), "me")
    assert copy.log.origin == bench.log.origin
    return copy


def test_a_fork_is_refused_and_both_are_named(here: Bench, there: Bench, tmp_path: Path) -> None:
    copy = fork(here, tmp_path / "copy")
    last = here.log.head.seq + 1
    here.do(rules.note_shift, ev.DrinkTaken(111))
    copy.do(rules.note_shift, ev.DrinkTaken(222))
    import_job(there, out(here, "1").content)
    before = rows_in(there.log.path)
    with pytest.raises(Refused) as no:
        import_job(there, out(copy, "1").content)
    assert f"Row {last} of installation {here.log.origin}" in str(no.value)
    assert f"{here.log.head.digest[:12]} here and {copy.log.head.digest[:12]} in the" in str(
        no.value
    )
    assert rows_in(there.log.path) == before
    # At home, too: what the copy wrote is not this log's.
    with pytest.raises(Refused, match="two logs parted"):
        import_job(here, out(copy, "1").content)


def test_a_fork_is_seen_by_what_its_rows_follow_on(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    """Of the two pasts no row of one number came: only the rows round it."""
    here.do(rules.clock_off, {"window_open": "the other man minds it"})
    copy = fork(here, tmp_path / "copy")
    row = here.log.head.seq + 1
    # Off the clock these two are in no shift, and so each in the file of its own job alone.
    here.do(rules.note_job, job_of(here, 2), ev.OdometerRead(111))
    here.do(rules.note_job, job_of(here, 1), ev.OdometerRead(222))
    copy.do(rules.note_job, job_of(copy, 2), ev.OdometerRead(333))
    import_job(there, out(here, "1").content)
    assert there.log.digest_of(here.log.origin, row) == ""
    with pytest.raises(Refused, match=f"two logs parted. Row {row} "):
        import_job(there, out(copy, "2").content)
    # The other way round as well: what is here is the row that the file follows on.
    other = laptop(tmp_path / "other")
    import_job(other, out(copy, "2").content)
    with pytest.raises(Refused, match=f"two logs parted. Row {row} "):
        import_job(other, out(here, "1").content)


def test_a_fork_is_seen_by_the_heads_alone(here: Bench, there: Bench, tmp_path: Path) -> None:
    """The rows of the job are the same; what came behind them, of another job, is not."""
    here.do(rules.clock_off, {"window_open": "the other man minds it"})
    copy = fork(here, tmp_path / "copy")
    row = here.log.head.seq + 1
    for bench, km in ((here, 111), (copy, 333)):
        bench.do(rules.note_job, job_of(bench, 2), ev.OdometerRead(km))
    import_job(there, out(here, "1").content)
    before = rows_in(there.log.path)
    with pytest.raises(Refused, match=f"two logs parted. Row {row} "):
        import_job(there, out(copy, "1").content)
    assert rows_in(there.log.path) == before


def test_an_older_copy_of_the_same_log_is_told_so(here: Bench, tmp_path: Path) -> None:
    copy = fork(here, tmp_path / "copy")
    first = here.log.head.seq + 1
    here.do(rules.note_shift, ev.DrinkTaken(111))
    with pytest.raises(Refused, match=f"row {first} of this very log .* cartclock restore FILE"):
        import_job(copy, out(here, "1").content)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a child is killed in the midst of it")
def test_killed_in_the_midst_of_it_there_is_nothing_or_all(
    here: Bench, there: Bench, tmp_path: Path
) -> None:
    content, rows = out(here, "1", True).content, out(here, "1", True).rows
    there.close()
    nothing = rows_in(there.log.path)
    ends: list[bool] = []
    for statement in range(0, 400, 5):
        folder = tmp_path / "killed"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(there.log.path.parent, folder)
        killed = _killed(folder / "log.db", content, statement)
        found = rows_in(folder / "log.db")
        ends.append(found != nothing)
        if not ends[-1]:
            assert found == nothing
        else:
            assert len(found) > len(nothing) + rows
        with Log.open(folder / "log.db") as log:
            assert log.check() == []
        if not killed:
            break
        with closing(Bench.open(folder / "log.db", HandClock(START_US + 10**9))) as again:
            assert import_job(again, content).written != ends[-1]
    # Nothing up to one statement, and everything from it on.
    assert ends == sorted(ends) and ends[0] is False and ends[-1] is True and len(ends) > rows / 5


def _killed(path: Path, content: bytes, statement: int) -> bool:
    """Imports in a child that ends at a statement behind BEGIN; False if it came to its end."""
    child = os.fork()
    if child == 0:
        bench = Bench.open(path, HandClock(START_US + 10**9))
        left = [-1]

        def trace(sql: str) -> None:
            if sql.startswith("BEGIN"):
                left[0] = statement
            elif left[0] == 0:
                os._exit(9)
            elif left[0] > 0:
                left[0] -= 1

        bench.log._db.set_trace_callback(trace)
        import_job(bench, content)
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


# What is not a file of ours.

Change = Callable[[list[list[Any]]], None]
# What a row follows on that follows on none; it is left as it is.
NO_LINK = "f" * 64


def forged(content: bytes, change: Change, **header: Any) -> bytes:
    """A file whose rows were changed and whose digests, links and first line were made to fit."""
    first, *lines = content.decode().splitlines()
    rows = [json.loads(line) for line in lines if line.startswith("[")]
    change(rows)
    stored: list[codec.Stored] = []
    for row in rows:
        if stored and row[1] == stored[-1][1] + 1 and row[-1] != NO_LINK:
            row[-1] = stored[-1][-1]
        stored.append((*row, codec.digest(row)))
    said = json.loads(first)
    heads = {one["origin"]: (one["seq"], one["digest"]) for one in said["origins"]}
    for line in stored:
        if line[1] >= heads[line[0]][0]:
            heads[line[0]] = (line[1], line[-1])
    parts = msgspec.to_builtins(job_file.parts_of(stored, heads))
    said |= {"origins": parts, **header}
    return b"\n".join(
        [
            json.dumps(said, separators=(",", ":")).encode(),
            *(codec.digested(line[:-1]) for line in stored),
            *(line.encode() for line in lines if not line.startswith("[")),
            b"",
        ]
    )


def left_alone(rows: list[list[Any]]) -> None:
    """Nothing of the rows is changed."""


def opened_on(rows: list[list[Any]], **columns: Any) -> None:
    """Columns of the last row are others."""
    for name, value in columns.items():
        rows[-1][codec.COLUMNS.index(name)] = value


def no_link(rows: list[list[Any]]) -> None:
    """A row does not follow on the one before it, which is there."""
    next(row for before, row in pairwise(rows) if row[1] == before[1] + 1)[-1] = NO_LINK


def body(rows: list[list[Any]], kind: str, **fields: Any) -> None:
    """Fields of the first event of a kind are others."""
    row = next(row for row in rows if row[6] == kind)
    row[15] = json.dumps(json.loads(row[15]) | fields, sort_keys=True, separators=(",", ":"))


WRONG: dict[str, tuple[Change, dict[str, Any], str]] = {
    "a newer page": (left_alone, {"version": 2}, r"version 2 of its format, known here is 1"),
    "another thing": (left_alone, {"format": "poem"}, "no file that cartclock export wrote"),
    "a kind of the future": (
        lambda rows: opened_on(rows, kind="Levitated"),
        {},
        r"of a kind this version cannot read \(Levitated, version 2\); install the cartclock here",
    ),
    "a version of the future": (
        lambda rows: opened_on(rows, v=99),
        {},
        "this version cannot read .*version 99",
    ),
    "a body that is none": (lambda rows: opened_on(rows, body="{}"), {}, "cannot read"),
    "no opening": (lambda rows: rows.__delitem__(0), {}, "the job was never opened"),
    "another job": (left_alone, {"job": f"{0:08}-0000-0000-0000-{0:012}"}, "was never opened"),
    "no id": (left_alone, {"job": "zero"}, "names no job"),
    "a number too large": (lambda rows: opened_on(rows, tick_us=2**63), {}, "not a row as a log"),
    "a press behind": (lambda rows: opened_on(rows, press=10**6), {}, "not a row as a log"),
    "nobody's hand": (lambda rows: opened_on(rows, by="ghost"), {}, "not a row as a log"),
    "no link": (no_link, {}, "does not follow on the row before it"),
    "a time ahead": (lambda rows: opened_on(rows, entered_us=2**60), {}, "is later than the first"),
    "a promise out of the calendar": (
        lambda rows: body(rows, "JobOpened", promised_us=2**63 - 1),
        {},
        "speaks of a time before 1900 or behind 9900, which no job is worked in",
    ),
    "a zone that is none": (
        lambda rows: body(rows, "ClockedOn", zone="Nowhere/Land"),
        {},
        "no record can be made of these rows",
    ),
    "more texts than there are": (left_alone, {"texts": 3}, "fewer lines|not what was written"),
    "more lines than there are": (left_alone, {"plans": 10**9}, "fewer lines than it says"),
    "less than none": (left_alone, {"plans": -4}, "fewer lines than it says"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    here: Bench, there: Bench, name: str
) -> None:
    change, header, why = WRONG[name]
    content = out(here, "1").content
    before = rows_in(there.log.path)
    # Without a change it fits, so that it is the change that is refused.
    assert forged(content, left_alone) == content
    with pytest.raises(Refused, match=rf"^Nothing was imported: .*({why}).*\.$"):
        import_job(there, forged(content, change, **header))
    assert rows_in(there.log.path) == before


def test_names_of_a_file_steer_no_terminal(here: Bench, tmp_path: Path) -> None:
    def named(rows: list[list[Any]]) -> None:
        body(rows, "JobOpened", vehicle="van\x1b[2J\x9b31m\r")

    path = tmp_path / "job"
    path.write_bytes(forged(out(here, "1", True).content, named))
    job = job_of(here, 1)[:8]
    lines = (f"import {path}", "history", "jobs", f"record {job}", f"forget {job}")
    for line in (*lines, f"export {job} --out {tmp_path / 'again'}"):
        done = CliRunner().invoke(
            commands, line.split(), env={"CARTCLOCK_HOME": str(tmp_path / "home")}, color=True
        )
        assert "van" in done.stdout + done.stderr, line
        assert not {"\x1b", "\x9b", "\r"} & {*done.stdout, *done.stderr}, line


def test_a_text_that_no_row_sealed_is_refused(here: Bench, there: Bench) -> None:
    content = out(here, "1", True).content.replace(NOTE.encode(), b"their dog is called Zero")
    assert NOTE.encode() not in content
    with pytest.raises(Refused, match=r"private text .* is not one that a row sealed"):
        import_job(there, content)


def test_a_file_that_is_cut_or_changed_anywhere_is_refused(here: Bench, there: Bench) -> None:
    """2 % of the bytes each cut off or changed, by a seed."""
    content = out(here, "1", True).content
    draw, before = random.Random(7), rows_in(there.log.path)
    header = content.index(b"\n")
    refused = 0
    for _ in range(len(content) // 50):
        at = draw.randrange(len(content))
        flipped = bytearray(content)
        flipped[at] ^= 1 << draw.randrange(8)
        for damaged in (content[:at], bytes(flipped)):
            try:
                file = job_file.read(damaged)
            except Refused as no:
                assert str(no).endswith(".")
                refused += 1
            else:
                # Only of the first line something may be said otherwise: who wrote it, and of what.
                assert at < header and file.stored == job_file.read(content).stored
    assert refused > len(content) // 30
    assert rows_in(there.log.path) == before


def test_only_plain_files_of_some_size_are_read(tmp_path: Path) -> None:
    big = tmp_path / "big.jsonl"
    with big.open("wb") as file:
        file.truncate(job_file.MOST_JOB_BYTES + 1)
    os.mkfifo(tmp_path / "pipe")
    for path, why in (
        (big, r"is longer than 32 MB"),
        (tmp_path / "pipe", "is no plain file"),
        (tmp_path, "is no plain file|cannot be read"),
        (tmp_path / "none", "cannot be read"),
        (Path("/dev/zero"), "is no plain file"),
    ):
        with pytest.raises(Refused, match=why):
            job_file.content_of(path)


@pytest.mark.parametrize("tag", KINDS)
def test_a_row_of_every_kind_can_be_carried(tag: str) -> None:
    """What a line holds is read back as what the log held."""
    event = SAMPLES[tag]
    kind, v, said = codec.encode(event)
    values = ("o", 3, 3, None, "j", "me", kind, v, 1, 1, 1, "b", 1, 1, "worker", said, "")
    line = codec.digested(values)
    assert tuple(msgspec.json.decode(line)) == values
    assert codec.decode(kind, v, said) == codec.read_back(event)


# What else is said of it.


def test_it_is_listed_and_found_and_counts_for_nothing(here: Bench, there: Bench) -> None:
    import_job(there, out(here, "2", True).content)
    job, past = job_of(here, 2), Past(there.library)
    for _settled in range(2):
        (line,) = past.jobs(Sought(words="white van"))
        assert (line.job, line.line.origin) == (job, here.log.origin)
        assert [one.job for one in past.jobs(Sought(words=WHO[0]))] == [job]
        assert past.jobs(Sought(own=True)) == tuple(
            one for one in past.jobs() if not one.line.origin
        )
        make_all(there.library)
        there.library.settle()
    shop = Shop(there.log, library=there.library)
    assert [one.job for one in shop.imported()] == [job]
    assert job not in {one.job for one in shop.jobs()}
    assert [one for one, _line in shop.seen_before("white van ł")] == [job]
    assert [one for one, _line in shop.with_plate(WHO[1])] == [job]
    assert shop.vehicle_card(job, there.now_us).vehicle == "white van ł"


def test_an_own_number_goes_before_another_carts(here: Bench, there: Bench) -> None:
    for number in ("1", "2"):
        import_job(there, out(here, number).content)
    shop = Shop(there.log)
    own = next(iter(there.jobs))
    assert shop.find("1").job == own
    assert shop.find("2").job == job_of(here, 2)
    assert shop.find(job_of(here, 1)[:8]).job == job_of(here, 1)
    assert shop.next_number() == 2


def test_how_long_it_was_stood_by_is_told_as_at_home(here: Bench, there: Bench) -> None:
    import_job(there, out(here, "1").content)
    (told,) = (one for one in Past(there.library).jobs() if one.line.origin)
    (home,) = (one for one in Past(here.library).jobs() if one.job == told.job)
    assert home.stood_us > 0
    assert (told.own_us, told.stood_us, told.other_us) == (
        home.own_us, home.stood_us, home.other_us,
    )  # fmt: skip
    make_all(there.library)
    there.library.settle()
    kept = there.library.history.rows("SELECT id, sum(length_us) FROM served_elsewhere GROUP BY 1")
    assert kept == [(told.job, home.stood_us)]
    assert told in Past(there.library).jobs()


def test_a_program_that_is_open_sees_it(here: Bench, there: Bench) -> None:
    with closing(Bench.open(there.log.path, HandClock(START_US + 10**9), "me")) as screens:
        make_all(screens.library)
        known = {one.job for one in Past(screens.library).jobs()}
        import_job(there, out(here, "1").content)
        (news,) = screens.follow()
        assert isinstance(news.event, ev.JobImported)
        assert {one.job for one in Past(screens.library).jobs()} - known == {job_of(here, 1)}


def test_taken_back_it_is_gone_and_imported_again_it_is_there(here: Bench, there: Bench) -> None:
    content = out(here, "1").content
    import_job(there, content)
    there.undo()
    assert every_imported(there.log) == []
    assert not [one for one in Past(there.library).jobs() if one.line.origin]
    with pytest.raises(Refused):
        Shop(there.log).find(job_of(here, 1))
    done = import_job(there, content)
    assert (done.written, done.rows) == (True, 0)
    assert Shop(there.log).find(job_of(here, 1)).job == job_of(here, 1)
    sure(there)


def test_its_presses_are_put_right_at_home(here: Bench, there: Bench) -> None:
    import_job(there, out(here, "1").content)
    press = Press(here.log.origin, 0)
    acts: list[Callable[[], object]] = [
        lambda: there.strike(press),
        lambda: there.restore(press),
        lambda: there.move(press, Instant(START_US)),
    ]
    before = rows_in(there.log.path)
    for act in acts:
        with pytest.raises(Refused, match="of another laptop; put it right there"):
            act()
    assert rows_in(there.log.path) == before


def test_a_correction_that_was_put_right_in_time_is_told_there_as_at_home(
    here: Bench, there: Bench
) -> None:
    """The time of a later day was wrong, on which it was said when the day of the job ended."""
    job = job_of(here, 1)
    here.clock.wind(600)
    here.do(rules.close_job, job, {"unfinished": "sold"})
    off = here.do(rules.clock_off)
    here.clock.wind(8 * 3600)
    here.clock.reboot("boot-2", 0)
    here = Bench.open(here.log.path, here.clock)
    here.wake()
    here.do(rules.clock_on, ev.ClockedOn("carport"))
    drink = here.do(rules.note_shift, ev.DrinkTaken(250))
    here.clock.wind(60)
    here.move(off.press, Instant(off.rows[0].at_us - 60 * SECOND_US))
    right_us = Instant(drink.rows[0].entered_us + 30 * SECOND_US)
    here.correct_time(drink.press, right_us, "UTC")
    import_job(there, out(here, "1", True).content)
    told = Shop(there.log, library=there.library).record(job, here.now_us)
    kinds = {one.kind: one for one in told.trail.corrections}
    assert kinds["moved"].entered_us == right_us + 60 * SECOND_US
    assert "time put right" in kinds
    assert told.trail == Shop(here.log, library=here.library).record(job, here.now_us).trail
    sure(there)


# The log that holds it.

DAMAGE = {
    "gone": "DELETE FROM rows WHERE origin = ? AND seq = 3",
    "changed": "UPDATE rows SET worker = 'nobody' WHERE origin = ? AND seq = 3",
    "added": "INSERT INTO rows SELECT origin, 500, 500, shift, job, worker, kind, v, at_us,"
    " entered_us, wall_us, boot, tick_us, sure, by, body, prev, digest FROM rows"
    " WHERE origin = ? AND seq = 3",
}
SAID = {
    "gone": "row 3: is missing",
    "changed": "row 3: is not what was written, its digest differs",
    "added": "row 500: no import speaks of it",
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_check_log_names_what_is_wrong_with_imported_rows(
    here: Bench, there: Bench, damage: str
) -> None:
    import_job(there, out(here, "1").content)
    there.close()
    with closing(sqlite3.connect(there.log.path)) as db:
        for (name,) in db.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute(DAMAGE[damage], (here.log.origin,))
        db.commit()
    found = audit(there.log.path, VIEWS).faults
    assert f"installation {here.log.origin}, {SAID[damage]}" in found


def test_a_repair_keeps_whose_log_it_is(here: Bench, there: Bench) -> None:
    import_job(there, out(here, "1", True).content)
    own, head, rows = there.log.origin, there.log.head, rows_in(there.log.path)
    there.close()
    with closing(sqlite3.connect(there.log.path)) as db:
        db.execute("DELETE FROM cart")
        db.execute("DROP INDEX rows_imported")
        db.commit()
    assert audit(there.log.path, VIEWS).wrong
    done = repair(there.log.path, VIEWS)
    assert done.lost == ()
    with Log.open(there.log.path) as log:
        assert (log.origin, log.head, log.check()) == (own, head, [])
        assert [one.job for one in every_imported(log)] == [job_of(here, 1)]
    assert sorted(map(repr, rows_in(there.log.path))) == sorted(map(repr, rows))


# The commands.


def run(home: Path, *words: str) -> Result:
    """A command on one of the laptops."""
    return CliRunner(env={"CARTCLOCK_HOME": str(home)}).invoke(commands, list(words))


def test_the_commands_carry_a_job(here: Bench, tmp_path: Path) -> None:
    home, away, file = here.log.path.parent, tmp_path / "away", tmp_path / "job.jsonl"
    job = job_of(here, 2)
    here.close()
    done = run(home, "export", "2", "--private", "--out", str(file))
    assert done.exit_code == 0, done.output
    assert "Job 2, white van ł: " in done.stderr and "4 private texts" not in done.stdout
    assert file.stat().st_mode & 0o777 == 0o600
    again = run(home, "export", "2", "--private", "--out", str(file))
    assert again.exit_code == 1 and "is there already" in again.stderr
    shown = run(home, "export", "2", "--private")
    assert shown.stdout_bytes.splitlines()[1:] == file.read_bytes().splitlines()[1:]
    # A laptop that never had a log.
    away.mkdir()
    done = run(away, "import", str(file))
    assert done.exit_code == 0 and f"It is {job[:8]}: cartclock paper record" in done.stdout
    assert "is here already; nothing was written" in run(away, "import", str(file)).stdout
    record = run(away, "record", job[:8])
    assert record.exit_code == 0 and WHO[0] in record.stdout
    listed = run(away, "history")
    assert job[:4] in listed.stdout and "white van" in listed.stdout
    assert run(away, "check-log").exit_code == 0
    no = run(away, "record", job[:8], "--folder", "--examples")
    assert no.exit_code == 1 and "This job was imported: it is worked on" in no.stderr
    assert not (away / "papers").exists()


def test_a_digest_on_its_papers_is_found_where_it_was_carried_to(here: Bench, there: Bench) -> None:
    here.do(rules.clock_off, {"window_open": "the other man minds it"})
    here.do(packs.open_pack, ev.PackOpened("towel", 10.0, "each"))
    head = here.log.head
    import_job(there, out(here, "2").content)
    there.close()
    said = run(there.log.path.parent, "check-log", "--head", head.digest)
    assert said.stdout == (
        f"Row {head.seq} of installation {here.log.origin}, the newest there when job 2 was "
        "exported.\n"
    )
    first = codec.digest(json.loads(out(here, "2").content.splitlines()[1]))
    said = run(there.log.path.parent, "check-log", "--head", first)
    assert f"of installation {here.log.origin}, imported." in said.stdout


def test_forgetting_reaches_what_was_imported(here: Bench, there: Bench) -> None:
    for number in ("1", "2"):
        import_job(there, out(here, number, True).content)
    home = there.log.path.parent
    make_all(there.library)
    there.close()
    done = run(home, "forget", WHO[0], "--yes")
    assert done.exit_code == 0, done.output
    assert "Job 2, white van ł: 3 private texts" in done.stderr
    assert "the laptop it came from and files it was carried in may still hold it" in done.stderr
    for path in home.rglob("*"):
        content = path.read_bytes() if path.is_file() else b""
        assert not any(one.encode() in content for one in WHO), path
    # The other job keeps its own.
    with Log.open(there.log.path) as log:
        assert log.check() == []
        assert NOTE in {log.private_text(ref) for ref in refs_of(log._db)}
    assert run(home, "forget", job_of(here, 1)[:8], "--yes").exit_code == 0
    assert not any(NOTE.encode() in p.read_bytes() for p in home.rglob("*") if p.is_file())


# The page of the format.


def page_table(name: str) -> list[str]:
    """The names in the first column of a table of the page."""
    page = (ROOT / "engine/store/exchange/FORMAT.md").read_text(encoding="utf-8")
    between = page.partition(f"<!-- {name} -->")[2].partition(f"<!-- /{name} -->")[0]
    return re.findall(r"^\| `(\w+)` \|", between, re.MULTILINE)


def test_the_page_names_every_field_in_its_order() -> None:
    assert page_table("header") == list(job_file.Header.__struct_fields__)
    assert page_table("origins") == list(ImportedRows.__struct_fields__)
    assert page_table("columns") == list(codec.COLUMNS[:-1])


def test_the_check_on_the_page_finds_what_the_log_holds(here: Bench) -> None:
    """By hashlib and json of Python alone, from the page itself."""
    page = (ROOT / "engine/store/exchange/FORMAT.md").read_text(encoding="utf-8")
    assert f"This page is of **version {job_file.JOB_VERSION}**" in page
    assert f"at most {job_file.MOST_JOB_BYTES // 1_000_000} MB long" in page
    names: dict[str, Any] = {}
    exec(page.partition("```python\n")[2].partition("```")[0], names)
    content = out(here, "1", True).content
    held = {line[:2]: line[-1] for line in here.log._db.execute("SELECT * FROM rows")}
    digests = names["check"](content)
    assert digests and digests.items() <= held.items()
    for damaged in (content.replace(b'"me"', b'"we"', 1), content[:-1], content + b"{}\n"):
        with pytest.raises((AssertionError, KeyError, TypeError, ValueError)):
            names["check"](damaged)


@contextmanager
def imports_read() -> Iterator[list[str]]:
    """The jobs that rows tell of an import of, as they are read."""
    read: list[str] = []
    rows = codec.rows

    def counting(lines: Any) -> list[Row]:
        found = rows(lines)
        read.extend(row.event.job for row in found if isinstance(row.event, ev.JobImported))
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(codec, "rows", counting)
        yield read


def test_no_import_is_read_for_another(here: Bench, there: Bench) -> None:
    """Not for an import, not for a job asked for by its number or id, not for a history begun
    anew; there are thirty others."""
    contents = [out(here, number).content for number in ("1", "2")]
    import_job(there, contents[0])
    (told,) = [row.event for row in there.log.import_rows(job_of(here, 1))]
    assert isinstance(told, ev.JobImported)
    for number in range(30):
        parts = (msgspec.structs.replace(told.parts[0], origin=f"{number:08}-0"),)
        other = msgspec.structs.replace(
            told, job=f"{number:08}-1", number=900 + number, parts=parts
        )
        there.take_in(other, (), (), {})
    one, two = job_of(here, 1), job_of(here, 2)
    with imports_read() as read:
        import_job(there, contents[1])
        assert set(read) <= {one, two}
        read.clear()
        assert Shop(there.log).find("2").job == two
        assert Shop(there.log).find("01").job == next(iter(there.jobs))
        assert Shop(there.log).find("0929").job == "00000029-1"
        assert Shop(there.log).find(two[:8]).job == two
        assert set(read) == {two, "00000029-1"}
        read.clear()
        assert there.library.begin_anew()
        assert read == []
    assert there.library.left("job") == 33


def test_a_number_of_two_imported_jobs_names_both_and_one_taken_back_is_none(
    here: Bench, there: Bench
) -> None:
    import_job(there, out(here, "2").content)
    (told,) = [row.event for row in there.log.import_rows(job_of(here, 2))]
    assert isinstance(told, ev.JobImported)
    parts = (msgspec.structs.replace(told.parts[0], origin="00000000-0"),)
    other = msgspec.structs.replace(told, job="00000000-1", parts=parts)
    pressed = there.take_in(other, (), (), {})
    with pytest.raises(Refused, match=r"2 jobs go by 2: .*00000000-1"):
        Shop(there.log).find("2")
    there.strike(pressed.press)
    assert Shop(there.log).find("2").job == job_of(here, 2)
    with pytest.raises(Refused, match="There is no job 2"):
        Shop(there.log).find("2" * 5_000)
