"""Events and rows as the disk holds them, and the chain that ties the rows together.

A row is stored as the columns `COLUMNS`. `body` is the event as canonical JSON: keys
sorted, no blanks, every field written. `digest` is the hex SHA-256 of the canonical JSON
array of all columns before it, in column order and as stored (NULL is null); the last of
them is `prev`, the digest of the row before ("" for the first). So one changed column
breaks its own row, and a row written anew breaks the one behind it. What no chain can
show is rows cut off at its end, or a chain reckoned anew from the change to the end.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from typing import Any, get_args, get_type_hints

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.events import KINDS, TAGS, Unknown
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.sealed import FORGOTTEN, Said, Sealed
from cartclock.engine.press import Press
from cartclock.engine.store.upcasts import UPCASTS, newest_version
from cartclock.engine.times import Instant
from cartclock.engine.trouble import StoreFault

# fmt: off
COLUMNS = (
    "origin", "seq", "press", "shift", "job", "worker", "kind", "v", "at_us", "entered_us",
    "wall_us", "boot", "tick_us", "sure", "by", "body", "prev", "digest",
)
# fmt: on
ROW_COLUMNS = COLUMNS[:-2]

# Gives so many random bytes.
Entropy = Callable[[int], bytes]

# 256 bits: short private texts such as phone numbers cannot be found by trying.
_SALT_BYTES = 32

# One stored row, its values in the order of COLUMNS.
Stored = tuple[Any, ...]


def _written(value: Any) -> Any:
    """Words as they stand in a body: their reference, or the text where there is none."""
    if isinstance(value, Said):
        return str(value) if value.sealed is None else value.sealed
    raise TypeError(f"{type(value).__name__} stands in no body")


def _read(wanted: type, value: Any) -> Any:
    """Words out of a body; their text is put in by who holds it (`with_words`)."""
    if wanted is not Said:
        raise TypeError(f"{wanted.__name__} stands in no body")
    if isinstance(value, str):
        return Said(value)
    return Said(FORGOTTEN, msgspec.convert(value, Sealed))


_encode = msgspec.json.Encoder(order="sorted", enc_hook=_written).encode

_Decoder = Callable[[str], Any]


def _older(tag: str, v: int) -> _Decoder:
    """Reads bodies of an older version; raises for what does not fit, as a decoder does."""

    def decoded(body: str) -> Struct:
        now, _v, found = newest_version(tag, v, msgspec.json.decode(body))
        event: Struct = msgspec.convert(found, KINDS[now].event, dec_hook=_read)
        return event

    return decoded


class Decoders(dict[tuple[str, int], _Decoder | None]):
    """(tag, version) -> how such a body is read, by `KINDS` and `UPCASTS`; None for what is not
    known. Made when the first row of its kind is read: most logs hold few kinds, and all of
    them together take a tenth of the time until the first picture."""

    def __missing__(self, of: tuple[str, int]) -> _Decoder | None:
        tag, v = of
        kind = KINDS.get(tag)
        if of in UPCASTS:
            self[of] = _older(tag, v)
        elif kind is not None and kind.v == v:
            self[of] = msgspec.json.Decoder(kind.event, dec_hook=_read).decode
        else:
            return None
        return self[of]


_decoders = Decoders()


@cache
def sealed_fields(event: type[Struct]) -> tuple[str, ...]:
    """Names of the fields of an event that hold a private text."""
    hints = get_type_hints(event)
    return tuple(n for n, hint in hints.items() if hint is Sealed or Sealed in get_args(hint))


@cache
def word_fields(event: type[Struct]) -> tuple[str, ...]:
    """Names of the fields of an event that hold words of a person."""
    hints = get_type_hints(event)
    return tuple(n for n, hint in hints.items() if hint is Said or Said in get_args(hint))


@cache
def instant_fields(event: type[Struct]) -> tuple[str, ...]:
    """Names of the fields of an event that hold an instant."""
    hints = get_type_hints(event)
    return tuple(n for n, hint in hints.items() if hint is Instant or Instant in get_args(hint))


def sealed_words(event: Struct) -> tuple[str, ...]:
    """The words of an event, each as it stands in memory."""
    found: list[str] = []
    for name in word_fields(type(event)):
        match getattr(event, name):
            case str() as one:
                found.append(one)
            case dict() as several:
                found += several.values()
            case several:
                found += several
    return tuple(found)


def with_words(event: Struct, turned: Callable[[str], str]) -> Struct:
    """The event with each of its words turned into others."""
    anew: dict[str, Any] = {}
    for name in word_fields(type(event)):
        match getattr(event, name):
            case str() as one:
                anew[name] = turned(one)
            case dict() as several:
                anew[name] = {key: turned(one) for key, one in several.items()}
            case several:
                # What does not fit is refused when it is written.
                anew[name] = type(several)(turned(one) for one in several)
    return replace(event, **anew) if anew else event


def as_held(event: Struct, texts: Mapping[str, str]) -> Struct:
    """The event with its sealed words as texts; ref -> text, without what was forgotten."""

    def turned(one: str) -> str:
        sealed = one.sealed if isinstance(one, Said) else None
        return one if sealed is None else Said(texts.get(sealed.ref, FORGOTTEN), sealed)

    return with_words(event, turned)


def read_back(event: Struct) -> Struct:
    """The event as it will be read from the log: 20 in a field of a fraction is 20.0 then.

    Raises StoreFault for one that would not read back equal to itself (a number that is not finite
    or that no plan may say, a list for a tuple, text that is not Unicode): what is not read back
    was not recorded.
    """
    if isinstance(event, Unknown):
        return event
    tag = TAGS.get(type(event), "")
    try:
        said = [one for one in sealed_words(event) if isinstance(one, Said)]
        texts = {one.sealed.ref: str(one) for one in said if one.sealed is not None}
        read = as_held(decode(tag, KINDS[tag].v, _encode(event).decode()), texts)
    except (LookupError, TypeError, ValueError, OverflowError, RecursionError):
        read = None
    if read is None or read != event:
        raise StoreFault(
            f"Nothing was written: the log cannot hold this {tag or type(event).__name__} as it "
            "was said; look for a number that is too large or a character that is no text."
        )
    return read


def encode(event: Struct) -> tuple[str, int, str]:
    """An event as (kind, v, body), the body being that of the event as it is read back.

    So reading a row and encoding it again changes nothing. An `Unknown` gives back what it was
    read from. Raises StoreFault like `read_back`.
    """
    if isinstance(event, Unknown):
        return event.kind, event.v, event.body
    read = read_back(event)
    tag = TAGS[type(event)]
    return tag, KINDS[tag].v, _encode(read).decode()


def decode(kind: str, v: int, body: str) -> Struct:
    """The event of a stored (kind, v, body).

    Total: a kind or version this program does not know, or a body that does not fit its
    kind, comes back as `Unknown` and is never raised.
    """
    decoder = _decoders[kind, v]
    if decoder is None:
        return Unknown(kind, v, body)
    try:
        event: Struct = decoder(body)
    except (LookupError, ValueError, TypeError, RecursionError):
        return Unknown(kind, v, body)
    return event


def json_list(values: Iterable[str] | Iterable[int]) -> str:
    """Values as one of a query, which reads them with `json_each`."""
    return msgspec.json.encode(list(values)).decode()


def sha256_of(content: bytes) -> str:
    """SHA-256 of some bytes as 64 lower-case hex digits."""
    # On use: what only reads digests nothing, and behind it comes a whole library of ciphers.
    from hashlib import sha256

    return sha256(content).hexdigest()


def digested(values: Iterable[Any]) -> bytes:
    """What the digest of a stored row is reckoned over: all columns but the last, `prev` included,
    as a canonical JSON array.

    Raises UnicodeEncodeError for text that is not Unicode.
    """
    return _encode(list(values))


def digest(values: Iterable[Any]) -> str:
    """Digest of a stored row: hex SHA-256 over `digested`; raises like it."""
    return sha256_of(digested(values))


def stored(row: Row, prev: str) -> Stored:
    """The columns of a row that follows on the digest `prev`, in the order of COLUMNS.

    Raises StoreFault for a row that cannot be stored.
    """
    kind, v, body = encode(row.event)
    values = (
        row.origin,
        row.seq,
        row.press.seq,
        row.shift or None,
        row.job or None,
        row.worker,
        kind,
        v,
        row.at_us,
        row.entered_us,
        row.wall_us,
        row.boot,
        row.tick_us,
        int(row.sure),
        row.by,
        body,
        prev,
    )
    try:
        return (*values, digest(values))
    except ValueError as error:
        raise StoreFault(
            "Nothing was written: the worker's name holds a character that is no text; "
            "change it in the settings."
        ) from error


def rows(lines: Iterable[Stored]) -> list[Row]:
    """Rows from values in the order of ROW_COLUMNS; total, see `decode`."""
    found: list[Row] = []
    # The rows of a press share it.
    of = Press("", -1)
    # Rows hold no cycles; without the pause half of a long reading is the collector's search.
    collects = gc.isenabled()
    gc.disable()
    try:
        # `decode` is written out: a call for each of a million rows is a tenth of the time.
        # fmt: off
        for (origin, seq, press, shift, job, worker, kind, v, at_us, entered_us,
             wall_us, boot, tick_us, sure, by, body) in lines:
            decoder = _decoders[kind, v]
            try:
                event = Unknown(kind, v, body) if decoder is None else decoder(body)
            except (LookupError, ValueError, TypeError, RecursionError):
                event = Unknown(kind, v, body)
            if of.seq != press or of.origin != origin:
                of = Press(origin, press)
            found.append(
                Row(origin, seq, of, shift or "", job or "", worker, at_us, entered_us,
                    wall_us, boot, tick_us, sure == 1, by, event)
            )
        # fmt: on
    finally:
        if collects:
            gc.enable()
    return found


def seals(event: Struct) -> tuple[Sealed, ...]:
    """The private texts an event refers to, its words last."""
    values = [getattr(event, name) for name in sealed_fields(type(event))]
    values += [one.sealed for one in sealed_words(event) if isinstance(one, Said)]
    return tuple(value for value in values if value is not None)


def commitment(salt: bytes, text: str) -> str:
    """What a log says of a private text: hex SHA-256 over salt and UTF-8 text."""
    return sha256_of(salt + text.encode())


class PrivateText(Struct, frozen=True):
    """A private text on its way into the log; `ref` is its key, `salt` random bytes."""

    ref: str
    salt: bytes
    text: str

    @property
    def sealed(self) -> Sealed:
        """What an event says of it."""
        return Sealed(self.ref, commitment(self.salt, self.text))


def fresh_id(entropy: Entropy) -> str:
    """A new UUID (RFC 9562, version 4) of 16 random bytes."""
    # On use: what only reads makes none, and the import asks what machine this is.
    from uuid import UUID

    return str(UUID(bytes=entropy(16), version=4))


def seal(text: str, entropy: Entropy = os.urandom) -> PrivateText:
    """A private text with a new ref and salt. Raises StoreFault for text that is not Unicode."""
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise StoreFault(
            "Nothing was written: this text holds a character that is no text; type it anew."
        ) from error
    ref = fresh_id(entropy)
    return PrivateText(ref, entropy(_SALT_BYTES), text)


def _missing(first: int, behind: int) -> str:
    if behind == first + 1:
        return f"row {first}: is missing"
    return f"rows {first} to {behind - 1}: are missing"


def broken_links(
    lines: Iterable[Stored],
    private: Mapping[str, str],
    spoken_of: set[str],
    whole: bool = True,
) -> Iterator[str]:
    """Every fault of one origin's chain, as a sentence without full stop that names the row.

    Args:
        lines: stored rows in the order of COLUMNS, by rising seq.
        private: ref -> commitment reckoned from the private text held; a ref that is not
            there was forgotten, which is lawful.
        spoken_of: takes in the ref of every private text that a row refers to.
        whole: False of a log of which only some rows came in, so that others may be missing.
    """
    expected, prev = 0, ""
    for line in lines:
        seq, kind, v, body = line[1], line[6], line[7], line[15]
        if seq > expected:
            if whole:
                yield _missing(expected, seq)
        elif line[-2] != prev:
            yield f"row {seq}: does not follow on the row before it"
        if digest(line[:-1]) != line[-1]:
            yield f"row {seq}: is not what was written, its digest differs"
        for said in seals(decode(kind, v, body)):
            spoken_of.add(said.ref)
            if private.get(said.ref, said.sha256) != said.sha256:
                yield f"row {seq}: private text {said.ref} is not the one that was sealed"
        expected, prev = seq + 1, line[-1]
