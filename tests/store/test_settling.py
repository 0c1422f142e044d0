"""Lines of the settings that the program writes: no line of somebody's own is changed."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.store.settings import load_settings
from cartclock.engine.store.settling import place_of, premises_of, settle, settled_keys
from cartclock.engine.trouble import Refused

OWN = """# of the cart
helper = "Tomas" # Fridays

[keys]
help = ["f1"] # easier to reach

[alarm]
bell = true
"""


def test_a_new_file_holds_what_was_answered_and_reads_so(tmp_path: Path) -> None:
    path = tmp_path / "cart" / "settings.toml"
    settle(path, {"worker": "Ines"})
    settle(path, {"shop": premises_of("The Green Carport, 12 Orchard Lane, 555 0100")})
    settle(path, {"place": {"latitude": 48.5, "longitude": 9.1}})
    found = load_settings(path)
    assert (found.worker, found.place, found.unheeded) == ("Ines", (48.5, 9.1), ())
    assert found.shop.name == "The Green Carport"
    assert (found.shop.lines, found.shop.phone) == (("12 Orchard Lane",), "555 0100")
    assert path.stat().st_mode & 0o077 == 0


def test_lines_and_comments_of_a_file_stay_letter_for_letter(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(OWN)
    path.chmod(0o640)
    usual = os.umask(0o077)
    try:
        settle(path, {"worker": "Ines", "shop": {"name": "A"}})
    finally:
        os.umask(usual)
    text = path.read_text()
    assert all(line in text.splitlines() for line in OWN.splitlines())
    assert load_settings(path).worker == "Ines"
    assert path.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [path]


def test_a_line_of_ones_own_is_refused_and_one_that_was_just_written_is_not(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(OWN)
    with pytest.raises(Refused, match="line helper of your own"):
        settle(path, {"helper": "Ana"})
    with pytest.raises(Refused, match="line alarm of your own"):
        settle(path, {"worker": "Ines", "alarm": {"bell": False}})
    assert path.read_text() == OWN
    settle(path, {"zone": "Europe/Madrid"})
    with pytest.raises(Refused, match="line helper of your own"):
        settle(path, {"helper": "Ana"}, {"zone"})
    settle(path, {"zone": None, "place": {"latitude": 1.0, "longitude": 2.0}}, {"zone"})
    assert settled_keys(path) == {"helper", "keys", "alarm", "place"}


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"worker": ""}, "worker"),
        ({"round_minutes": 7}, "write 0, 5, 6 or 15"),
        ({"colour": "red"}, 'no setting "colour"'),
        ({"place": {"latitude": 91.0, "longitude": 0.0}}, "-90 to 90"),
    ],
)
def test_what_the_settings_would_not_heed_is_not_written(
    tmp_path: Path, values: dict[str, object], said: str
) -> None:
    path = tmp_path / "settings.toml"
    with pytest.raises(Refused, match=said):
        settle(path, values)
    assert not path.exists()


@pytest.mark.parametrize("content", [b"worker = ", b"\xff", b"[a]\n[a]\n", b"x = " + b"[" * 5000])
def test_a_file_that_cannot_be_read_stays_as_it_is(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(content)
    with pytest.raises(Refused):
        settle(path, {"worker": "Ines"})
    assert path.read_bytes() == content


def test_a_disk_that_takes_nothing_leaves_the_file_and_no_rubbish(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(OWN)

    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cartclock.engine.store.whole_file.os.fsync", full)
    with pytest.raises(Refused, match="No space left"):
        settle(path, {"worker": "Ines"})
    assert path.read_text() == OWN
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.toml").write_text(OWN)
    link = tmp_path / "settings.toml"
    link.symlink_to("real.toml")
    settle(link, {"worker": "Ines"})
    assert link.is_symlink()
    assert 'worker = "Ines"' in (tmp_path / "real.toml").read_text()


@given(st.text(min_size=1, max_size=80))
def test_whatever_is_typed_reads_back_or_is_refused(
    tmp_path_factory: pytest.TempPathFactory, typed: str
) -> None:
    path = tmp_path_factory.mktemp("settled") / "settings.toml"
    try:
        settle(path, {"worker": typed})
    except Refused:
        assert not path.exists()
    else:
        assert tomllib.loads(path.read_text("utf-8"))["worker"] == typed


@pytest.mark.parametrize(
    ("typed", "north", "east"),
    [
        ("48.5 9.1", 48.5, 9.1),
        ("48.5, -9.1", 48.5, -9.1),
        ("33.9S 18.4E", -33.9, 18.4),
        ("33.9 s; 18.4 w", -33.9, -18.4),
        ("48.5° N 9.1° E", 48.5, 9.1),
    ],
)
def test_degrees_as_somebody_writes_them(typed: str, north: float, east: float) -> None:
    assert place_of(typed) == {"place": {"latitude": north, "longitude": east}}


@pytest.mark.parametrize(
    ("typed", "zone"),
    [
        ("Europe/Madrid", "Europe/Madrid"),
        ("madrid", "Europe/Madrid"),
        ("new york", "America/New_York"),
        ("UTC", "UTC"),
    ],
)
def test_a_zone_is_named_whole_or_by_its_city(typed: str, zone: str) -> None:
    assert place_of(typed) == {"zone": zone}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("91 9", "-90 to 90"),
        ("48 181", "-180 to 180"),
        ("Madrit", "Did you mean Europe/Madrid"),
        ("Louisville", "America/Kentucky/Louisville"),
        ("48,5 9,1", "48.5 9.1"),
        ("../../etc/passwd", "No zone is called|Did you mean"),
    ],
)
def test_a_place_that_is_none_is_refused_with_what_would_be_right(typed: str, said: str) -> None:
    with pytest.raises(Refused, match=said):
        place_of(typed)


def test_two_phones_have_no_room() -> None:
    with pytest.raises(Refused, match="one phone has room"):
        premises_of("A, 555 0100, 555 0101")
