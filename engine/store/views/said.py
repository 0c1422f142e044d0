"""What is said of each job, to be found by words.

What is sealed stands in a column of its own, by what the log still holds: a text that was forgotten
there is asked for in vain when the line is made anew (`engine.store.library.Library.forget`).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from typing import ClassVar

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.sealed import Said, Sealed
from cartclock.engine.facts.view import Subject, TableLine, View
from cartclock.engine.letters import plate_letters
from cartclock.engine.store import codec
from cartclock.engine.store.library import KNOWN_JOBS, Library

# Vehicle, plate and words in any language: whole words and beginnings, without accents.
_SEARCH = "tokenize = 'unicode61 remove_diacritics 2', prefix = '1 2 3'"
# Not what is said of the job: an older text of the opening, and where a file lies.
_NOT_SAID = (ev.JobAmended, ev.FileAttached)
# A plate is typed in so many words at most, beside so few others that they are looked through for
# one. Our own judgement.
_PLATE_WORDS, _MOST_WORDS = 4, 8


class SaidOfJob(Struct, frozen=True):
    """What is said of a job.

    Fields:
        open: number, vehicle, plan, body, products, panels on which damage or what went wrong was
            noted (every job works on most panels), a text with blanks.
        private: names, plate, phone, notes and reasons that are still held; the plate also without
            blanks and hyphens.
        refs: of the sealed texts among them.
    """

    open: str
    private: str
    refs: tuple[str, ...]


class SaidOfJobs(View[SaidOfJob]):
    """The texts, and beside them an index of their words that two triggers keep."""

    name, version, of = "said", 3, "job"
    imported = True
    kinds = frozenset(tag for tag, kind in ev.KINDS.items() if kind.of == "job")
    tables: ClassVar = {
        "said": (
            # `nth` ties a line to its words; it is made of the id, so that it stays through a
            # vacuum and is the same in every file.
            "CREATE TABLE said (id TEXT NOT NULL UNIQUE, open TEXT NOT NULL,"
            " private TEXT NOT NULL, nth INTEGER PRIMARY KEY) STRICT",
            "CREATE VIRTUAL TABLE words USING fts5"
            # Written so that sqlite-utils knows which table it searches.
            f" (open, private, content=\"said\", content_rowid = 'nth', {_SEARCH})",
            "CREATE TRIGGER said_added AFTER INSERT ON said BEGIN"
            " INSERT INTO words (rowid, open, private) VALUES (NEW.nth, NEW.open, NEW.private);"
            " END",
            "CREATE TRIGGER said_gone AFTER DELETE ON said BEGIN"
            " INSERT INTO words (words, rowid, open, private)"
            " VALUES ('delete', OLD.nth, OLD.open, OLD.private); END",
        ),
        "said_sealed": (
            "CREATE TABLE said_sealed (id TEXT NOT NULL, ref TEXT NOT NULL,"
            " PRIMARY KEY (id, ref)) STRICT, WITHOUT ROWID",
            "CREATE INDEX said_sealed_ref ON said_sealed (ref)",
        ),
    }

    def part(self, seen: Subject) -> SaidOfJob:
        return said_of(seen.job, seen.text)

    def lines(self, id_: str, part: SaidOfJob) -> list[TableLine]:
        found: list[TableLine] = [("said", (id_, part.open, part.private, _nth(id_)))]
        found += [("said_sealed", (id_, ref)) for ref in part.refs]
        return found

    # Asking.

    def saying(self, library: Library, words: Iterable[str]) -> set[str]:
        """The jobs of which all of these words, or words that begin so, are said."""
        told = list(words)
        if not all(any(sign.isalnum() for sign in word) for word in told):
            return set()
        wanted = _wanted(told)
        found = {id_ for (id_,) in library.rows(_SAYING, wanted)}
        return found | _saying(library.parts(self), wanted)

    def referring(self, library: Library, refs: Iterable[str]) -> set[str]:
        """The jobs of which these sealed texts were said."""
        wanted = set(refs)
        found = library.rows(_REFERRING, codec.json_list(wanted))
        return {id_ for (id_,) in found} | {
            id_ for id_, part in library.parts(self) if not wanted.isdisjoint(part.refs)
        }


_SAYING = (
    f"SELECT id FROM words JOIN said ON nth = words.rowid WHERE words MATCH ? AND {KNOWN_JOBS}"
)
_REFERRING = "SELECT id FROM said_sealed WHERE ref IN (SELECT value FROM json_each(?))"


def _wanted(words: Sequence[str]) -> str:
    """All of the words, or neighbours among them as one: a plate is typed with blanks and hyphens
    and without.
    """
    ways = {" AND ".join(map(_phrase, words))}
    for at in range(len(words) if len(words) <= _MOST_WORDS else 0):
        for end in range(at + 1, min(len(words), at + _PLATE_WORDS) + 1):
            whole = plate_letters("".join(words[at:end]))
            ways.add(" AND ".join(map(_phrase, (*words[:at], whole, *words[end:]))))
    return " OR ".join(f"({way})" for way in sorted(ways))


def _phrase(word: str) -> str:
    """A word as the index is asked: its parts in their order, the last from its beginning."""
    return '"' + word.replace('"', " ") + '"*'


def _saying(parts: Sequence[tuple[str, SaidOfJob]], wanted: str) -> set[str]:
    """Of these jobs those that say it: by an index of the same kind, so that none is read
    otherwise than in the file."""
    if not parts:
        return set()
    with closing(sqlite3.connect(":memory:")) as db:
        db.execute(
            f"CREATE VIRTUAL TABLE words USING fts5 (id UNINDEXED, open, private, {_SEARCH})"
        )
        db.executemany(
            "INSERT INTO words VALUES (?, ?, ?)",
            [(id_, part.open, part.private) for id_, part in parts],
        )
        found = db.execute("SELECT id FROM words WHERE words MATCH ?", (wanted,)).fetchall()
    return {id_ for (id_,) in found}


def _nth(id_: str) -> int:
    # On use, as wherever something is digested.
    from hashlib import blake2b

    return int.from_bytes(blake2b(id_.encode(), digest_size=8).digest(), "big") >> 1


def said_of(job: Job, text: Callable[[str], str | None]) -> SaidOfJob:
    """What is said of a job. text: a sealed text by its reference; None if it was forgotten."""
    opened, plan = job.opened, job.opened.plan
    events = [row.event for row in (*job.facts, *job.overruled)]
    panels = [
        f"{event.panel} {event.what}"
        for event in events
        if isinstance(event, ev.DamageNoted | ev.IncidentNoted)
    ]
    spoken = [opened.vehicle, plan.name, plan.shape, *panels, *(one.name for one in plan.products)]
    sealed: list[Sealed] = list(codec.seals(opened))
    for event in events:
        if not isinstance(event, _NOT_SAID):
            sealed += codec.seals(event)
    whys = [one.why for one in job.sections.values() if one.why]
    sealed += [why.sealed for why in whys if isinstance(why, Said) and why.sealed is not None]
    refs = tuple(sorted({one.ref for one in sealed}))
    held = [held for ref in refs if (held := text(ref)) is not None]
    plate = "" if opened.plate is None else text(opened.plate.ref) or ""
    held.append(plate_letters(plate))
    # Words of the first version stand in the rows themselves.
    held += [str(why) for why in whys if not isinstance(why, Said) or why.sealed is None]
    return SaidOfJob(
        open=" ".join(dict.fromkeys(word for word in (str(opened.number), *spoken) if word)),
        private="\n".join(dict.fromkeys(one for one in held if one)),
        refs=refs,
    )


SAID = SaidOfJobs()
