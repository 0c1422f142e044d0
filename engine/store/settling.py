"""Single lines of the settings, written by the program and read again at once.

A line that somebody wrote is never changed, and every comment stays where it stands.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

from cartclock.engine.figures.bounds import LATITUDE, LONGITUDE
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.plan_file.tables import near
from cartclock.engine.store.schema import make_folder
from cartclock.engine.store.settings import read_settings
from cartclock.engine.store.whole_file import OWNERS, replaced_file
from cartclock.engine.trouble import PlanFault, Refused

_PHONE = re.compile(r"\+?[0-9][0-9 ()/-]{2,}")
_DEGREES = re.compile(
    r"(?P<north>[+-]?\d{1,3}(?:\.\d+)?)\s*°?\s*(?P<ns>[NS]?)\s*[,;\s]\s*"
    r"(?P<east>[+-]?\d{1,3}(?:\.\d+)?)\s*°?\s*(?P<ew>[EW]?)",
    re.IGNORECASE,
)
PLACE_LIKE = "48.5 9.1 (north, east) or a zone like Europe/Madrid"


def settled_keys(path: Path) -> frozenset[str]:
    """The settings that a file has a line for; none if there is no file.

    Raises Refused: the file cannot be read.
    """
    return frozenset(_document(path, _text(path)))


def settle(path: Path, values: Mapping[str, object], ours: Collection[str] = ()) -> None:
    """Writes settings into the file at `path`, whole or not at all, and makes it if need be.

    Args:
        values: setting -> text, number, or table of texts, numbers and lists of texts; None takes
            a line of `ours` away.
        ours: settings whose line the program wrote and may change.

    Raises Refused: the file has a line of somebody's own for one of them, a value cannot be, the
    file cannot be read, or the disk does not take it.
    """
    text = _text(path)
    document = _document(path, text)
    for key in values:
        if key in document and key not in ours:
            raise Refused(f"{path.name} has a line {key} of your own; change it there.")
    _mind_values(path, values)
    before = dict(document.unwrap())
    for key, value in values.items():
        if value is not None:
            document[key] = _item(value)
        elif key in document:
            del document[key]
    import tomllib

    made = document.as_string()
    wanted = {key: value for key, value in {**before, **values}.items() if value is not None}
    if tomllib.loads(made) != wanted:
        raise Refused(f"{path} cannot be added to; write {', '.join(values)} there by hand.")
    _replace(path, made)


def _mind_values(path: Path, values: Mapping[str, object]) -> None:
    import tomlkit

    alone = tomlkit.document()
    for key, value in values.items():
        if value is not None:
            alone[key] = _item(value)
    try:
        read_settings(alone.as_string(), path.name)
    except PlanFault as faults:
        raise Refused(faults.faults[0]) from None


def _item(value: object) -> Any:
    """A value as it stands on one line."""
    import tomlkit

    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    return value


def _text(path: Path) -> str:
    try:
        return plain_text(path)
    except FileNotFoundError:
        return ""
    except PlanFault as faults:
        raise Refused(faults.faults[0]) from None
    except UnicodeDecodeError:
        raise Refused(f"{path} is not a text in UTF-8; save it as one.") from None
    except OSError as why:
        raise Refused(f"{path} cannot be read: {why.strerror or why}.") from None


def _document(path: Path, text: str) -> Any:
    # It takes longer to load than most commands take.
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        return tomlkit.parse(text)
    except (TOMLKitError, RecursionError, ValueError):
        raise Refused(f"{path} is not TOML; mend it by hand, then ask again.") from None


def _replace(path: Path, text: str) -> None:
    """Puts a text in the place of a file, whole or not at all."""
    # Where the file is a link it stays one.
    path = Path(os.path.realpath(path))
    try:
        make_folder(path.parent)
        # What the file may be read by is its owner's to say.
        mode = path.stat().st_mode & 0o777 if path.exists() else OWNERS
        replaced_file(path, text.encode(), mode)
    except OSError as why:
        raise Refused(f"{path} cannot be written: {why.strerror or why}.") from None


def premises_of(text: str) -> dict[str, object]:
    """What the papers say of the shop, of one line of text: its name, lines of the address and a
    phone, parted by commas.

    A part of digits alone is the phone; the first other one is the name.
    """
    parts = [part.strip() for part in text.split(",") if part.strip()]
    phones = [part for part in parts if _PHONE.fullmatch(part)]
    others = [part for part in parts if part not in phones]
    found: dict[str, object] = {}
    if others:
        found["name"] = others[0]
    if others[1:]:
        found["lines"] = others[1:]
    if phones:
        found["phone"] = phones[0]
    if len(phones) > 1:
        raise Refused(f"{phones[0]} and {phones[1]}: one phone has room; leave one out.")
    return found


def place_of(text: str) -> dict[str, object]:
    """Where the work is, of one line of text: `place`, of degrees north and east, or `zone`, of
    the name of a time zone or of its city.

    Raises Refused: it is neither, with what is like it.
    """
    degrees = _DEGREES.fullmatch(text.strip())
    if degrees is not None:
        north = float(degrees["north"]) * (-1 if degrees["ns"].upper() == "S" else 1)
        east = float(degrees["east"]) * (-1 if degrees["ew"].upper() == "W" else 1)
        for name, value, bound in (("north", north, LATITUDE), ("east", east, LONGITUDE)):
            if not bound.holds(value):
                raise Refused(f"{value:g} {name}: write {bound.low:g} to {bound.high:g}.")
        return {"place": {"latitude": north, "longitude": east}}
    zones = available_timezones()
    typed = text.strip().replace(" ", "_").casefold()
    found = sorted(
        zone
        for zone in zones
        if typed in (zone.casefold(), zone.rpartition("/")[2].casefold())
        and not zone.startswith(("posix/", "right/"))
    )
    exact = [zone for zone in found if zone.casefold() == typed]
    if len(exact or found) == 1:
        return {"zone": (exact or found)[0]}
    if found:
        raise Refused(f"There are {' and '.join(found[:3])}: write one of them.")
    cities = {zone.rpartition("/")[2]: zone for zone in sorted(zones)}
    like = near(typed, zones) or cities.get(near(typed, cities) or "")
    # Who asks says what a place is written like.
    raise Refused(f"Did you mean {like}?" if like else f'No zone is called "{text.strip()}".')
