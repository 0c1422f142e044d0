"""Everything that can be wrong with a log on the disk, looked at without trusting any of it.

The files are only read. Rows are read by the table itself and not by an index; what is derived
from rows (indexes, lines of jobs and shifts, the history) is made anew and compared; and papers
that were issued are held against the log that they say they came from.
"""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, nullcontext, suppress
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import TAGS, JobImported
from cartclock.engine.facts.refold import Folded, folded
from cartclock.engine.facts.rows import Row, believed_rows, job_time
from cartclock.engine.facts.view import View
from cartclock.engine.store import codec, schema
from cartclock.engine.store.chain import Chain, Progress, nobody
from cartclock.engine.store.history import History, path_beside
from cartclock.engine.store.imported import every_imported, fold_imported
from cartclock.engine.store.laptop.paper_file import is_issued
from cartclock.engine.store.library import Library
from cartclock.engine.store.log import Log, job_lines, shift_lines
from cartclock.engine.store.schema import Head
from cartclock.engine.store.whereabouts import heads_seen
from cartclock.engine.store.whole_copy import lent, read_only, tell_steps
from cartclock.engine.times import Instant

# So many jobs or shifts are folded at a time: a log of years does not fit into memory.
_AT_ONCE = 50
# So many sentences of SQLite's own check are passed on.
_MOST = 20
# So much is made of the history between two signs of life.
_SLICE_S = 0.25
_SCHEMA = "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%'"
# The digest that a text or a page of a paper tells.
_TOLD = re.compile(rb"newest row has the digest\s+([0-9a-f]{64})")


class Audited(Struct, frozen=True):
    """What was found, sentences without full stop each.

    Fields:
        faults: what is wrong with rows, chain, private texts, plans or the tables themselves.
        derived: what is wrong with what can be made anew from the rows.
        papers: what is wrong with papers that were issued.
        odd: rows that are whole and say what cannot be.
        head: the newest row that was read.
    """

    faults: tuple[str, ...]
    derived: tuple[str, ...]
    papers: tuple[str, ...]
    odd: tuple[str, ...]
    head: Head

    @property
    def wrong(self) -> tuple[str, ...]:
        """All that should be otherwise."""
        return (*self.faults, *self.derived, *self.papers)


def audit(
    path: Path, views: Sequence[View[Any]], papers: Path | None = None, told: Progress = nobody
) -> Audited:
    """Looks at everything the log at `path` holds, at the history beside it, and at the papers.

    Total: whatever stands in the files comes back as sentences. Raises StoreFault where another
    program holds the log, so that nobody can read it.

    Args:
        views: every view there is.
        papers: the folder of papers; None: none are looked at.
        told: hears what is being looked at.
    """
    return _Audit(path, views, papers, told).found()


def places_of(path: Path, digest: str) -> list[str]:
    """Where the log at `path` tells of a row whose digest begins so, a sentence each: a row of its
    own, one that was imported, or the newest of the log that one was imported from.

    Raises StoreFault.
    """
    try:
        with closing(read_only(path)) as db:
            return list(dict.fromkeys(_places(db, digest)))
    except sqlite3.Error as error:
        raise schema.store_fault(error, f"The log {path} cannot be read") from error


def _places(db: sqlite3.Connection, digest: str) -> Iterator[str]:
    own = _origin(db)
    asked = (
        "SELECT origin, seq FROM rows NOT INDEXED WHERE substr(digest, 1, ?) = ?"
        " ORDER BY origin <> ?, seq"
    )
    for origin, seq in db.execute(asked, (len(digest), digest, own)):
        yield f"Row {seq} of {'this log' if origin == own else f'installation {origin}, imported'}."
    asked = "SELECT kind, v, body FROM rows NOT INDEXED WHERE origin = ? AND kind = ?"
    for stored in db.execute(asked, (own, TAGS[JobImported])).fetchall():
        event = codec.decode(*stored)
        if not isinstance(event, JobImported):
            continue
        for part in event.parts:
            if part.digest.startswith(digest) and not part.has(part.seq):
                yield (
                    f"Row {part.seq} of installation {part.origin}, the newest there when job "
                    f"{event.number} was exported."
                )


