"""The settings file: defaults, every fault in a sentence; and where the files are."""

from __future__ import annotations

import datetime
import tomllib
import warnings
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.after.visits import Closed
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.store.laptop import places
from cartclock.engine.store.settings import (
    SETTING_LINES,
    WEEKDAYS,
    Premises,
    Printing,
    Settings,
    load_settings,
    read_settings,
    settings_file,
)
from cartclock.engine.trouble import PlanFault

FULL = """
worker = "Ines"
helper = "Tomek"
zone = "Europe/Madrid"
rule_set = "none"
round_minutes = 6
currency = "PLN"
shop.name = "The Green Carport"
shop.lines = ["12 Orchard Lane", "Newtown"]
shop.phone = "555 0100"
shop.emergency = "112"
shop.driver = "left"
shop.hourly = 38.5
closed = { weekdays = ["Saturday", "Sunday"], dates = [2027-12-24, "2027-12-31"] }
printing = { paper = "Letter", queue = "office" }
theme = "sun"
temperature = "F"
alarm = { bell = false, sound = true, notify = true, commands = { late = "say-it --loud" } }
rest_place = { air_c = 26, rh = 50.5 }
place = { latitude = 40.4, longitude = -3.7 }
clothing = "double layer"
meal = "12:30"
reading_command = "read-meter --once"
reminders = false

[keys]
take_up = ["space", "pagedown"]
take_back = ["backspace"]
"""


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(PlanFault) as caught:
        read_settings(text, "settings.toml")
    return caught.value.faults


def test_empty_file_is_the_defaults() -> None:
    assert read_settings("", "settings.toml") == Settings()
    assert read_settings("", "settings.toml", "Asia/Tokyo").zone == "Asia/Tokyo"


def test_no_currency_is_taken_for_granted() -> None:
    assert Settings().currency == ""


def test_full_file() -> None:
    read = read_settings(FULL, "settings.toml", "Asia/Tokyo")
    assert read == Settings(
        worker="Ines",
        helper="Tomek",
        zone="Europe/Madrid",
        rule_set="none",
        round_minutes=6,
        currency="PLN",
        shop=Premises(
            "The Green Carport", ("12 Orchard Lane", "Newtown"), "555 0100", "112", "left", "38.5"
        ),
        closed=Closed(
            frozenset({6, 7}),
            frozenset({datetime.date(2027, 12, 24), datetime.date(2027, 12, 31)}),
        ),
        printing=Printing("Letter", "office"),
        theme="sun",
        temperature="F",
        alarm=AlarmSettings(False, True, True, {"late": "say-it --loud"}),
        rest_place=(26.0, 50.5),
        place=(40.4, -3.7),
        clothing="double layer",
        meal=datetime.time(12, 30),
        reading_command="read-meter --once",
        reminders=BeforeWork(products=False),
        keys={"take_up": ("space", "pagedown"), "take_back": ("backspace",)},
    )
    assert not Settings().closed.known


def test_a_reminder_is_left_off_by_itself() -> None:
    assert read_settings("reminders = false", "s").reminders == BeforeWork(products=False)
    page = read_settings("reminders = { before_coat = false }", "s").reminders
    assert page == BeforeWork(before_coat=False)


def test_full_file_names_every_key_and_they_are_under_twenty() -> None:
    names = {field.name for field in msgspec.structs.fields(Settings)} - {"unheeded"}
    assert set(tomllib.loads(FULL)) == names == set(SETTING_LINES)
    assert len(names) < 20


def test_the_file_that_settles_nothing_shows_each_setting_as_it_may_stand() -> None:
    lines = settings_file().splitlines()
    assert read_settings(settings_file(), "s") == Settings()
    shown = [line.removeprefix("# ") for line in lines if line.startswith("# ") and " = " in line]
    assert [tomllib.loads(line).popitem()[0] for line in shown] == list(SETTING_LINES)
    read_settings("\n".join(shown), "s")
    assert all(len(line) <= 81 for line in lines if line.startswith("## "))


