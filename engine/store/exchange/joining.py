"""What of a file is new to a log, and whether the two can be of the same past at all."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.facts.imported import ImportedRows
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.codec import PrivateText, Stored
from cartclock.engine.store.exchange.job_file import JobFile, no_import
from cartclock.engine.store.imported import imported
from cartclock.engine.store.log import Log
from cartclock.engine.trouble import Refused

# So many letters of a digest are shown; papers print as many.
_SHOWN = 12
_EVERY_ROWS = 2_000


class Joining(Struct, frozen=True):
    """What a file brings to a log.

    Fields:
        stored: rows that the log has not.
        texts: private texts that it has not.
        plans: digests of plan files that it has not.
        own: True if the job is this log's own, so that there is nothing to join.
        older: True if what is here of the job is newer than the file.
        known: True if it was imported with the same rows before, as of then or later.
    """

    stored: Sequence[Stored]
    texts: Sequence[PrivateText]
    plans: frozenset[str]
    own: bool
    older: bool
    known: bool

    @property
    def nothing(self) -> bool:
        """True if the file brings nothing."""
        return self.own or (self.known and not (self.stored or self.texts or self.plans))


def joining(log: Log, file: JobFile, told: Progress = nobody) -> Joining:
    """What a file brings to a log.

    Raises Refused where file and log have the same row with another content, or the file holds
    rows of this very log that it has not.
    """
    new = _new_rows(log, file, told)
    _mind_heads(log, file)
    job = file.header.job
    own = any(one.origin == log.origin for one in file.header.origins)
    mine = [line for line in new if line[0] == log.origin]
    if mine:
        raise _older_copy(mine[0])
    if not own and log.summaries.is_own(job):
        raise no_import(
            "the job was begun on this laptop, and rows of another cannot join it; "
            "what is here stays as it is."
        )
    before, as_of_us = imported(log, job), file.header.as_of_us
    texts = [one for one in file.texts if log.private_text(one.ref) is None]
    plans = frozenset(sha256 for sha256 in file.plans if log.plan_text(sha256) is None)
    return Joining(
        stored=new,
        texts=texts,
        plans=plans,
        own=own,
        older=before is not None and _is_older(file.header.origins, before.parts),
        known=before is not None
        and before.parts == file.header.origins
        and before.as_of_us >= as_of_us,
    )


def taking(log: Log, file: JobFile, told: Progress = nobody) -> Joining:
    """What a file brings to a log that goes on with its job.

    Raises Refused as `joining` does; the job may have been on this cart before, all of whose rows
    in the file must be those that are here.
    """
    new = _new_rows(log, file, told)
    _mind_heads(log, file)
    mine = [line for line in new if line[0] == log.origin]
    if mine:
        raise _older_copy(mine[0])
    return Joining(
        stored=new,
        texts=[one for one in file.texts if log.private_text(one.ref) is None],
        plans=frozenset(sha256 for sha256 in file.plans if log.plan_text(sha256) is None),
        own=False,
        older=False,
        known=not new,
    )


def _older_copy(mine: Stored) -> Refused:
    return no_import(
        f"row {mine[1]} of this very log is in the file and not in the log: what "
        "is here is an older copy; put the newest one back with cartclock restore FILE."
    )


def _is_older(file: Sequence[ImportedRows], here: Sequence[ImportedRows]) -> bool:
    heads = {one.origin: one.seq for one in here}
    return any(one.seq < heads.get(one.origin, -1) for one in file)


def _new_rows(log: Log, file: JobFile, told: Progress) -> list[Stored]:
    held = {(line[0], line[1]): line[-1] for line in log.stored_rows(file.header.origins)}
    new: list[Stored] = []
    count = len(file.stored)
    for index, line in enumerate(file.stored):
        if index % _EVERY_ROWS == 0:
            told("Comparing with the log", index / count)
        here = held.get(line[:2])
        if here is None:
            new.append(line)
        elif here != line[-1]:
            raise _parted(line[0], line[1], here, line[-1])
    _mind_neighbours(log, file)
    return new


def _mind_neighbours(log: Log, file: JobFile) -> None:
    """Raises Refused where a row does not follow on the one before it in the log, or one of the
    log on a row of the file: what lies between rows that are here may be of another past."""
    there = {(line[0], line[1]) for line in file.stored}
    for line in file.stored:
        origin, seq = line[0], line[1]
        if (origin, seq - 1) not in there:
            here = log.digest_of(origin, seq - 1)
            if here and here != line[-2]:
                raise _parted(origin, seq - 1, here, line[-2])
        if (origin, seq + 1) not in there:
            here = log.follows_on(origin, seq + 1)
            if here and here != line[-1]:
                raise _parted(origin, seq, here, line[-1])


def _mind_heads(log: Log, file: JobFile) -> None:
    """Raises Refused where the head of a log in the file is not the row of that number here, or an
    import before told of another one."""
    there = {(line[0], line[1]): line[-1] for line in file.stored}
    there |= {(one.origin, one.seq): one.digest for one in file.header.origins}
    heads = file.header.origins
    here = [(one.origin, one.seq, log.digest_of(one.origin, one.seq)) for one in heads]
    befores = (imported(log, job) for job in sorted(log.imports_telling(there.keys())))
    told = [one for before in befores if before is not None for one in before.parts]
    here += [(one.origin, one.seq, one.digest) for one in told]
    for origin, seq, digest in here:
        other = there.get((origin, seq), digest)
        if digest and other != digest:
            raise _parted(origin, seq, digest, other)


def _parted(origin: str, seq: int, here: str, there: str) -> Refused:
    return no_import(
        f"two logs parted. Row {seq} of installation {origin} is {here[:_SHOWN]} here "
        f"and {there[:_SHOWN]} in the file, so one of them was copied or put back and went on. "
        "What is here stays as it is; cartclock check-log on the other laptop says which of them "
        "its log holds."
    )