class _Audit:
    def __init__(
        self, path: Path, views: Sequence[View[Any]], papers: Path | None, told: Progress
    ) -> None:
        self._path, self._views, self._papers, self._told = path, views, papers, told
        self._faults: list[str] = []
        self._derived: list[str] = []
        self._of_papers: list[str] = []
        self._odd: set[str] = set()
        self._chain: Chain | None = None
        self._head = Head()

    def found(self) -> Audited:
        self._look_whether_held()
        self._hear(self._faults, "the file cannot be read", self._opened)
        return Audited(
            faults=tuple(self._faults),
            derived=tuple(self._derived),
            papers=tuple(self._of_papers),
            odd=tuple(sorted(self._odd)),
            head=self._head,
        )

    def _look_whether_held(self) -> None:
        with suppress(OSError):
            try:
                with closing(read_only(self._path)) as db:
                    db.execute("SELECT 1 FROM sqlite_schema").fetchone()
            except Exception as error:
                # Anything else is what is looked for; damage has no kind of its own.
                if getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY:
                    why = f"The log {self._path} cannot be looked at"
                    raise schema.store_fault(error, why) from error

    def _hear(self, into: list[str], begin: str, look: Callable[[], Iterable[str]]) -> None:
        """Takes the sentences of one look; bytes that nobody wrote may end it in any way."""
        try:
            for sentence in look():
                into.append(sentence)
        except Exception as error:  # damage has no kind of its own
            into.append(f"{begin} ({_one_line(error)})")

    def _opened(self) -> Iterator[str]:
        if self._path.stat().st_size == 0:
            yield "the file is empty; a log holds a row from its first press on"
            return
        with lent(self._path) or nullcontext() as folder:
            self._read(self._path if folder is None else Path(folder) / self._path.name)

    def _read(self, path: Path) -> None:
        with closing(read_only(path)) as db:
            # Damaged text is to be named as a broken row and not to end the reading.
            db.text_factory = lambda raw: raw.decode(errors="replace")
            # One state of the log, whatever is written meanwhile.
            db.execute("BEGIN")
            self._look(db)

    def _look(self, db: sqlite3.Connection) -> None:
        self._told("the file", 0.0)
        self._hear(self._faults, "the tables cannot be read", lambda: _schema_faults(db))
        self._hear(self._faults, "the file cannot be looked through", lambda: self._file(db))
        self._hear(self._faults, "the rows cannot be read", lambda: self._rows(db))
        if self._faults:
            # Nothing that is made of rows can be told right from wrong.
            return
        db.text_factory = str
        log = Log(self._path, db, _origin(db))
        log.refresh()
        self._hear(self._derived, "the jobs cannot be folded", lambda: self._jobs(db, log))
        self._hear(self._derived, "the shifts cannot be folded", lambda: self._shifts(db, log))
        self._hear(self._derived, "what was imported cannot be folded", lambda: self._imports(log))
        self._hear(self._derived, "the heartbeat cannot be read", lambda: _beat(log))
        self._hear(self._derived, "what is asked cannot be read", lambda: _asked(db, log))
        if not self._derived:
            self._hear(self._derived, "the history cannot be read", lambda: self._history(log))
        self._hear(self._of_papers, "the papers cannot be read", lambda: self._issued(db))

    def _file(self, db: sqlite3.Connection) -> Iterator[str]:
        tell_steps(db, partial(self._told, "the file"))
        try:
            yield from _pages(db)
        finally:
            db.set_progress_handler(None, 0)

    # The rows.

    def _rows(self, db: sqlite3.Connection) -> Iterator[str]:
        own = _origin(db)
        if not own:
            yield "the log does not say which cart it is of"
        chain = self._chain = Chain(db, self._told)
        yield from chain.faults(own)
        self._head = chain.heads.get(own, Head())
        if not chain.heads:
            yield "there is no row; a log holds one from its first press on"
        asked = "SELECT 1 FROM rows NOT INDEXED WHERE seq = ? AND digest = ?"
        for seen in heads_seen(self._path):
            if db.execute(asked, (seen.seq, seen.digest)).fetchone() is None:
                yield f"row {seen.seq}: was there once and is not in this log"

    # What is derived.

    def _jobs(self, db: sqlite3.Connection, log: Log) -> Iterator[str]:
        lines = {one.job: one for one in log.job_summaries()}
        ids = _ids(db, "job", log.origin)
        yield from _compared("job", ids, lines.keys())
        assert self._chain is not None  # the rows were read before
        for chunk, done in _chunks(sorted(ids & lines.keys())):
            self._told("the jobs", done)
            rows = log.rows_of(chunk, [])
            for made in job_lines(self._folded(rows, chunk, ()), Instant(0)):
                line = lines[made.job]
                last_us = _newest(rows, made.job)
                entered = line.last_us >= last_us and line.last_us in self._chain.entered
                if replace(line, last_us=Instant(0)) != made or not entered:
                    yield f"the line of job {line.number} ({made.job}) is not what its rows say"

    def _shifts(self, db: sqlite3.Connection, log: Log) -> Iterator[str]:
        lines = {one.shift: one for one in log.shift_summaries()}
        ids = _ids(db, "shift", log.origin)
        yield from _compared("shift", ids, lines.keys())
        for chunk, done in _chunks(sorted(ids & lines.keys())):
            self._told("the shifts", done)
            for made in shift_lines(self._folded(log.rows_of([], chunk), (), chunk)):
                if lines[made.shift] != made:
                    yield f"the line of shift {made.shift} is not what its rows say"

    def _imports(self, log: Log) -> Iterator[str]:
        for said in every_imported(log):
            self._told("what was imported", 0.0)
            found = fold_imported(said.job, log.imported_rows(said.parts), said.as_of_us)
            self._odd |= {
                f"installation {odd.row.origin}, row {odd.row.seq}: is set aside, {odd.why}"
                for odd in found.odd
            }
            job = found.jobs.get(said.job)
            told = None if job is None else (job.opened.number, job.opened.vehicle)
            if told != (said.number, said.vehicle):
                yield f"imported job {said.number} ({said.job}) is not what its rows say"

    def _folded(self, rows: Sequence[Row], jobs: Sequence[str], shifts: Sequence[str]) -> Folded:
        made = folded(believed_rows(rows), jobs, shifts)
        self._odd |= {f"row {odd.row.seq}: is set aside, {odd.why}" for odd in made.odd}
        return made

    def _history(self, log: Log) -> Iterator[str]:
        path = path_beside(self._path)
        if not path.exists():
            return
        name = path.name
        with closing(read_only(path)) as db:
            yield from (f"{name}: {said}" for said in _pages(db))
        kept, anew = (Library(log, self._views, kept=how) for how in ("copy", "memory"))
        try:
            whole = anew.left() or 1
            for library in (kept, anew):
                while left := library.slice(_SLICE_S):
                    self._told("what is known of all jobs", max(0.0, 1 - left / whole))
                library.settle()
            tables = anew.history.rows(_SCHEMA)
            if sorted(kept.history.rows(_SCHEMA)) != sorted(tables):
                yield f"{name}: its tables are not as they were made"
                return
            words = [one[1] for one in tables if str(one[3]).startswith("CREATE VIRTUAL")]
            for table in words:
                yield from _words(kept.history, table, name)
            # How an index of words is kept hangs on the order in which it was made.
            within = tuple(f"{one}_" for one in words)
            for table in (one[1] for one in tables if one[0] == "table"):
                if table.startswith(within):
                    continue
                said, made = (
                    Counter(library.history.rows(f'SELECT * FROM "{table}"'))
                    for library in (kept, anew)
                )
                for (id_, *_values), _times in islice(((said - made) + (made - said)).items(), 1):
                    yield f"{name}: {table} is not what the rows say, of {id_} among others"
        finally:
            kept.close()
            anew.close()

    # The papers.

    def _issued(self, db: sqlite3.Connection) -> Iterator[str]:
        """Files among the papers that this log did not issue or that name rows it has not."""
        if self._papers is None or not self._papers.is_dir():
            return
        issued = {
            sha256
            for (sha256,) in db.execute(
                "SELECT json_extract(body, '$.sha256') FROM rows NOT INDEXED"
                " WHERE kind = 'PaperIssued'"
            )
        }
        holds = "SELECT 1 FROM rows NOT INDEXED WHERE digest = ?"
        for path in sorted(self._papers.glob("*/*")):
            if not is_issued(path):
                continue
            self._told("the papers", 0.0)
            content = path.read_bytes()
            named = f"{path.parent.name}/{path.name}"
            if path.parent.name != "days" and codec.sha256_of(content) not in issued:
                yield f"paper {named}: is not one that this log issued, or was changed since"
            for digest in {found.decode() for found in _TOLD.findall(content)}:
                if db.execute(holds, (digest,)).fetchone() is None:
                    yield f"paper {named}: names row {digest[:12]}, which is not in this log"