def test_a_line_with_a_fault_is_not_heeded_and_the_others_are(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('worker = "Ines"\ntheme = "moon"\nshp = 1\nalarm = { bell = 2 }\n', "utf-8")
    found = load_settings(path)
    assert (found.worker, found.theme, found.alarm) == ("Ines", "auto", Settings().alarm)
    assert len(found.unheeded) == 3
    assert all(one.startswith(f"{path}: ") for one in found.unheeded)


@pytest.mark.parametrize("line", ['worker = ""', "helper = 1", 'zone = "Mars/Olympus"'])
def test_what_every_press_is_written_down_with_is_not_guessed(tmp_path: Path, line: str) -> None:
    (tmp_path / "settings.toml").write_text(f'{line}\ntheme = "sun"\n', "utf-8")
    with pytest.raises(PlanFault, match=line.split()[0]):
        load_settings(tmp_path / "settings.toml")


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        (
            'reminders = "no"',
            'reminders: "no" is not a table; write it like '
            "reminders = { products = true, before_coat = true }.",
        ),
        (
            "reminders = { before_coat = 1 }",
            "reminders: before_coat: 1 is not a yes or no; write true or false.",
        ),
        ('wroker = "me"', 'there is no setting "wroker"; did you mean "worker"?'),
        (
            "rest_place = { air_c = 99, rh = 50 }",
            "rest_place: air_c: 99 is not a number from -30 to 60.",
        ),
        (
            "rest_place = { air_c = true, rh = 50 }",
            "rest_place: air_c: true is not a number from -30 to 60.",
        ),
        (
            "place = { latitude = 99, longitude = 0 }",
            "place: latitude: 99 is not a number from -90 to 90.",
        ),
        (
            'meal = "noon"',
            'meal: "noon" is not a time of day; write it like meal = "12:30".',
        ),
        (
            "place = 48",
            "place: 48 is not a place on the earth; write it like "
            "place = { latitude = 48.5, longitude = 9.1 }.",
        ),
        (
            'clothing = "a coat"',
            'clothing: "a coat" is not one of the choices; write "work clothes" or "SMS coverall" '
            'or "polyolefin coverall" or "double layer" or "vapour barrier".',
        ),
        (
            "rest_place = 26",
            "rest_place: 26 is not a place to rest; write it like "
            "rest_place = { air_c = 26, rh = 50 }.",
        ),
        ("worker = 5", 'worker: 5 is not a text; write it in quotes, like "text".'),
        ('worker = " "', 'worker: the name is empty; write one, like "me".'),
        (
            'helper = "a\\tb"',
            "helper: 'a\\tb' holds a character that cannot be printed; leave it out.",
        ),
        (
            f'shop.name = "{"x" * 201}"',
            "shop: name: the text has 201 characters; at most 200 have room.",
        ),
        ('shop.lines = ["a", 5]', 'shop: lines: 5 is not a text; write it in quotes, like "text".'),
        (
            "shop.lines = [" + '"x",' * 7 + "]",
            "shop: lines: there are 7 lines; at most 6 have room.",
        ),
        (
            'shop.lines = "Newtown"',
            'shop: lines: "Newtown" is not a list; write it like ["12 Orchard Lane", "Newtown"].',
        ),
        ('shop.phnoe = "5"', 'shop: there is no "phnoe" in it; did you mean "phone"?'),
        (
            'shop = "The Green Carport"',
            'shop: "The Green Carport" is not a table; write it like shop = { name = "The Green '
            'Carport", lines = ["12 Orchard Lane"], phone = "555 0100" }.',
        ),
        (
            "closed = []",
            "closed: [] is not a table; write it like "
            'closed = { weekdays = ["Sunday"], dates = [2027-12-24] }.',
        ),
        ("closed.year = 1", 'closed: there is no "year" in it; there are weekdays, dates.'),
        (
            'printing = "A4"',
            'printing: "A4" is not a table; write it like '
            'printing = { paper = "A4", queue = "", price = true }.',
        ),
        (
            "printing.queue = 5",
            'printing: queue: 5 is not a text; write it in quotes, like "text".',
        ),
        (
            'shop_phone = "555 0100"',
            'there is no setting "shop_phone"; write shop = { phone = "555 0100" }.',
        ),
        (
            'closed_weekdays = ["Sunday"]',
            'there is no setting "closed_weekdays"; write closed = { weekdays = ["Sunday"] }.',
        ),
        (
            "closed_dates = []",
            'there is no setting "closed_dates"; write closed = { dates = [2027-12-24] }.',
        ),
        ('paper = "A4"', 'there is no setting "paper"; write printing = { paper = "A4" }.'),
        ('printer = "x"', 'there is no setting "printer"; write printing = { queue = "office" }.'),
        ("bell = 1", "bell: 1 is not a yes or no; write true or false."),
        (
            "alarm = true",
            "alarm: true is not a table; write it like "
            'alarm = { bell = true, sound = true, commands = { late = "say-it" } }.',
        ),
        (
            "alarm = { horn = true }",
            'alarm: there is no "horn" in it; there are bell, sound, notify, commands, signal.',
        ),
        (
            "alarm = { sound = 1 }",
            "alarm: sound: 1 is not a yes or no; write true or false.",
        ),
        (
            'alarm = { commands = "say-it" }',
            'alarm: commands: "say-it" is not a table; write it like { late = "say-it" }.',
        ),
        (
            'alarm = { commands = { loud = "say-it" } }',
            'alarm: commands: there is no urgency "loud"; there are info, ready, late, rest, '
            "emergency.",
        ),
        (
            'alarm = { commands = { late = "say \'it" } }',
            'alarm: commands: late: "say \'it" is no command line: No closing quotation.',
        ),
        (
            'alarm = { commands = { late = " " } }',
            "alarm: commands: late: the command is empty; leave it out instead.",
        ),
        (
            "alarm = { commands = { late = 5 } }",
            'alarm: commands: 5 is not a text; write it in quotes, like "text".',
        ),
        ("round_minutes = true", "round_minutes: true is not a rounding; write 0, 5, 6 or 15."),
        ("round_minutes = 6.0", "round_minutes: 6.0 is not a rounding; write 0, 5, 6 or 15."),
        ("round_minutes = 7", "round_minutes: 7 is not a rounding; write 0, 5, 6 or 15."),
        (
            'rule_set = "29 CFR 786"',
            'rule_set: "29 CFR 786" is not one of the choices; write "29 CFR 785" or "none".',
        ),
        (
            'printing.paper = "A5"',
            'printing: paper: "A5" is not one of the choices; write "A4" or "Letter".',
        ),
        ("theme = []", 'theme: [] is not one of the choices; write "auto" or "shade" or "sun".'),
        (
            'currency = "euro"',
            'currency: "euro" is not a currency code; write three capitals, like "EUR".',
        ),
        (
            'zone = "Europe/Madird"',
            'zone: "Europe/Madird" is not a time zone; write an IANA name, like "Europe/Madrid" '
            'or "UTC".',
        ),
        (
            "zone = 2",
            'zone: 2 is not a time zone; write an IANA name, like "Europe/Madrid" or "UTC".',
        ),
        (
            'closed.weekdays = "Sunday"',
            'closed: weekdays: "Sunday" is not a list; write it like ["Sunday"].',
        ),
        (
            'closed.weekdays = ["monady"]',
            'closed: weekdays: "monady" is not a weekday; write its name, like "Monday".',
        ),
        (
            "closed.weekdays = [7]",
            'closed: weekdays: 7 is not a weekday; write its name, like "Sunday".',
        ),
        (
            'closed.dates = ["24.12."]',
            'closed: dates: "24.12." is not a date; write it like 2027-12-24.',
        ),
        (
            "closed.dates = [2027-12-24T10:00:00]",
            "closed: dates: 2027-12-24 10:00:00 is not a date; write it like 2027-12-24.",
        ),
        (
            'keys = "space"',
            'keys: "space" is not a table; write [keys] and under it '
            'take_up = ["space", "pagedown"].',
        ),
        (
            'keys.take_back = "x"',
            'keys: take_back: "x" is not a list of keys; write it like '
            'take_up = ["space", "pagedown"].',
        ),
        (
            "keys.take_back = []",
            "keys: take_back: [] is not a list of keys; write it like "
            'take_up = ["space", "pagedown"].',
        ),
    ],
)  # fmt: skip
def test_fault_says_what_would_be_right(line: str, fault: str) -> None:
    assert faults(line) == (f"settings.toml: {fault}",)


