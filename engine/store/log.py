"""The log on disk: rows that are only ever added to, and the little that stands beside them.

One program writes. A second one that has written meanwhile is noticed at the next append
(`Overtaken`), before anything is written. What `append` returned from is on the disk.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Literal, Self

import msgspec
from msgspec import Struct

from cartclock.engine.facts.events import CART_EVENTS, JobImported, JobTaken
from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.facts.put_right import put_right, reaches
from cartclock.engine.facts.refold import Folded
from cartclock.engine.facts.rows import Evidence, Row
from cartclock.engine.press import Press
from cartclock.engine.store import codec, schema
from cartclock.engine.store.codec import PrivateText, seal
from cartclock.engine.store.schema import Beat, Head, JobSummary, ShiftSummary
from cartclock.engine.store.summaries import Summaries
from cartclock.engine.store.upcasts import stored_as
from cartclock.engine.store.whereabouts import NewestSeen, Whereabouts
from cartclock.engine.store.whole_copy import copy_log, lent
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault

if TYPE_CHECKING:
    from tempfile import TemporaryDirectory

    from cartclock.engine.store.chain import Progress

__all__ = [
    "Beat",
    "Head",
    "JobSummary",
    "Log",
    "Overtaken",
    "PrivateText",
    "ShiftSummary",
    "seal",
]

_INSERT = f"INSERT INTO rows VALUES ({', '.join('?' * len(codec.COLUMNS))})"
_SELECT = f"SELECT {', '.join(codec.ROW_COLUMNS)} FROM"
_SELECT_STORED = f"SELECT {', '.join(codec.COLUMNS)} FROM rows"

# The plus keeps SQLite from walking through the whole log by its primary key
# (sqlite.org/optoverview.html, "Disqualifying WHERE Clause Terms Using Unary +").
_BY_INDEX = "+origin = ?"


class Overtaken(StoreFault):
    """Another program has written `count` rows since this log last looked; nothing was written."""

    def __init__(self, count: int) -> None:
        rows = "a row" if count == 1 else f"{count} rows"
        super().__init__(
            f"Nothing was written: another program has added {rows} to the log; "
            "look at what it says now, then press again."
        )
        self.count = count


def _tags(events: Iterable[type[Struct]]) -> str:
    """The tags of these events, for json_each."""
    return codec.json_list(stored_as(events))


def _origin(db: sqlite3.Connection, entropy: codec.Entropy) -> str:
    found = db.execute("SELECT origin FROM cart").fetchone()
    if found is None:
        new = codec.fresh_id(entropy)
        with schema.transaction(db):
            # Another program may have been first.
            db.execute(
                "INSERT INTO cart VALUES (1, ?, ?) ON CONFLICT DO NOTHING",
                (new, time.time_ns() // 1000),
            )
        found = db.execute("SELECT origin FROM cart").fetchone()
    return str(found[0])


class Log:
    """The log of one cart. Every method raises StoreFault if the disk does not do its part."""

    def __init__(self, path: Path, db: sqlite3.Connection, origin: str) -> None:
        self.path = path
        self.origin = origin
        self._db = db
        self._head = Head()
        self._whereabouts = Whereabouts(path)
        self._newest = NewestSeen(path)
        self.summaries = Summaries(path, db)
        # The corrections of the time, and the newest row there was when they were read.
        self._fixes: tuple[Head, list[Row]] = (Head(), [])
        # Why the rows are in another file than the one that was opened, a sentence; "" if not.
        self.went_on = ""
        self._lent: TemporaryDirectory[str] | None = None

    @classmethod
    def open(cls, path: Path, *, entropy: codec.Entropy = os.urandom) -> Self:
        """Open the log at `path`; make it, and its folder, for the owner's eyes if not there.

        `entropy` gives so many random bytes; a new log takes its origin from it.
        """
        db = schema.connect(path)
        try:
            schema.migrate(db)
            log = cls(path, db, _origin(db, entropy))
            log.refresh()
            log._whereabouts.look()
            log._look_for_lost()
        except BaseException as error:
            db.close()
            if isinstance(error, sqlite3.Error):
                raise schema.store_fault(error, f"The log {path} cannot be opened") from error
            raise
        return log

    @classmethod
    def open_to_read(cls, path: Path) -> Self:
        """Open the log at `path`; where it lies on something that cannot be written to, a copy of
        it that goes with its closing. Raises StoreFault.
        """
        try:
            return cls.open(path)
        except StoreFault:
            try:
                folder = lent(path)
            except OSError as error:
                raise StoreFault(
                    f"The log {path} cannot be read: {error.strerror or error}."
                ) from error
            if folder is None:
                raise
        try:
            log = cls.open(Path(folder.name) / path.name)
        except BaseException:
            folder.cleanup()
            raise
        log._lent = folder
        # Its papers and its history lie beside the one that was asked for.
        log.path = path
        return log

    def close(self) -> None:
        """Let go of the file; closing twice does nothing."""
        self._newest.close()
        self._db.close()
        if self._lent is not None:
            self._lent.cleanup()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def only_read(self) -> None:
        """From here on SQLite refuses whatever would write to the log."""
        with self._reading():
            self._db.execute("PRAGMA query_only = 1").fetchall()

    def still_lies_there(self) -> None:
        """Raises StoreFault if the file was replaced, moved or deleted since it was opened."""
        gone = self._whereabouts.elsewhere
        if gone:
            raise StoreFault(f"The file {gone} while the log was open; begin anew.")

    def _look_for_lost(self) -> None:
        newest = self._newest.newest
        if newest.seq >= 0 and self._digest_at(newest.seq) != newest.digest:
            self._newest.lost = newest

    @property
    def lost(self) -> str:
        """Which rows were there when this log was last written to and are not in it, a sentence;
        "" for none. It is said until something is written."""
        lost = self._newest.lost
        if lost is None:
            return ""
        rows = (
            f"row {lost.seq} is"
            if lost.seq <= self._head.seq + 1
            else (f"rows {self._head.seq + 1} to {lost.seq} are")
        )
        return (
            f"{rows[:1].upper()}{rows[1:]} not in the log any more: its write-ahead file or the "
            "log itself was taken away or put back; look for the file, or go on without."
        )

    # Writing.

    @property
    def head(self) -> Head:
        """The newest row as this log last saw it."""
        return self._head

    def refresh(self) -> Head:
        """Look again which row is the newest. Raises StoreFault if rows seen before are gone."""
        with self._reading():
            head = self._stored_head()
            if self._digest_at(self._head.seq) != self._head.digest:
                raise StoreFault(
                    f"The log {self.path} is not the one that was opened: row {self._head.seq} "
                    "is gone or another; quit, and look who changed the file."
                )
        self._head = head
        return head

    def append(
        self,
        rows: Sequence[Row],
        *,
        private: Sequence[PrivateText] = (),
        plan_texts: Mapping[str, str] = {},
        jobs: Sequence[JobSummary] = (),
        shifts: Sequence[ShiftSummary] = (),
        imported: Sequence[codec.Stored] = (),
    ) -> Head:
        """Write rows and all that goes with them in one transaction, on the disk on return.

        Args:
            rows: of this origin, their seq going on from the head.
            private: the private texts that the rows refer to.
            plan_texts: hex SHA-256 of a plan file -> its text; one already held is left.
            jobs, shifts: summaries as they are with these rows.
            imported: rows of other logs as they were stored there, none of them held here.

        Raises Overtaken if another program has written meanwhile, StoreFault if the disk
        would not take it or a row cannot be stored. Nothing was written then.
        """
        lines = self._lines(rows)
        self._meet_file()
        try:
            self._db.execute("BEGIN IMMEDIATE")
            self._meet_head()
            self._db.executemany(_INSERT, (*imported, *lines))
            self._db.executemany(
                "INSERT INTO private VALUES (?, ?, ?)", [(p.ref, p.salt, p.text) for p in private]
            )
            self._db.executemany(
                "INSERT INTO plan_text VALUES (?, ?) ON CONFLICT DO NOTHING", plan_texts.items()
            )
            self._replace("job_summary", jobs)
            self._replace("shift_summary", shifts)
        except BaseException as error:
            schema.undo(self._db)
            if isinstance(error, (sqlite3.Error, OverflowError, UnicodeEncodeError)):
                raise schema.store_fault(error, "Nothing was written") from error
            raise
        try:
            self._db.execute("COMMIT")
        except sqlite3.Error as error:
            schema.undo(self._db)
            # In a transaction that would not end, the rows seem to stand and do not.
            if self._db.in_transaction or not self._stand(lines):
                raise schema.store_fault(error, "Nothing was written") from error
        # Before it is acknowledged: the file may have gone while this was written.
        self._meet_file()
        if lines:
            self._head = Head(lines[-1][1], lines[-1][-1])
            self._newest.note(self._head)
        return self._head

    def _lines(self, rows: Sequence[Row]) -> list[codec.Stored]:
        lines: list[codec.Stored] = []
        head = self._head
        for row in rows:
            if (row.origin, row.seq) != (self.origin, head.seq + 1):
                raise StoreFault(
                    f"Nothing was written: row {row.seq} does not go on from row {head.seq} "
                    "of this log; this is a fault of the program."
                )
            line = codec.stored(row, head.digest)
            lines.append(line)
            head = Head(row.seq, line[-1])
        return lines

    def _meet_file(self) -> None:
        """Goes on in a second log if the open file has gone; it holds every row, and says in its
        name behind which one it goes on.

        Raises StoreFault if there can be none.
        """
        gone = self._whereabouts.elsewhere
        if not gone:
            return
        # On use: the file is hardly ever gone.
        from cartclock.engine.store.laptop.places import second_log

        # What is in the open write-ahead file must not be taken for the other log's.
        with suppress(sqlite3.Error):
            self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        try:
            with self._reading():
                head = self._stored_head()
            second = second_log(self.path, head.seq, head.digest or "0" * 8)
            if not second.exists():
                copy_log(self._db, second)
            db = schema.connect(second)
        except StoreFault as why:
            raise StoreFault(
                f"Nothing was written: {gone} while the log was open; put it back where it was, "
                f"then press again. {why}"
            ) from why
        self.close()
        self.path, self._db = second, db
        self.summaries = Summaries(second, db)
        self._newest = NewestSeen(second)
        with self._reading():
            self._stored_head()
        self._whereabouts = Whereabouts(second)
        self.went_on = f"{gone}; the day goes on in {second.name}."

    def _meet_head(self) -> None:
        seen, found = self._head, self._stored_head()
        if found == seen:
            return
        if found.seq > seen.seq and self._digest_at(seen.seq) == seen.digest:
            raise Overtaken(found.seq - seen.seq)
        raise StoreFault(
            f"Nothing was written: the log {self.path} is not the one that was opened; "
            "quit, and look who changed the file."
        )

    def _replace(self, table: str, summaries: Sequence[Struct]) -> None:
        # The first field is the primary key.
        for summary in summaries:
            values = msgspec.structs.astuple(summary)
            marks = ", ".join("?" * len(values))
            self._db.execute(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", values)

    def _stand(self, lines: list[codec.Stored]) -> bool:
        """After an error at COMMIT: do exactly these lines stand at the end of the log?"""
        try:
            found = self._db.execute(
                f"{_SELECT_STORED} WHERE origin = ? AND seq > ? ORDER BY seq",
                (self.origin, self._head.seq),
            ).fetchall()
        except sqlite3.Error as error:
            raise schema.store_fault(
                error,
                "It is not known whether this was written; quit, and look at the log's last "
                "rows after the next start",
            ) from error
        return bool(lines) and found == lines

    def _stored_head(self) -> Head:
        found = self._db.execute(
            "SELECT seq, digest FROM rows WHERE origin = ? ORDER BY seq DESC LIMIT 1",
            (self.origin,),
        ).fetchone()
        return Head(*found) if found else Head()

    def _digest_at(self, seq: int, origin: str = "") -> str:
        found = self._db.execute(
            "SELECT digest FROM rows WHERE origin = ? AND seq = ?", (origin or self.origin, seq)
        ).fetchone()
        return str(found[0]) if found else ""

    # Reading.

    def all_rows(self) -> list[Row]:
        """Every row of this cart, in the order of seq."""
        return self.rows_after(-1)

    def rows_after(self, seq: int) -> list[Row]:
        """The rows behind `seq`, in the order of seq."""
        return self._rows("origin = ? AND seq > ?", seq)

    def rows_between(self, first: int, behind: int) -> list[Row]:
        """The rows from one number up to another, that one left out, in the order of seq."""
        return self._rows("origin = ? AND seq >= ? AND seq < ?", first, behind)

    def press_rows(self, press: Press) -> list[Row]:
        """The rows of one press, in the order of seq."""
        return self._rows(f"{_BY_INDEX} AND press = ?", press.seq, origin=press.origin)

    def whole_presses(self, presses: Collection[Press]) -> list[Row]:
        """The rows of these presses of this log with their corrections, in the order of seq."""
        numbers = codec.json_list({one.seq for one in presses if one.origin == self.origin})
        asked = f"{_BY_INDEX} AND press IN (SELECT value FROM json_each(?))"
        return self._corrected(self._rows(asked, numbers))

    def parts_said(self) -> list[Row]:
        """The rows of any log here that say that a job is a part of another one, as written."""
        with self._reading():
            asked = f"{_SELECT} rows WHERE kind = 'PartSaid' ORDER BY rowid"
            return codec.rows(self._db.execute(asked))

    def pack_rows(self, product: str) -> list[Row]:
        """The rows of packs of a product with their corrections, in the order of seq."""
        asked = f"{_BY_INDEX} AND {schema.IS_PACK} AND {schema.PACK_PRODUCT} = ?"
        return self._corrected(self._rows(asked, product, table="rows INDEXED BY rows_pack"))

    def rows_of(self, jobs: Collection[str], shifts: Collection[str]) -> list[Row]:
        """All it takes to fold these jobs and shifts, in the order of seq.

        That is their rows, and every correction of a press that has a row in the result. A
        correction this version cannot read always comes along. Of a job that was taken over the
        rows of the carts that had it before go in front.
        """
        rows = self._rows(
            f"{_BY_INDEX} AND (job IN (SELECT value FROM json_each(?)) "
            "OR shift IN (SELECT value FROM json_each(?)))",
            codec.json_list(set(jobs) - {""}),
            codec.json_list(set(shifts) - {""}),
        )
        found = self._corrected(rows)
        before = self._before(rows, jobs)
        return [*before, *found] if before else found

    def _before(self, rows: Iterable[Row], jobs: Collection[str]) -> list[Row]:
        """The rows of other carts that jobs were made of when they were taken over.

        rows: of this log, among them those that say so.
        """
        newest = {
            row.job: row for row in rows if isinstance(row.event, JobTaken) and row.job in jobs
        }
        found: dict[tuple[str, int], Row] = {}
        for job, taken in newest.items():
            there = self.taken_over(taken)
            presses = {row.press for row in there if row.job == job}
            for row in there:
                if row.job == job or row.corrects in presses:
                    found[row.identity] = row
        return sorted(found.values(), key=lambda row: row.written)

    def taken_over(self, taken: Row) -> list[Row]:
        """The rows of other carts that came along with a job that was taken over, as written.

        taken: the row that says that it was.
        """
        return self.imported_rows(self.parts_taken_over(taken))

    def parts_taken_over(self, taken: Row) -> tuple[ImportedRows, ...]:
        """Which rows of other carts came along with a job, by the row that says it was taken."""
        beside = (row.event for row in self.press_rows(taken.press))
        came = (event for event in beside if isinstance(event, JobImported))
        return next((event.parts for event in came if event.job == taken.job), ())

    def taken_row(self, job: str) -> Row | None:
        """What says that this cart took a job over, the newest; None if it did not."""
        asked = f"{_BY_INDEX} AND job = ? AND kind = 'JobTaken'"
        return next(reversed(self._rows(asked, job)), None)

    def _corrected(self, rows: Sequence[Row]) -> list[Row]:
        """The rows with the corrections of their presses, and of the times of all of these, in the
        order of seq."""
        found = {row.identity: row for row in rows}
        for row in self.corrections_of({row.press for row in rows}):
            found.setdefault(row.identity, row)
        fixes = self._fixes_of(self.origin)
        # The older ones first: a correction of the time may reach an older one.
        for fix in put_right(fixes, fixes):
            if any(reaches(fix, row) for row in found.values()):
                found[fix.identity] = fix
        return sorted(found.values(), key=lambda row: row.seq)

    def corrections_of(self, presses: Collection[Press]) -> list[Row]:
        """Every correction of these presses, of these corrections and so on, in the order of seq.

        One that this version cannot read always comes along: it may mean any of them.
        """
        found = {row.seq: row for row in self._corrections(f"{schema.CORRECTS} IS NULL")}
        known: set[Press] = set()
        meant = set(presses)
        while meant:
            known |= meant
            numbers = codec.json_list({press.seq for press in meant})
            asked = f"{schema.CORRECTS} IN (SELECT value FROM json_each(?))"
            # The number may be that of another log's press.
            new = [row for row in self._corrections(asked, numbers) if row.corrects in meant]
            found |= {row.seq: row for row in new}
            meant = {row.press for row in new} - known
        return [found[seq] for seq in sorted(found)]

    def _corrections(self, where: str, *values: Any) -> list[Row]:
        # By this index or not at all: the kinds' would read every correction there is.
        return self._rows(
            f"{_BY_INDEX} AND {schema.IS_CORRECTION} AND {where}",
            *values,
            table="rows INDEXED BY rows_corrects",
        )

    def holds(self, seq: int, digest: str) -> bool:
        """Whether this log has a row of that number and digest; it has the one before the first,
        (-1, "")."""
        with self._reading():
            return self._digest_at(seq) == digest

    def stored_rows(self, parts: Iterable[ImportedRows]) -> list[codec.Stored]:
        """Those rows that `parts` name and that are held, as stored."""
        found: list[codec.Stored] = []
        asked = f"{_SELECT_STORED} WHERE origin = ? AND seq BETWEEN ? AND ? ORDER BY seq"
        with self._reading():
            for part in parts:
                for first, last in part.runs:
                    found += self._db.execute(asked, (part.origin, first, last)).fetchall()
        return found

    def stored_after(self, seq: int, most: int) -> list[codec.Stored]:
        """The rows of this log behind one, so many at most, as stored."""
        with self._reading():
            return self._db.execute(
                f"{_SELECT_STORED} WHERE origin = ? AND seq > ? ORDER BY seq LIMIT ?",
                (self.origin, seq, most),
            ).fetchall()

    def digest_of(self, origin: str, seq: int) -> str:
        """The digest of a row of any log; "" if it is not held."""
        with self._reading():
            return self._digest_at(seq, origin)

    def follows_on(self, origin: str, seq: int) -> str:
        """The digest that a row of any log follows on; "" if the row is not held."""
        found = self._one("SELECT prev FROM rows WHERE origin = ? AND seq = ?", origin, seq)
        return str(found[0]) if found else ""

    def import_rows(self, beginning: str = "") -> list[Row]:
        """The rows that say that jobs were imported whose ids begin so, with their corrections, in
        the order of seq. beginning: of a UUID, in hex and "-"; "": of any."""
        # "g" sorts behind every sign a UUID has.
        asked = (
            f"{_BY_INDEX} AND {schema.IS_IMPORT} AND {schema.IMPORTED_JOB} >= ?"
            f" AND {schema.IMPORTED_JOB} < ?"
        )
        table = "rows INDEXED BY rows_imported"
        return self._corrected(self._rows(asked, beginning, f"{beginning}g", table=table))

    def imports_telling(self, heads: Collection[tuple[str, int]]) -> set[str]:
        """The ids of jobs of which an import told that one of these rows, by origin and number,
        was the newest of its log; a few others may be among them."""
        found: set[str] = set()
        names = codec.json_list(f"{origin} {seq}" for origin, seq in heads)
        of_two = [
            (f"rows_head_{at}", f"{head} IN (SELECT value FROM json_each(?))", (names,))
            for at, head in enumerate(schema.IMPORTED_HEADS)
        ]
        of_more = ("rows_logs", f"{schema.IMPORTED_LOGS} > ?", (len(of_two),))
        for index, asked, values in (*of_two, of_more):
            with self._reading():
                rows = self._db.execute(
                    f"SELECT {schema.IMPORTED_JOB} FROM rows INDEXED BY {index} "
                    f"WHERE {_BY_INDEX} AND {schema.IS_IMPORT} AND {asked}",
                    (self.origin, *values),
                )
                found |= {job for (job,) in rows if job is not None}
        return found

    def imports_numbered(self, number: int) -> set[str]:
        """The ids of jobs of which an import told that number, also where that was taken back.

        number: of 64 bits.
        """
        with self._reading():
            found = self._db.execute(
                f"SELECT DISTINCT {schema.IMPORTED_JOB} FROM rows INDEXED BY rows_imported_number "
                f"WHERE {_BY_INDEX} AND {schema.IS_IMPORT} AND {schema.IMPORTED_NUMBER} = ?",
                (self.origin, number),
            )
            return {job for (job,) in found if job is not None}

    def was_imported(self, job: str) -> bool:
        """Whether a job was ever imported, also where that was taken back."""
        asked = (
            f"SELECT 1 FROM rows INDEXED BY rows_imported WHERE {_BY_INDEX} "
            f"AND {schema.IS_IMPORT} AND {schema.IMPORTED_JOB} = ?"
        )
        return self._one(asked, self.origin, job) is not None

    def imported_rows(self, parts: Iterable[ImportedRows]) -> list[Row]:
        """The rows that `parts` name, by their place in the order in which rows are written."""
        rows = codec.rows(line[:-2] for line in self.stored_rows(parts))
        rows = put_right(rows, rows)
        with self._reading():
            return self._with_words(sorted(rows, key=lambda row: row.written))

    def newest_of_each(self) -> dict[Literal["job", "shift", "product"], list[tuple[str, int]]]:
        """Every job with the time at which its newest press was entered, every shift with the time
        it began, and every product with the time at which its newest pack was.

        Among the jobs are those that were imported, also where that was taken back, each with the
        latest time as of which it was told of.
        """
        with self._reading():
            imported = self._db.execute(
                f"SELECT {schema.IMPORTED_JOB} AS imported, "
                "max(json_extract(body, '$.as_of_us')) FROM rows INDEXED BY rows_imported "
                f"WHERE {_BY_INDEX} AND {schema.IS_IMPORT} AND imported IS NOT NULL "
                "GROUP BY imported",
                (self.origin,),
            ).fetchall()
            jobs = self._db.execute("SELECT job, last_us FROM job_summary").fetchall()
            shifts = self._db.execute("SELECT shift, on_us FROM shift_summary").fetchall()
            products = self._db.execute(
                f"SELECT {schema.PACK_PRODUCT} AS product, max(entered_us) FROM rows "
                f"INDEXED BY rows_pack WHERE {_BY_INDEX} AND {schema.IS_PACK} "
                "AND product IS NOT NULL GROUP BY product",
                (self.origin,),
            ).fetchall()
        every_job = list({**dict(imported), **dict(jobs)}.items())
        return {"job": every_job, "shift": shifts, "product": products}

    def presses_of(self, worker: str, before: int, count: int) -> list[Press]:
        """So many presses that this worker made before that number, the newest first."""
        with self._reading():
            found = self._db.execute(
                f"SELECT DISTINCT press FROM rows INDEXED BY rows_worker WHERE {_BY_INDEX} "
                "AND worker = ? AND by = 'worker' AND press < ? ORDER BY press DESC LIMIT ?",
                (self.origin, worker, before, count),
            )
            return [Press(self.origin, press) for (press,) in found]

    def jobs_in(self, shift: str) -> set[str]:
        """Jobs that have a row in this shift."""
        with self._reading():
            found = self._db.execute(
                "SELECT DISTINCT job FROM rows WHERE shift = ? AND job IS NOT NULL", (shift,)
            )
            return {job for (job,) in found}

    def shifts_on(self, job: str) -> set[str]:
        """Shifts of this log that have a row of this job."""
        with self._reading():
            found = self._db.execute(
                "SELECT DISTINCT shift FROM rows WHERE job = ? AND shift IS NOT NULL"
                f" AND {_BY_INDEX}",
                (job, self.origin),
            )
            return {shift for (shift,) in found}

    def open_jobs(self) -> set[str]:
        """The jobs that are not closed."""
        with self._reading():
            found = self._db.execute("SELECT job FROM job_summary WHERE closed_us IS NULL")
            return {job for (job,) in found}

    def newest_shifts(self) -> set[str]:
        """Every shift that is not over, and of each worker the newest."""
        with self._reading():
            found = self._db.execute(
                "SELECT shift FROM shift_summary WHERE off_us IS NULL "
                "UNION SELECT (SELECT shift FROM shift_summary WHERE worker = w.worker "
                "ORDER BY on_us DESC, off_us IS NULL DESC, off_us DESC LIMIT 1) "
                "FROM (SELECT DISTINCT worker FROM shift_summary) w"
            )
            return {shift for (shift,) in found}

    def cart_rows(self, newest: int | None = None) -> list[Row]:
        """The events of the cart with their corrections, in the order of seq.

        newest: as in `rows_of_kinds`; None: every one.
        """
        return self.rows_of_kinds(CART_EVENTS, newest)

    def rows_of_kinds(self, events: Iterable[type[Struct]], newest: int | None = None) -> list[Row]:
        """The rows of these events with their corrections, in the order of seq.

        newest: of each kind no more than so many, the newest; None: every one.
        """
        found: list[Row] = []
        for tag in stored_as(events):
            # In the order of the kinds' index, so that no more is read than is asked for.
            with self._reading():
                asked = f"{_SELECT} rows WHERE {_BY_INDEX} AND kind = ? ORDER BY rowid DESC LIMIT ?"
                values = (self.origin, tag, -1 if newest is None else newest)
                rows = codec.rows(self._db.execute(asked, values))
                found += put_right(rows, self._fixes_of(self.origin))
        return self._corrected(found)

    def _rows(self, where: str, *values: Any, origin: str = "", table: str = "rows") -> list[Row]:
        """Rows of an origin, this log's own if none is named, which `where` asks for first."""
        asked = f"{_SELECT} {table} WHERE {where} ORDER BY seq"
        with self._reading():
            rows = codec.rows(self._db.execute(asked, (origin or self.origin, *values)))
            return self._with_words(put_right(rows, self._fixes_of(origin or self.origin)))

    def _fixes_of(self, origin: str) -> list[Row]:
        """The corrections of the time in a log, as written; as of the newest row known of its own.

        Read once: nearly always there is none.
        """
        head, fixes = self._fixes
        if origin == self.origin and head == self._head:
            return fixes
        asked = f"{_SELECT} rows WHERE {_BY_INDEX} AND kind = 'TimeCorrected' ORDER BY rowid"
        fixes = codec.rows(self._db.execute(asked, (origin,)))
        if origin == self.origin:
            fixes = [fix for fix in fixes if fix.seq <= self._head.seq]
            self._fixes = (self._head, fixes)
        return fixes

    def _with_words(self, rows: list[Row]) -> list[Row]:
        """The rows with the words of persons put in that are still held."""
        spoken = {
            index: sealed
            for index, row in enumerate(rows)
            if codec.word_fields(type(row.event)) and (sealed := codec.seals(row.event))
        }
        if not spoken:
            return rows
        refs = codec.json_list(one.ref for sealed in spoken.values() for one in sealed)
        texts = dict(
            self._db.execute(
                "SELECT ref, text FROM private WHERE ref IN (SELECT value FROM json_each(?))",
                (refs,),
            )
        )
        for index in spoken:
            row = rows[index]
            rows[index] = msgspec.structs.replace(row, event=codec.as_held(row.event, texts))
        return rows

    @contextmanager
    def _reading(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            raise schema.store_fault(error, f"The log {self.path} cannot be read") from error

    @contextmanager
    def _writing(self) -> Iterator[None]:
        self._meet_file()
        try:
            with schema.transaction(self._db):
                yield
        except sqlite3.Error as error:
            raise schema.store_fault(error, "Nothing was written") from error

    def _one(self, query: str, *values: Any) -> Any:
        with self._reading():
            return self._db.execute(query, values).fetchone()

    def job_summaries(self) -> list[JobSummary]:
        """Every job in one line, oldest first."""
        with self._reading():
            lines = self._db.execute("SELECT * FROM job_summary ORDER BY opened_us, number")
            return [JobSummary(*line) for line in lines]

    def shift_summaries(self) -> list[ShiftSummary]:
        """Every shift in one line, oldest first."""
        with self._reading():
            lines = self._db.execute("SELECT * FROM shift_summary ORDER BY on_us, shift")
            return [ShiftSummary(*line) for line in lines]

    def plan_text(self, sha256: str) -> str | None:
        """The plan file with that hex digest; None if not held."""
        found = self._one("SELECT text FROM plan_text WHERE sha256 = ?", sha256)
        return found[0] if found else None

    # Private text.

    def private_text(self, ref: str) -> str | None:
        """A private text; None if it was forgotten."""
        found = self._one("SELECT text FROM private WHERE ref = ?", ref)
        return found[0] if found else None

    def private_texts(self, refs: Iterable[str]) -> list[PrivateText]:
        """Those of these private texts that are still held, with their salts, in that order."""
        asked = "SELECT ref, salt, text FROM private WHERE ref = ?"
        found = (self._one(asked, ref) for ref in refs)
        return [PrivateText(*one) for one in found if one is not None]

    def refs_saying(self, text: str) -> set[str]:
        """References to the private texts that are this one, whatever its capitals and blanks."""
        wanted = " ".join(text.casefold().split())
        with self._reading():
            held = self._db.execute("SELECT ref, text FROM private")
            return {ref for ref, said in held if " ".join(said.casefold().split()) == wanted}

    def forget(self, refs: Collection[str]) -> None:
        """Delete private texts and their salts, from the tables and from the log's files.

        Rows and chain stay as they are. Backups made before still hold the texts. Raises
        StoreFault if the files could not be cleaned; doing it again cleans them.
        """
        with self._writing():
            self._db.executemany("DELETE FROM private WHERE ref = ?", [(ref,) for ref in refs])
        begin = "The text is deleted but its letters may still be in the file; forget it again"
        try:
            self._db.execute("VACUUM")
            busy = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except sqlite3.Error as error:
            raise schema.store_fault(error, begin) from error
        if busy:
            raise StoreFault(f"{begin} when no other program reads the log.")

    # What stands beside the rows.

    def beat(self, at_us: Instant, evidence: Evidence) -> None:
        """Overwrite the heartbeat: the program was alive at job time `at_us`."""
        with self._writing():
            self._db.execute(
                "INSERT OR REPLACE INTO heartbeat VALUES (1, ?, ?, ?, ?)",
                (at_us, evidence.wall_us, evidence.boot, evidence.tick_us),
            )
        # Rows that are in the log itself are not lost with the write-ahead file; what does not
        # go now goes a minute later.
        with suppress(sqlite3.Error):
            self._db.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchall()

    def last_beat(self) -> Beat | None:
        """The heartbeat; None before the first."""
        found = self._one("SELECT at_us, wall_us, boot, tick_us FROM heartbeat")
        return Beat(found[0], Evidence(*found[1:])) if found else None

    def ask(self, text: str | None) -> None:
        """Keep the question that is on the screen; None: there is none."""
        with self._writing():
            self._db.execute("DELETE FROM asking")
            if text is not None:
                vouched = f"{codec.sha256_of(text.encode())} {text}"
                self._db.execute("INSERT INTO asking VALUES (1, ?)", (vouched,))

    def asked(self) -> str | None:
        """The question that was on the screen; None if there was none, or it is not what it was."""
        found = self._one("SELECT text FROM asking")
        sha256, _, text = ("" if found is None else found[0]).partition(" ")
        return text if sha256 == codec.sha256_of(text.encode()) else None

    # The whole file.

    def check(self, told: Progress | None = None) -> list[str]:
        """Every broken link of the chain as `Chain.faults` names it; [] if whole.

        told: hears how far it is.
        """
        # On use: hardly any start checks the whole log.
        from cartclock.engine.store.chain import Chain, nobody

        with self._reading():
            # Damaged text is to be named as a broken row and not to end the reading.
            self._db.text_factory = lambda raw: raw.decode(errors="replace")
            try:
                self._db.execute("BEGIN")
                return list(Chain(self._db, told or nobody).faults(self.origin))
            finally:
                self._db.text_factory = str
                schema.undo(self._db)

    def end_write_ahead(self) -> None:
        """Play the write-ahead file into the log and do without one until it is opened again."""
        try:
            self._db.execute("PRAGMA journal_mode = DELETE").fetchall()
        except sqlite3.Error as error:
            raise schema.store_fault(error, "The log stays in two files") from error

    def backup(self, to: Path, told: Progress | None = None) -> None:
        """Copy the log as it stands now into one new file for the owner's eyes.

        told: hears how far it is. Raises StoreFault as `copy_log` does.
        """
        copy_log(self._db, to, told)


def job_lines(tried: Folded, last_us: Instant) -> list[JobSummary]:
    """The lines of jobs as they were folded.

    A job whose opening was struck stays in the table as one closed at time 0.

    last_us: when the newest press was entered that any of them takes in.
    """
    struck = [JobSummary(id_, 0, "", Instant(0), Instant(0), last_us) for id_ in tried.no_jobs]
    return struck + [
        JobSummary(
            job=job.id,
            number=job.opened.number,
            vehicle=job.opened.vehicle,
            opened_us=job.opened_us,
            # One that was given away is as little in hand here as one that is closed.
            closed_us=job.closed_us if job.given_us is None else job.given_us,
            last_us=last_us,
        )
        for job in tried.jobs.values()
    ]


def shift_lines(tried: Folded) -> list[ShiftSummary]:
    """The lines of shifts as they were folded.

    A shift whose clocking on was struck stays in the table as one over at time 0.
    """
    struck = [ShiftSummary(id_, "", Instant(0), Instant(0)) for id_ in tried.no_shifts]
    return struck + [
        ShiftSummary(shift.id, shift.worker, shift.on_us, shift.off_us)
        for shift in tried.shifts.values()
    ]
