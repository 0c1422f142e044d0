"""The settings: one TOML file, every key of it with a default.

A fault names the file, the key, what is wrong and what would be right; all faults of a
file are told at once.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec
from msgspec import Struct

from cartclock.engine.after.visits import Closed
from cartclock.engine.figures.bounds import LATITUDE, LONGITUDE, Bound
from cartclock.engine.figures.limits import CLOTHING_C
from cartclock.engine.figures.measured import AIR, HUMIDITY
from cartclock.engine.hours.breaks import NO_RULES, ROUNDING_MINUTES, RULE_SETS
from cartclock.engine.now.ringing import URGENCIES
from cartclock.engine.plan.amounts import PRICE
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.store.laptop import places
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.trouble import PlanFault

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
PAPER_SIZES = ("A4", "Letter")
# By the ground on which the terminal writes, or always dark, or always light.
THEMES = ("auto", "shade", "sun")
TEMPERATURES = ("C", "F")

# What a line of a paper holds, and how many of them its head; common practice, no source.
_TEXT_MOST = 200
_LINES_MOST = 6


class Premises(Struct, frozen=True):
    """What the papers say of the shop, and what is said into a telephone in an emergency.

    Fields:
        name: what it is called; "" if nothing.
        lines: its address, a line each, at most six.
        phone: as it is to be printed; "" if none.
        emergency: the number to be called in an emergency; "" if it is not settled. No paper has
            it.
        driver: on which side the driver sits in the vehicles that come here, "left" or "right",
            facing the way they drive, for the drawing of a vehicle; "" if it is not settled.
        hourly: what an hour of work costs in an estimate, a decimal text; "" if it is not settled.
            No paper has it.
        photos: the folder in which new photos of the vehicles come to lie, "~" for the home
            folder; "" for none. No paper has it.
    """

    name: str = ""
    lines: tuple[str, ...] = ()
    phone: str = ""
    emergency: str = ""
    driver: Literal["left", "right", ""] = ""
    hourly: str = ""
    photos: str = ""


class Printing(Struct, frozen=True):
    """What the papers are printed on.

    Fields:
        paper: one of PAPERS.
        queue: the print queue's name; "" for the system's own choice.
        price: True if the customer's sheet says what was agreed to be paid.
    """

    paper: Literal["A4", "Letter"] = "A4"
    queue: str = ""
    price: bool = True


class Settings(Struct, frozen=True):
    """What the worker has settled once.

    Fields:
        worker: name under which presses are logged, not empty.
        helper: name of a second pair of hands; "" if there is none.
        zone: IANA time zone of the place of work.
        rule_set: which rule set judges the breaks: one of RULE_SETS.
        round_minutes: the cuts of a day are rounded to this on paper: one of ROUNDING_MINUTES,
            0 for not at all.
        currency: ISO 4217 code that stands behind money; "" for none.
        shop: what the papers say of the shop.
        closed: when the shop is closed, so that no visit is arranged.
        printing: size of the paper and the print queue.
        theme: one of THEMES.
        temperature: unit in which readings are entered and shown, on screen and paper: one of
            TEMPERATURES.
        rest_place: (air in C, relative humidity in percent) where rests are taken; None: where
            the work is.
        place: (latitude, longitude) of the place of work in degrees, north and east positive, for
            the height of the sun; None: reckoned from the zone.
        meal: when the workers eat, by the clock of the zone; None: not settled. A meal near enough
            stands for a rest that only the clock calls.
        clothing: what is usually worn, a key of `engine.figures.limits.CLOTHING_C`.
        alarm: how alarms are heard.
        reading_command: a command line whose output is a reading; "" for none.
        reminders: what is said before the work.
        keys: id of a key's action -> the keys that do it instead of the usual ones.
        unheeded: what the file says and is not heeded, a sentence each; no setting.
    """

    worker: str = "me"
    helper: str = ""
    zone: str = "UTC"
    rule_set: str = "29 CFR 785"
    round_minutes: int = 0
    currency: str = ""
    shop: Premises = Premises()
    closed: Closed = Closed()
    printing: Printing = Printing()
    theme: str = "auto"
    temperature: Literal["C", "F"] = "C"
    rest_place: tuple[float, float] | None = None
    place: tuple[float, float] | None = None
    clothing: str = "work clothes"
    meal: datetime.time | None = None
    alarm: AlarmSettings = AlarmSettings()
    reading_command: str = ""
    reminders: BeforeWork = BeforeWork()
    keys: dict[str, tuple[str, ...]] = {}
    unheeded: tuple[str, ...] = ()


class _Wrong(Exception):
    """Says what a value is and what would be right, without key and full stop."""


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"' if value.isprintable() else repr(value)
    return str(value)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise _Wrong(f'{_shown(value)} is not a text; write it in quotes, like "text"')
    if not value.isprintable():
        raise _Wrong(f"{value!r} holds a character that cannot be printed; leave it out")
    if len(value) > _TEXT_MOST:
        raise _Wrong(f"the text has {len(value)} characters; at most {_TEXT_MOST} have room")
    return value.strip()


def _name(value: object) -> str:
    name = _text(value)
    if not name:
        raise _Wrong('the name is empty; write one, like "me"')
    return name


def _choice(*choices: str) -> Callable[[object], str]:
    listed = " or ".join(f'"{choice}"' for choice in choices)

    def chosen(value: object) -> str:
        if value not in choices:
            raise _Wrong(f"{_shown(value)} is not one of the choices; write {listed}")
        return str(value)

    return chosen


def _round_minutes(value: object) -> int:
    # A TOML true is a Python 1 and no number of minutes.
    if type(value) is not int or value not in ROUNDING_MINUTES:
        raise _Wrong(f"{_shown(value)} is not a rounding; write 0, 5, 6 or 15")
    return value


def _currency(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch("[A-Z]{3}", value):
        raise _Wrong(f'{_shown(value)} is not a currency code; write three capitals, like "EUR"')
    return value


def _hourly(value: object) -> str:
    # A TOML true is a Python 1 and no price.
    text = str(value) if type(value) in (int, float) else value
    if not isinstance(text, str) or not PRICE.fullmatch(text):
        raise _Wrong(f'{_shown(value)} is not a price; write digits, like "38.50"')
    return text


def _folder(value: object) -> str:
    path = _text(value)
    if path and not path.startswith("~") and not Path(path).is_absolute():
        raise _Wrong(f'{_shown(value)} is not a whole path; write one, like "~/Pictures/cart"')
    return path


def _zone(value: object) -> str:
    wrong = _Wrong(
        f'{_shown(value)} is not a time zone; write an IANA name, like "Europe/Madrid" or "UTC"'
    )
    if not isinstance(value, str):
        raise wrong
    try:
        ZoneInfo(value)
    # ValueError and OSError: a path that leads out of the zone files or to a folder of them.
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise wrong from error
    return value


def _yes(value: object) -> bool:
    if not isinstance(value, bool):
        raise _Wrong(f"{_shown(value)} is not a yes or no; write true or false")
    return value


def _alarm(value: object) -> AlarmSettings:
    like = 'alarm = { bell = true, sound = true, commands = { late = "say-it" } }'
    if not isinstance(value, dict):
        raise _Wrong(f"{_shown(value)} is not a table; write it like {like}")
    found: dict[str, Any] = {}
    for key, item in value.items():
        if key not in AlarmSettings.__struct_fields__:
            there = ", ".join(AlarmSettings.__struct_fields__)
            raise _Wrong(f"there is no {_shown(key)} in it; there are {there}")
        try:
            found[key] = _commands(item) if key == "commands" else _yes(item)
        except _Wrong as wrong:
            raise _Wrong(f"{key}: {wrong}") from wrong
    return AlarmSettings(**found)


def _reminders(value: object) -> BeforeWork:
    """A yes or no alone is that of the products."""
    if isinstance(value, bool):
        return BeforeWork(products=value)
    like = "reminders = { products = true, before_coat = true }"
    found: BeforeWork = _table(BeforeWork, like, {"products": _yes, "before_coat": _yes})(value)
    return found


def _instead_of(key: str, known: Iterable[str]) -> str:
    """What would be right instead of a key, as the plan files say it."""
    # On use: most files have no fault.
    from cartclock.engine.store.plan_file.tables import instead_of

    return instead_of(key, known, f"there are {', '.join(known)}")


def _commands(value: object) -> dict[str, str]:
    if not isinstance(value, dict):
        raise _Wrong(f'{_shown(value)} is not a table; write it like {{ late = "say-it" }}')
    # On use: few have settled a command of their own.
    from shlex import split

    for urgency, command in value.items():
        if urgency not in URGENCIES:
            raise _Wrong(f"there is no urgency {_shown(urgency)}; there are {', '.join(URGENCIES)}")
        try:
            words = split(_text(command))
        except ValueError as why:
            raise _Wrong(f"{urgency}: {_shown(command)} is no command line: {why}") from why
        if not words:
            raise _Wrong(f"{urgency}: the command is empty; leave it out instead")
    return dict(value)


def _with_old_yes(table: dict[str, Any], file: str) -> tuple[dict[str, Any], list[str]]:
    """`bell` beside the table `alarm`, as older files have it, stands for `bell` inside it.

    Answers the table with the bell inside, and what is wrong with it.
    """
    if "bell" not in table:
        return table, []
    rest = {key: value for key, value in table.items() if key != "bell"}
    alarm = rest.get("alarm", {})
    try:
        bell = _yes(table["bell"])
    except _Wrong as wrong:
        return rest, [f"{file}: bell: {wrong}."]
    if isinstance(alarm, dict) and "bell" in alarm:
        return rest, [f'{file}: bell: alarm says it too; leave out the line "bell".']
    return {**rest, "alarm": {**alarm, "bell": bell} if isinstance(alarm, dict) else alarm}, []


def _list(value: object, like: str) -> list[Any]:
    if not isinstance(value, list):
        raise _Wrong(f"{_shown(value)} is not a list; write it like {like}")
    return value


def _weekdays(value: object) -> frozenset[int]:
    """Names of weekdays as ISO 8601 numbers, 1 for Monday to 7 for Sunday."""
    names = _list(value, '["Sunday"]')
    for name in names:
        if name not in WEEKDAYS:
            from cartclock.engine.store.plan_file.tables import near

            like = near(str(name), WEEKDAYS) or "Sunday"
            raise _Wrong(f'{_shown(name)} is not a weekday; write its name, like "{like}"')
    return frozenset(WEEKDAYS.index(name) + 1 for name in names)


def _dates(value: object) -> frozenset[datetime.date]:
    found: list[datetime.date] = []
    for item in _list(value, "[2027-12-24]"):
        date = item
        if isinstance(item, str):
            try:
                date = datetime.date.fromisoformat(item)
            except ValueError:
                date = None
        # A TOML time of day on a date is a datetime, which is a date too.
        if not isinstance(date, datetime.date) or isinstance(date, datetime.datetime):
            raise _Wrong(f"{_shown(item)} is not a date; write it like 2027-12-24")
        found.append(date)
    return frozenset(found)


def _keys(value: object) -> dict[str, tuple[str, ...]]:
    like = 'take_up = ["space", "pagedown"]'
    if not isinstance(value, dict):
        raise _Wrong(f"{_shown(value)} is not a table; write [keys] and under it {like}")
    for action, names in value.items():
        texts = isinstance(names, list) and all(isinstance(n, str) and n.strip() for n in names)
        if not texts or not names:
            raise _Wrong(f"{action}: {_shown(names)} is not a list of keys; write it like {like}")
    return {action: tuple(name.strip() for name in names) for action, names in value.items()}


def _rest_place(value: object) -> tuple[float, float]:
    like = "rest_place = { air_c = 26, rh = 50 }"
    return _two(value, "a place to rest", like, {"air_c": AIR, "rh": HUMIDITY})


def _meal(value: object) -> datetime.time:
    if isinstance(value, str):
        try:
            return datetime.datetime.strptime(value.strip(), "%H:%M").time()  # noqa: DTZ007  # a time of day has no zone; the setting `zone` is its
        except ValueError:
            pass
    raise _Wrong(f'{_shown(value)} is not a time of day; write it like meal = "12:30"')


def _place(value: object) -> tuple[float, float]:
    like = "place = { latitude = 48.5, longitude = 9.1 }"
    bounds = {"latitude": LATITUDE, "longitude": LONGITUDE}
    return _two(value, "a place on the earth", like, bounds)


def _two(value: object, what: str, like: str, bounds: Mapping[str, Bound]) -> tuple[float, float]:
    """Two numbers of a table, in the order of their bounds."""
    if not isinstance(value, dict) or set(value) != set(bounds):
        raise _Wrong(f"{_shown(value)} is not {what}; write it like {like}")
    found = []
    for key, bound in bounds.items():
        number = value[key]
        right = isinstance(number, int | float) and not isinstance(number, bool)
        if not right or not bound.holds(number):
            span = f"{bound.low:g} to {bound.high:g}"
            raise _Wrong(f"{key}: {_shown(number)} is not a number from {span}")
        found.append(float(number))
    return found[0], found[1]


def _lines(value: object) -> tuple[str, ...]:
    lines = _list(value, '["12 Orchard Lane", "Newtown"]')
    if len(lines) > _LINES_MOST:
        raise _Wrong(f"there are {len(lines)} lines; at most {_LINES_MOST} have room")
    return tuple(text for text in map(_text, lines) if text)


def _table(
    made: type[Struct], like: str, readers: Mapping[str, Callable[[object], Any]]
) -> Callable[[object], Any]:
    """A reader of a table whose keys each have a reader and a default."""

    def read(value: object) -> Any:
        if not isinstance(value, dict):
            raise _Wrong(f"{_shown(value)} is not a table; write it like {like}")
        found = {}
        for key, item in value.items():
            if key not in readers:
                raise _Wrong(f"there is no {_shown(key)} in it; {_instead_of(key, readers)}")
            try:
                found[key] = readers[key](item)
            except _Wrong as wrong:
                raise _Wrong(f"{key}: {wrong}") from wrong
        return made(**found)

    return read


WRITTEN_DOWN = ("worker", "helper", "zone")
"""Settings that go into the log with the presses; what is wrong there would stay wrong."""

# Keys that stand in a table, by the name a file may have for them outside it.
_IN_TABLES = {
    "shop_phone": 'shop = { phone = "555 0100" }',
    "closed_weekdays": 'closed = { weekdays = ["Sunday"] }',
    "closed_dates": "closed = { dates = [2027-12-24] }",
    "paper": 'printing = { paper = "A4" }',
    "printer": 'printing = { queue = "office" }',
}


class SettingLine(Struct, frozen=True):
    """One setting of the file.

    Fields:
        read: makes the value of what TOML holds.
        said: what it means and what holds without it, a sentence or two.
        like: a line as it may stand in a file.
    """

    read: Callable[[object], Any]
    said: str
    like: str


SETTING_LINES: Mapping[str, SettingLine] = {
    "worker": SettingLine(
        _name, 'Name under which presses are logged; "me" if left out.', 'worker = "Ines"'
    ),
    "helper": SettingLine(
        _text,
        "Name of a second pair of hands that is there every day and has ENTER for a key of its "
        "own. Who helps for a while is named under + on Run.",
        'helper = "Tomas"',
    ),
    "zone": SettingLine(
        _zone,
        "Time zone of the place of work, an IANA name; that of the computer if left out.",
        'zone = "Europe/Madrid"',
    ),
    "rule_set": SettingLine(
        _choice(*RULE_SETS),
        f'Rules by which breaks are judged; "{RULE_SETS[0]}" if left out, "{NO_RULES}" for who is '
        "not paid by the hour.",
        f'rule_set = "{NO_RULES}"',
    ),
    "round_minutes": SettingLine(
        _round_minutes,
        "To how many minutes the cuts of a day are rounded on paper: 0 (not at all, if left out), "
        "5, 6 or 15.",
        "round_minutes = 6",
    ),
    "currency": SettingLine(
        _currency,
        "What stands behind money, an ISO 4217 code; nothing if left out.",
        'currency = "EUR"',
    ),
    "shop": SettingLine(
        _table(
            Premises,
            'shop = { name = "The Green Carport", lines = ["12 Orchard Lane"], '
            'phone = "555 0100" }',
            {
                "name": _text,
                "lines": _lines,
                "phone": _text,
                "emergency": _text,
                "driver": _choice("left", "right"),
                "hourly": _hourly,
                "photos": _folder,
            },
        ),
        "What the papers say of the shop: name, lines of the address, phone. On no paper: "
        "`emergency`, a number that stands in large on the page for whoever does not feel well, "
        "with the place that was said at clocking on, or without one the address; `hourly`, what "
        "an hour costs in an estimate; `photos`, the folder in which new photos come to lie, of a "
        "camera card or a telephone, which Run then tells of and V attaches. `driver` is the side "
        "on which the driver sits, for the drawing of a vehicle.",
        'shop = { name = "The Green Carport", lines = ["12 Orchard Lane"], phone = "555 0100", '
        'emergency = "112", driver = "left", hourly = "38.50", photos = "~/Pictures/cart" }',
    ),
    "closed": SettingLine(
        _table(
            Closed,
            'closed = { weekdays = ["Sunday"], dates = [2027-12-24] }',
            {"weekdays": _weekdays, "dates": _dates},
        ),
        "When the shop is closed: visits are moved past it.",
        'closed = { weekdays = ["Sunday"], dates = [2027-12-24] }',
    ),
    "printing": SettingLine(
        _table(
            Printing,
            'printing = { paper = "A4", queue = "", price = true }',
            {"paper": _choice(*PAPER_SIZES), "queue": _text, "price": _yes},
        ),
        'Paper ("A4" if left out, or "Letter"), the queue of the printer (the one the system '
        "takes by itself if left out), and whether the customer's sheet says what was agreed to "
        "be paid.",
        'printing = { paper = "A4", queue = "office", price = true }',
    ),
    "theme": SettingLine(
        _choice(*THEMES),
        '"shade" is dark, "sun" is light; "auto", if left out, takes the one of the ground that '
        "the terminal says it writes on. `*` turns it for now.",
        'theme = "sun"',
    ),
    "temperature": SettingLine(
        _choice(*TEMPERATURES),
        "Unit of temperatures in entry, on screens and papers (JSON stays in C, as its keys say); "
        "C if left out.",
        'temperature = "F"',
    ),
    "rest_place": SettingLine(
        _rest_place,
        "Where rests are taken, air in C and relative humidity in percent; where the work is if "
        "left out.",
        "rest_place = { air_c = 26, rh = 50 }",
    ),
    "place": SettingLine(
        _place,
        "Where the work is, in degrees, north and east positive, for the height of the sun; "
        "latitude 40 and the middle of the zone if left out.",
        "place = { latitude = 48.5, longitude = 9.1 }",
    ),
    "clothing": SettingLine(
        _choice(*CLOTHING_C),
        f"What is usually worn: {', '.join(CLOTHING_C)}; work clothes if left out.",
        'clothing = "work clothes"',
    ),
    "meal": SettingLine(
        _meal,
        "When the workers eat: a meal near enough stands for a rest that only the clock calls.",
        'meal = "12:30"',
    ),
    "alarm": SettingLine(
        _alarm,
        "How alarms are heard and seen: bell of the terminal, turning of the ground, a short "
        "sound, a notification of the desktop; a command of an urgency "
        f"({', '.join(URGENCIES)}) is given the sentence as its last word. `cartclock test-alarm` "
        "rings one of each.",
        "alarm = { bell = true, signal = true, sound = true, notify = true, "
        'commands = { late = "say-it" } }',
    ),
    "reading_command": SettingLine(
        _text,
        "A command of your own that prints `air_c=31.5 rh=44`, and may add `panel_c`, `globe_c`, "
        "`wbgt_c`; it is asked every ten minutes, and if it fails or hangs a notice says so.",
        'reading_command = "read-air"',
    ),
    "reminders": SettingLine(
        _reminders,
        "What is said before the work: of products (fluoride always), and the page before each "
        "layer of a coat; both if left out.",
        "reminders = { products = true, before_coat = true }",
    ),
    "keys": SettingLine(
        _keys,
        "Other keys for what a key does, by the name of what it does.",
        'keys = { take_up = ["space", "pagedown"] }',
    ),
}


def _ended(said: str) -> str:
    return said if said.endswith("?") else f"{said}."


def _table_of(text: str, file: str) -> dict[str, Any]:
    if not text:
        return {}
    # On use: many a cart has no settings file, and the first picture waits for this.
    import tomllib

    try:
        return tomllib.loads(text)
    except RecursionError:
        raise PlanFault((f"{file}: lists or tables are nested too deep.",)) from None
    # Also of a number with thousands of digits, which is no fault of TOML.
    except ValueError as error:
        raise PlanFault((f"{file}: this is not TOML: {error}.",)) from error


def read_settings(text: str, file: str, zone: str = "UTC") -> Settings:
    """The settings a file's text holds.

    Args:
        text: TOML.
        file: name of the file, for the faults.
        zone: time zone where the text names none.

    Raises PlanFault with one sentence for each fault.
    """
    found, faults = _read(text, file, zone)
    if faults:
        raise PlanFault(tuple(sentence for _key, sentence in faults))
    return found


def _read(text: str, file: str, zone: str) -> tuple[Settings, list[tuple[str, str]]]:
    """The settings without the lines that have a fault; these keys, and a sentence each."""
    table = _table_of(text, file)
    found: dict[str, Any] = {"zone": zone}
    table, wrong_bell = _with_old_yes(table, file)
    faults = [("bell", sentence) for sentence in wrong_bell]
    for key, value in table.items():
        setting = SETTING_LINES.get(key)
        if setting is None and key in _IN_TABLES:
            faults.append((key, f'{file}: there is no setting "{key}"; write {_IN_TABLES[key]}.'))
            continue
        if setting is None:
            right = _instead_of(key, SETTING_LINES)
            faults.append((key, f'{file}: there is no setting "{key}"; {_ended(right)}'))
            continue
        try:
            found[key] = setting.read(value)
        except _Wrong as wrong:
            faults.append((key, f"{file}: {key}: {_ended(str(wrong))}"))
    return msgspec.structs.replace(Settings(), **found), faults


def settings_file(keys: Sequence[str] = ()) -> str:
    """A file that settles nothing: of every setting what it means, and a line to go by behind a
    mark.

    keys: what the setting `keys` can name.
    """
    # On use: it is for who writes a file.
    import textwrap

    told = ["# Take the mark in front of a line away and write what holds for you."]
    for name, setting in SETTING_LINES.items():
        names = f" They are {', '.join(keys)}." if keys and name == "keys" else ""
        said = textwrap.wrap(setting.said + names, 78, break_on_hyphens=False)
        told += ["", *(f"## {line}" for line in said), f"# {setting.like}"]
    return "\n".join(told) + "\n"


def load_settings(path: Path) -> Settings:
    """The settings in the file at `path`; the defaults, in the machine's zone, if there is none.

    A line with a fault is not heeded, as `Settings.unheeded` says: a cart whose line about the
    printer is wrong still has a clock. Not so for what every press is written down with.

    Raises PlanFault for a file that cannot be read, and for a fault in one of `WRITTEN_DOWN`.
    """
    try:
        text = plain_text(path)
    except FileNotFoundError:
        text = ""
    except UnicodeDecodeError as error:
        raise PlanFault((f"{path.name}: this is not a text in UTF-8; save it as one.",)) from error
    except OSError as error:
        raise PlanFault((f"{path}: cannot be read: {error.strerror or error}.",)) from error
    found, faults = _read(text, str(path), places.local_zone())
    if any(key in WRITTEN_DOWN for key, _sentence in faults):
        raise PlanFault(tuple(sentence for _key, sentence in faults))
    unheeded = tuple(f"{sentence} That line is not heeded." for _key, sentence in faults)
    return msgspec.structs.replace(found, unheeded=unheeded)