@pytest.mark.parametrize(
    ("text", "alarm"),
    [
        ("bell = false", AlarmSettings(bell=False)),
        ("bell = true", AlarmSettings()),
        ("bell = false\nalarm = { sound = true }", AlarmSettings(bell=False, sound=True)),
        ("alarm = { notify = true }\nbell = true", AlarmSettings(notify=True)),
    ],
)  # fmt: skip
def test_the_bell_of_an_older_file_is_the_bell_of_the_alarm(
    text: str, alarm: AlarmSettings
) -> None:
    toml = "\n".join(sorted(text.splitlines()))
    assert read_settings(toml, "settings.toml").alarm == alarm


def test_a_bell_said_twice_is_a_fault() -> None:
    assert faults("bell = false\nalarm = { bell = true }") == (
        'settings.toml: bell: alarm says it too; leave out the line "bell".',
    )
    # Both lines are wrong, and both are told.
    assert len(faults("bell = 1\nalarm = 1")) == 2


def test_every_fault_is_told_at_once() -> None:
    told = faults('worker = 5\nbell = 1\ncolour = "red"\ntheme = "sun"')
    assert len(told) == 3
    assert told[2].startswith('settings.toml: there is no setting "colour"; there are worker, ')


@pytest.mark.parametrize("zone", ["../../etc/passwd", "/etc/passwd", "Europe", "", "\\u0000"])
def test_zone_that_is_a_path(zone: str) -> None:
    assert "is not a time zone" in faults(f'zone = "{zone}"')[0]


