"""The file a job is carried in: JSON Lines, as `FORMAT.md` says.

A row stands in it as the very text its digest was reckoned over, so whoever reads it needs no
more than SHA-256 to check it. `read` believes nothing: what it returns has been looked at.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from cartclock.engine.facts.events import Unknown
from cartclock.engine.facts.imported import ImportedRows, runs_text
from cartclock.engine.facts.put_right import put_right
from cartclock.engine.facts.rows import Row
from cartclock.engine.store import codec
from cartclock.engine.store.chain import Progress, nobody
from cartclock.engine.store.codec import PrivateText, Stored
from cartclock.engine.store.plain_file import first_bytes
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused

JOB_FORMAT = "cartclock job"
JOB_VERSION = 1
# A job of a week with a helper has a thirtieth of it. Our own judgement.
MOST_JOB_BYTES = 32_000_000

NOT_IMPORTED = "Nothing was imported: "
_GREATEST = 2**63 - 1
# A UUID as it is written (RFC 9562, section 4).
_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
# So often it is said how far it is.
_EVERY_LINES = 2_000


class Header(Struct, frozen=True):
    """The first line.

    Fields:
        format, version: `JOB_FORMAT`, and of this page of it.
        program: version of the program that wrote it.
        job, number, vehicle: which job.
        as_of_us: job time of the export, microseconds UTC.
        private: whether private texts of the job are in it.
        origins: its rows, by the log they were written to; `seq` and `digest` are its head.
        plans, texts: how many lines of plan files and of private texts follow on the rows.
    """

    format: str
    version: int
    program: str
    job: str
    number: int
    vehicle: str
    as_of_us: Instant
    private: bool
    origins: tuple[ImportedRows, ...]
    plans: int = 0
    texts: int = 0


class PlanLine(Struct, frozen=True):
    """The text of a plan file; `plan` is its hex SHA-256."""

    plan: str
    text: str


class TextLine(Struct, frozen=True):
    """A private text; `private` is the reference that rows give it, `salt` is in hex."""

    private: str
    salt: str
    text: str


class JobFile(Struct, frozen=True):
    """What is in a file.

    Fields:
        header: its first line.
        stored: the rows as their log holds them, by log and number.
        rows: the same, to be folded, with the private texts of the file put in.
        plans: hex SHA-256 of a plan file -> its text.
        texts: private texts that rows refer to.
    """

    header: Header
    stored: Sequence[Stored]
    rows: Sequence[Row]
    plans: Mapping[str, str]
    texts: Sequence[PrivateText]


# Columns of a row but its digest, as JSON holds them.
_RowLine = tuple[
    str, int, int, str | None, str | None, str, str, int, int, int, int, str, int, int, str, str,
    str,
]  # fmt: skip

_header = msgspec.json.Decoder(Header)
_row = msgspec.json.Decoder(_RowLine)
_plan = msgspec.json.Decoder(PlanLine)
_text = msgspec.json.Decoder(TextLine)


def no_import(why: str) -> Refused:
    """A refusal to import. why: an end of a sentence that says what stands instead."""
    return Refused(f"{NOT_IMPORTED}{why}")


def parts_of(stored: Iterable[Stored], heads: Mapping[str, tuple[int, str]]) -> list[ImportedRows]:
    """What is said of rows, by rising log and number.

    heads: newest number and digest of each log they were written to.
    """
    of: dict[str, list[Stored]] = {}
    for line in stored:
        of.setdefault(line[0], []).append(line)
    return [
        ImportedRows(
            origin,
            *heads[origin],
            runs_text(line[1] for line in lines),
            codec.sha256_of("".join(line[-1] for line in lines).encode()),
        )
        for origin, lines in sorted(of.items())
    ]


def written(
    header: Header,
    stored: Iterable[Stored],
    plans: Mapping[str, str],
    texts: Iterable[PrivateText],
) -> bytes:
    """The whole file. stored: the rows that the header names, in that order."""
    encode = msgspec.json.encode
    lines = [encode(header)]
    lines += [codec.digested(line[:-1]) for line in stored]
    lines += [encode(PlanLine(sha256, text)) for sha256, text in sorted(plans.items())]
    lines += [encode(TextLine(one.ref, one.salt.hex(), one.text)) for one in texts]
    return b"\n".join((*lines, b""))


def content_of(path: Path) -> bytes:
    """What is in a file; raises Refused for one that is not plain, or longer than any job."""
    try:
        content = first_bytes(path, MOST_JOB_BYTES + 1)
    except (OSError, ValueError) as why:
        said = getattr(why, "strerror", None) or why
        raise no_import(f"{path} cannot be read ({said}).") from None
    if content is None:
        raise no_import(f"{path} is no plain file; name one that cartclock export wrote.")
    if len(content) > MOST_JOB_BYTES:
        raise no_import(
            f"{path} is longer than {MOST_JOB_BYTES // 1_000_000} MB, which no job "
            "is; name a file that cartclock export wrote."
        )
    return content


def read(content: bytes, told: Progress = nobody) -> JobFile:
    """What is in a file, checked by itself. Raises Refused, saying what is wrong with it."""
    lines = content.split(b"\n")
    header = _header_of(lines[0])
    if lines.pop() != b"":
        raise no_import("the file ends in the midst of a line; export the job anew.")
    rows_end = len(lines) - header.plans - header.texts
    if min(header.plans, header.texts, rows_end - 1) < 0:
        raise no_import("the file has fewer lines than it says; export the job anew.")
    stored = [
        _stored(line, number, told, rows_end) for number, line in enumerate(lines[1:rows_end], 2)
    ]
    _mind_order(stored)
    _mind_header(header, stored)
    plans_end = rows_end + header.plans
    plans = dict(_plan_of(line) for line in lines[rows_end:plans_end])
    texts = [_text_of(line) for line in lines[plans_end:]]
    rows = codec.rows(line[:-2] for line in stored)
    rows = put_right(rows, rows)
    _mind_times(header, rows)
    _mind_known(rows)
    _mind_texts(rows, texts)
    held = {one.ref: one.text for one in texts}
    rows = [msgspec.structs.replace(row, event=codec.as_held(row.event, held)) for row in rows]
    return JobFile(header, stored, sorted(rows, key=lambda row: row.written), plans, texts)


def _header_of(line: bytes) -> Header:
    try:
        about = msgspec.json.decode(line)
    except (ValueError, RecursionError):
        about = None
    if not isinstance(about, dict) or about.get("format") != JOB_FORMAT:
        raise no_import("this is no file that cartclock export wrote.")
    version, program = about.get("version"), about.get("program")
    if version != JOB_VERSION:
        raise no_import(
            f"the file is of version {version!r} of its format, known here is "
            f"{JOB_VERSION}; it was written by cartclock {program}: install that one here."
        )
    try:
        header = _header.decode(line)
    except (ValueError, RecursionError) as why:
        raise no_import(f"the first line is not as it was written ({why}).") from None
    if _ID.fullmatch(header.job) is None:
        raise no_import("the first line names no job; export it anew.")
    return header


def _stored(line: bytes, number: int, told: Progress, count: int) -> Stored:
    """A row as its log holds it, its digest reckoned of the line."""
    if number % _EVERY_LINES == 0:
        told("Checking the file", number / count)
    try:
        values = _row.decode(line)
        # Only one text stands for a row: what it says must not hang on who reads it.
        same = codec.digested(values) == line
    except (ValueError, RecursionError):
        same = False
    if not same or not _fits(values):
        raise no_import(f"line {number} is not a row as a log holds it; export the job anew.")
    return (*values, codec.sha256_of(line))


def _fits(values: Sequence[Any]) -> bool:
    """Whether the columns hold what the table takes."""
    seq, press, sure, by, body = values[1], values[2], values[13], values[14], values[15]
    numbers = (one for one in values if isinstance(one, int))
    return (
        all(abs(one) <= _GREATEST for one in numbers)
        and 0 <= press <= seq
        and sure in (0, 1)
        and by in ("worker", "machine")
        and isinstance(body, str)
    )


def _mind_order(stored: Sequence[Stored]) -> None:
    for before, line in pairwise(stored):
        if line[:2] <= before[:2]:
            raise no_import(
                f"row {line[1]} stands behind row {before[1]} of its log; export the job anew."
            )
        if line[0] == before[0] and line[1] == before[1] + 1 and line[-2] != before[-1]:
            raise no_import(
                f"row {line[1]} does not follow on the row before it: one of them is "
                "not what was written; export the job anew."
            )


def _mind_header(header: Header, stored: Sequence[Stored]) -> None:
    """Raises Refused unless the rows are exactly those that the first line names."""
    origins = [one.origin for one in header.origins]
    heads = {one.origin: (one.seq, one.digest) for one in header.origins}
    if not stored or Counter(origins) != Counter({line[0]: 1 for line in stored}.keys()):
        raise no_import("the rows are not those that the first line names.")
    for line in stored:
        seq, digest = heads[line[0]]
        if line[1] > seq or (line[1] == seq and line[-1] != digest):
            raise no_import(
                f"row {line[1]} is not one of a log that ends with row {seq}, "
                f"{digest[:12]}; export the job anew."
            )
    if tuple(parts_of(stored, heads)) != header.origins:
        raise no_import(
            "a row that the first line names is missing or not what was written; "
            "export the job anew."
        )


# Papers tell dates of some years ahead of what they are made of, and the calendar ends with 9999.
_YEARS = (1900, 9900)
_EARLIEST_US, _LATEST_US = (
    Instant(round(datetime(year, 1, 1, tzinfo=UTC).timestamp()) * 1_000_000) for year in _YEARS
)


def _mind_times(header: Header, rows: Sequence[Row]) -> None:
    """Raises Refused if a row lies behind the moment of the export, or speaks of a time outside
    the calendar.

    rows: with the times that corrections of the time gave them by then.
    """
    for row in rows:
        if row.entered_us > header.as_of_us:
            raise no_import(f"row {row.seq} is later than the first line says the file is.")
        said = (getattr(row.event, name) for name in codec.instant_fields(type(row.event)))
        for at_us in (row.at_us, row.entered_us, header.as_of_us, *said):
            if at_us is not None and not _EARLIEST_US <= at_us <= _LATEST_US:
                raise no_import(
                    f"row {row.seq} speaks of a time before {_YEARS[0]} or behind {_YEARS[1]}, "
                    "which no job is worked in; export it anew."
                )


def _plan_of(line: bytes) -> tuple[str, str]:
    try:
        one = _plan.decode(line)
        if codec.sha256_of(one.text.encode()) == one.plan:
            return one.plan, one.text
    except (ValueError, RecursionError):
        pass
    raise no_import("a plan is not what was written; export the job anew.")


def _text_of(line: bytes) -> PrivateText:
    try:
        one = _text.decode(line)
        salt = bytes.fromhex(one.salt)
        # A salt is written in one way only.
        if salt.hex() == one.salt:
            return PrivateText(one.private, salt, one.text)
    except (ValueError, RecursionError):
        pass
    raise no_import("a private text is not what was written; export the job anew.")


def _mind_known(rows: Iterable[Row]) -> None:
    for row in rows:
        if isinstance(row.event, Unknown):
            raise no_import(
                f"row {row.seq} is of a kind this version cannot read "
                f"({row.event.kind}, version {row.event.v}); install the cartclock here that "
                "exported it."
            )


def _mind_texts(rows: Iterable[Row], texts: Iterable[PrivateText]) -> None:
    said = {sealed.ref: sealed for row in rows for sealed in codec.seals(row.event)}
    for one in texts:
        if said.get(one.ref) != one.sealed:
            raise no_import(
                f"private text {one.ref} is not one that a row sealed; export the job anew."
            )