def _words(history: History, table: str, name: str) -> Iterator[str]:
    """Whether an index of words is that of the texts it is of (sqlite.org/fts5.html, 6.4)."""
    try:
        history.rows(f'INSERT INTO "{table}" ("{table}", rank) VALUES (\'integrity-check\', 1)')
    except sqlite3.Error as error:
        yield f"{name}: {table} is not the index of its texts ({_one_line(error)})"


def _one_line(error: BaseException) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _origin(db: sqlite3.Connection) -> str:
    found = db.execute("SELECT origin FROM cart").fetchall()
    return str(found[0][0]) if len(found) == 1 else ""


def _schema_faults(db: sqlite3.Connection) -> Iterator[str]:
    """Tables, indexes and triggers that are not the ones the migrations make."""
    owner = db.execute("PRAGMA application_id").fetchone()[0]
    version = db.execute("PRAGMA user_version").fetchone()[0]
    newest = len(schema.MIGRATIONS)
    if owner != schema.APPLICATION_ID:
        yield "the file does not say that it is a log"
    if version > newest:
        yield f"its tables are of version {version}, known here up to {newest}"
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as new:
        schema.migrate(new, schema.MIGRATIONS[:version] or schema.MIGRATIONS)
        wanted = {line[:2]: line[2:] for line in new.execute(_SCHEMA)}
    found = {line[:2]: line[2:] for line in db.execute(_SCHEMA)}
    for kind, name in sorted(wanted.keys() - found.keys()):
        yield f"the {kind} {name} is missing"
    for kind, name in sorted(found.keys() - wanted.keys(), key=str):
        yield f"the {kind} {name} does not belong to a log"
    for key in sorted(wanted.keys() & found.keys()):
        if wanted[key] != found[key]:
            yield f"the {key[0]} {key[1]} is not as it was made"