def test_text_that_is_not_toml_names_the_line() -> None:
    (fault,) = faults('worker = "me"\nbell = maybe')
    assert fault.startswith("settings.toml: this is not TOML: ")
    assert "line 2" in fault


TOML_VALUES = st.recursive(
    st.booleans() | st.integers(-5, 20) | st.floats() | st.text(max_size=5) | st.dates()
    | st.datetimes() | st.times() | st.sampled_from(["", "A4", "UTC", *WEEKDAYS]),
    lambda values: st.lists(values, max_size=3) | st.dictionaries(st.text(), values, max_size=3),
    max_leaves=5,
)  # fmt: skip


@settings(max_examples=150)
@given(
    st.dictionaries(
        st.sampled_from([*(field.name for field in msgspec.structs.fields(Settings)), "bell"]),
        TOML_VALUES,
    )
)
def test_no_value_raises_anything_but_a_fault(table: dict[str, object]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tomllib, "loads", lambda _: table)
        try:
            read = read_settings("", "settings.toml")
        except PlanFault as fault:
            assert all(one.startswith("settings.toml: ") for one in fault.faults)
            return
    assert read.worker
    assert msgspec.convert(msgspec.to_builtins(read), Settings) == read


def test_missing_file_is_the_defaults_in_the_local_zone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(places, "local_zone", lambda: "Asia/Tokyo")
    assert load_settings(tmp_path / "settings.toml") == Settings(zone="Asia/Tokyo")
    (tmp_path / "settings.toml").write_text('zone = "Europe/Madrid"\nworker = "Łucja"', "utf-8")
    read = load_settings(tmp_path / "settings.toml")
    assert (read.zone, read.worker) == ("Europe/Madrid", "Łucja")


