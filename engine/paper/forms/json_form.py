"""The papers as JSON: versioned, every length exact, every instant twice.

A key that ends in `_us` is whole microseconds: an instant since 1970-01-01 UTC, or a length
where the Struct says `Length`. Beside every instant stands the same key with `_at` instead:
ISO 8601 with the offset of the paper's zone. Amounts and money that are exact are texts: a
decimal number, or a fraction where no decimal number is exact. The keys are those of the
Structs and stand in PAPERS.md.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any, get_args, get_type_hints

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import local
from cartclock.engine.paper.shop_head import NO_SHOP, ShopHead
from cartclock.engine.record.arrival import ArrivalSheet
from cartclock.engine.record.customer import CustomerSheet
from cartclock.engine.record.day import Day
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import Revision, change_text, revision_text
from cartclock.engine.record.whole_vehicle import WholeVehicle
from cartclock.engine.times import Instant

JSON_VERSION = 1
"""Goes up when a key is taken away or means something else; a new key leaves it as it is."""


def record_json(record: Record, revision: Revision | None = None, currency: str = "") -> str:
    """The record of a job, schema "cartclock/record"; for the shop, private notes included.

    revision: which one it is, with what changed; None for a copy that is only looked at.
    currency: of the price; "" if none is said.
    """
    totals = {"clock_us": record.clock_us, "own_us": record.own_us}
    more = {"totals": totals, "currency": currency, **_revised(revision, record.zone)}
    return _document("record", built(record, record.zone), more)


def day_json(day: Day) -> str:
    """A calendar date, schema "cartclock/day"; for the worker and the shop."""
    clock_us = sum(part.account.clock_us for part in day.shifts)
    return _document("day", built(day, day.zone), {"totals": {"clock_us": clock_us}})


def vehicle_json(whole: WholeVehicle, currency: str = "") -> str:
    """A vehicle with all its parts, schema "cartclock/vehicle"; for the shop, as `record_json`."""
    all_us = sum(hours.all_us for hours in whole.hours)
    more = {"totals": {"all_us": all_us}, "currency": currency}
    return _document("vehicle", built(whole, whole.zone), more)


def customer_json(
    sheet: CustomerSheet,
    shop: ShopHead = NO_SHOP,
    revision: Revision | None = None,
    not_told: Sequence[str] | None = None,
) -> str:
    """The customer's paper, schema "cartclock/customer".

    revision: as in `record_json`, but what changed is left out: that is the shop's own.
    not_told: of a vehicle worked on in parts, what of it is not told; None: it was one job.
    """
    more = {"shop": built(shop, sheet.zone), **_revised(_bare(revision), sheet.zone)}
    if not_told is not None:
        more["not_told"] = not_told
    return _document("customer", built(sheet, sheet.zone), more)


def arrival_json(
    sheet: ArrivalSheet,
    shop: ShopHead = NO_SHOP,
    currency: str = "",
    revision: Revision | None = None,
) -> str:
    """The sheet of the hand-over to the shop, schema "cartclock/arrival"; as `customer_json`."""
    more = {
        "shop": built(shop, sheet.zone),
        "currency": currency,
        **_revised(_bare(revision), sheet.zone),
    }
    return _document("arrival", built(sheet, sheet.zone), more)


def _bare(revision: Revision | None) -> Revision | None:
    return None if revision is None else replace(revision, changes=())


def _revised(revision: Revision | None, zone: str) -> dict[str, object]:
    """The keys of a paper that left the laptop; of a copy there are none."""
    if revision is None:
        return {}
    says = [revision_text(revision, zone)]
    says += [change_text(change, zone) for change in revision.changes]
    return {"revision": built(revision, zone), "says": says}


def _document(name: str, body: object, more: Mapping[str, object]) -> str:
    whole = {"schema": f"cartclock/{name}", "version": JSON_VERSION, **more, name: body}
    # Letters that steer a terminal, turn the writing round or end a script stay escapes.
    text = json.dumps(whole, ensure_ascii=True, allow_nan=False, indent=2)
    for char in "<>&":
        text = text.replace(char, f"\\u{ord(char):04x}")
    return f"{text}\n"


def built(value: object, zone: str) -> Any:
    """A Struct and all in it as plain values, instants told in `zone` as well."""
    if isinstance(value, Struct):
        return _object(value, zone)
    if isinstance(value, tuple | list):
        return [built(one, zone) for one in value]
    if isinstance(value, Mapping):
        return {str(key): built(one, zone) for key, one in value.items()}
    if isinstance(value, str):
        # Words of a person are a kind of text.
        return str(value)
    return msgspec.to_builtins(value, enc_hook=_exact)


def _object(value: Struct, zone: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in value.__struct_fields__:
        inside = getattr(value, name)
        found[name] = built(inside, zone)
        if name in instants(type(value)):
            found[at_key(name)] = _iso(inside, zone)
    return found


@cache
def instants(struct: type[Struct]) -> frozenset[str]:
    """The fields of that Struct that are an instant, or a row of them."""
    hints = get_type_hints(struct)
    return frozenset(n for n in hints if _is_instant(hints[n]))


def _is_instant(hint: object) -> bool:
    return hint is Instant or any(_is_instant(part) for part in get_args(hint))


def at_key(name: str) -> str:
    """The key of the ISO 8601 text beside an instant: "opened_us" has "opened_at"."""
    stem = name.removesuffix("_us").removesuffix("_at").removesuffix("at")
    return f"{stem}_at" if stem else "at"


def _iso(inside: object, zone: str) -> object:
    # An instant of zero stands for one that never was.
    if isinstance(inside, int) and inside:
        return local(Instant(inside), zone).isoformat()
    if isinstance(inside, tuple):
        return [_iso(one, zone) for one in inside]
    return None


def _exact(value: object) -> object:
    if isinstance(value, Fraction):
        return exact_number(value)
    raise NotImplementedError(f"{type(value).__name__} has no form in JSON")


def exact_number(value: Fraction) -> str:
    """A fraction as a decimal number if that is exact ("90.9"), else as "1000/11"."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        return f"{value.numerator}/{value.denominator}"
    places = 0
    while value.denominator > 1 and 10**places % value.denominator:
        places += 1
    scaled = value.numerator * (10**places // value.denominator)
    return f"{Decimal(scaled).scaleb(-places):f}"
