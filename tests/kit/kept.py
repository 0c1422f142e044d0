"""What a log gives, as text that can be kept beside it and compared for ever.

A field at its default is left out, so that a field added with a default changes nothing; a
press is its number. Only events say what they are called: how the folds name their parts is
not what is promised.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import HOUR_US, believed_rows
from cartclock.engine.press import Press
from cartclock.engine.products.consumption import uses
from cartclock.engine.products.stock import pack_log, stock
from cartclock.engine.record.revision import Reader, revision_of
from cartclock.engine.record.trail import trail
from cartclock.engine.store.log import Log
from tests.kit.day import from_scratch

_EVENTS = (*(kind.event for kind in ev.KINDS.values()), ev.Unknown)


def plain(value: Any) -> Any:
    """A value as lists, text and numbers."""
    match value:
        case Press():
            return value.seq
        case Struct():
            named = {"": type(value).__name__} if isinstance(value, _EVENTS) else {}
            fields = sorted(msgspec.structs.fields(value), key=lambda field: field.name)
            said = {f.name: getattr(value, f.name) for f in fields}
            news = {f.name for f in fields if _is_default(f, said[f.name])}
            return named | {name: plain(said[name]) for name in said if name not in news}
        case dict():
            return [[plain(key), plain(one)] for key, one in value.items()]
        case list() | tuple():
            return [plain(one) for one in value]
        case set() | frozenset():
            return sorted(str(one) for one in value)
        case str() | int() | float() | None:
            return value
    return str(value)


def _is_default(field: msgspec.structs.FieldInfo, value: Any) -> bool:
    if field.default_factory is not msgspec.NODEFAULT:
        return bool(value == field.default_factory())
    return field.default is not msgspec.NODEFAULT and bool(value == field.default)


def _lines(parts: Iterable[Any]) -> str:
    return "".join(json.dumps(plain(one), ensure_ascii=False) + "\n" for one in parts)


def _told(log: Log) -> str:
    return _lines(believed_rows(log.all_rows()))


def _jobs(log: Log) -> str:
    return _lines(from_scratch(log.all_rows())[0].values())


def _shifts(log: Log) -> str:
    return _lines(from_scratch(log.all_rows())[1].values())


def _stock(log: Log) -> str:
    rows = log.all_rows()
    packs = pack_log(believed_rows(rows))
    items = []
    for name, item in stock(rows).items.items():
        # Of the packs all are told, not only the one in use.
        told = plain(replace(item, pack=None))
        opened = packs.packs(name, item.per_ml)
        items.append(
            (name, dict(sorted((told | ({"packs": plain(opened)} if opened else {})).items())))
        )
    used = {job.id: uses(job, packs) for job in from_scratch(rows)[0].values()}
    by_first = sorted((job for job in used if used[job]), key=lambda job: used[job][0].at_us)
    return _lines([*items, *((job, [plain(use) for use in used[job]]) for job in by_first)])


def _trail(log: Log) -> str:
    rows = log.all_rows()
    jobs, shifts = from_scratch(rows)
    return _lines(trail(job, shifts.values(), jobs, rows) for job in jobs.values())


def _record(log: Log) -> str:
    now_us = log.all_rows()[-1].at_us + HOUR_US
    found = Shop(log).record("1", now_us)
    return _lines((name, getattr(found, name)) for name in sorted(found.__struct_fields__))


def _revision(log: Log) -> str:
    shop = Shop(log)
    now_us = log.all_rows()[-1].at_us + HOUR_US
    job = shop.find("1").job
    found, rows = from_scratch(log.all_rows())[0][job], shop.rows("1", now_us)
    readers: tuple[Reader, ...] = ("customer", "shop")
    return _lines(
        revision_of(found, rows, "record", lambda of: shop.record_of(job, of, now_us), reader)
        for reader in readers
    )


# File -> what stands in it.
KEPT: dict[str, Callable[[Log], str]] = {
    "told": _told,
    "jobs": _jobs,
    "shifts": _shifts,
    "stock": _stock,
    "trail": _trail,
    "record": _record,
    "revision": _revision,
}