def test_file_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_bytes(b'worker = "\xff"')
    with pytest.raises(PlanFault, match="not a text in UTF-8"):
        load_settings(tmp_path / "settings.toml")
    with pytest.raises(PlanFault, match="cannot be read"):
        load_settings(tmp_path / "settings.toml" / "settings.toml")
    with pytest.raises(PlanFault, match="no plain file"):
        load_settings(tmp_path)


# Places.


def test_home_folder_takes_everything(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    assert places.log_path() == tmp_path / "log.db"
    assert places.settings_path() == tmp_path / "settings.toml"
    assert places.sounds_folder() == tmp_path / "cache" / "sounds"
    monkeypatch.setenv("CARTCLOCK_HOME", "~/cart")
    assert places.log_path() == Path.home() / "cart" / "log.db"
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARTCLOCK_HOME", "here")
    assert places.log_path() == tmp_path / "here" / "log.db"


def test_without_home_the_system_decides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", "")
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: tmp_path / "data")
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_, **__: tmp_path / "config")
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: tmp_path / "cache")
    assert places.log_path() == tmp_path / "data" / "log.db"
    assert places.settings_path() == tmp_path / "config" / "settings.toml"
    assert places.sounds_folder() == tmp_path / "cache" / "sounds"


@pytest.mark.parametrize(
    ("named", "zone"),
    [
        ("Europe/Madrid", "Europe/Madrid"),
        (":Asia/Tokyo", "Asia/Tokyo"),
        ("/usr/share/zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
        ("/somewhere/else", "UTC"),
        ("Nowhere/Land", "UTC"),
        ("CET-1CEST,M3.5.0,M10.5.0/3", "UTC"),
    ],
)
def test_zone_of_the_environment(monkeypatch: pytest.MonkeyPatch, named: str, zone: str) -> None:
    monkeypatch.setenv("TZ", named)
    assert places.local_zone() == zone


@pytest.mark.parametrize(
    ("link", "zone"),
    [
        ("/usr/share/zoneinfo/Europe/Madrid", "Europe/Madrid"),
        ("/var/db/timezone/zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
        ("/usr/share/zoneinfo/America/Argentina/Ushuaia", "America/Argentina/Ushuaia"),
    ],
)
def test_zone_of_the_link(monkeypatch: pytest.MonkeyPatch, link: str, zone: str) -> None:
    monkeypatch.delenv("TZ", raising=False)
    monkeypatch.setattr("os.path.realpath", {"/etc/localtime": link}.__getitem__)
    assert places.local_zone() == zone


@pytest.fixture
def no_link(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine whose zone is a file without a name."""
    monkeypatch.setenv("TZ", "")
    monkeypatch.setattr("os.path.realpath", lambda path: path)


@pytest.mark.usefixtures("no_link")
@pytest.mark.parametrize(
    ("configured", "zone"),
    [("Europe/Madrid", "Europe/Madrid"), (None, "UTC"), ("Nowhere/Land", "UTC")],
)
def test_machine_without_a_link_is_asked(
    monkeypatch: pytest.MonkeyPatch, configured: str | None, zone: str
) -> None:
    monkeypatch.setattr("tzlocal.get_localzone_name", lambda: configured)
    assert places.local_zone() == zone


@pytest.mark.usefixtures("no_link")
def test_machine_without_a_zone_is_utc(monkeypatch: pytest.MonkeyPatch) -> None:
    def nothing() -> None:
        warnings.warn("no zone", stacklevel=1)
        raise LookupError("no zone")

    monkeypatch.setattr("tzlocal.get_localzone_name", nothing)
    assert places.local_zone() == "UTC"