def _pages(db: sqlite3.Connection) -> Iterator[str]:
    for (said,) in db.execute(f"PRAGMA integrity_check({_MOST})"):
        if said != "ok":
            yield f"the file is damaged: {_one_line(ValueError(said))}"


def _beat(log: Log) -> Iterator[str]:
    """A sign of life that lies ahead of the newest press, and not by what its clocks said."""
    beat, newest = log.last_beat(), log.rows_after(log.head.seq - 1)
    if beat is None or not newest or beat.at_us <= newest[-1].entered_us:
        return
    said_us = job_time(newest[-1], beat.evidence).at_us
    # Over a boot it may be earlier: so far ahead the wall clock is not believed unasked.
    if beat.at_us > said_us or (beat.evidence.boot == newest[-1].boot and beat.at_us != said_us):
        yield "the heartbeat is not what its clocks said"


def _asked(db: sqlite3.Connection, log: Log) -> Iterator[str]:
    if db.execute("SELECT 1 FROM asking").fetchone() is not None and log.asked() is None:
        yield "the question that waits for an answer is not what was asked"


def _ids(db: sqlite3.Connection, column: str, origin: str) -> set[str]:
    asked = (
        f"SELECT DISTINCT {column} FROM rows NOT INDEXED WHERE {column} IS NOT NULL AND origin = ?"
    )
    return {one for (one,) in db.execute(asked, (origin,))}


def _newest(rows: Iterable[Row], job: str) -> int:
    return max(row.entered_us for row in rows if row.job == job)


def _compared(of: str, rows: Iterable[str], lines: Iterable[str]) -> Iterator[str]:
    told, said = set(rows), set(lines)
    for id_ in sorted(told - said):
        yield f"the line of {of} {id_} is missing"
    for id_ in sorted(said - told):
        yield f"there is a line of {of} {id_}, of which no row speaks"


def _chunks(ids: Sequence[str]) -> Iterator[tuple[list[str], float]]:
    rest = iter(ids)
    done = 0
    while chunk := list(islice(rest, _AT_ONCE)):
        yield chunk, done / len(ids)
        done += len(chunk)
