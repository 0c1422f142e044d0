"""The battery as the system tells it: made-up folders, and what they mean."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from cartclock.engine.store.laptop import battery as module
from cartclock.engine.store.laptop.battery import Battery, battery, printed_battery

# From memory.
PMSET = """Now drawing from 'Battery Power'
 -InternalBattery-0 (id=4653155)\t18%; discharging; 1:02 remaining present: true
"""


def supply(folder: Path, name: str, **files: object) -> None:
    """One folder of the system's, a file for each fact."""
    (folder / name).mkdir()
    for file, text in files.items():
        (folder / name / file).write_text(f"{text}\n", "ascii")


def of(folder: Path) -> Battery | None:
    return battery(folder, "linux")


def test_a_laptop_on_its_battery(tmp_path: Path) -> None:
    supply(tmp_path, "AC", type="Mains", online=0)
    supply(tmp_path, "BAT0", type="Battery", capacity=18, status="Discharging")
    assert of(tmp_path) == Battery(18, True)


def test_a_laptop_that_is_plugged_in(tmp_path: Path) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity=5, status="Charging")
    found = of(tmp_path)
    assert found == Battery(5, False)
    assert (found.low, found.urgent, found.sentence) == (False, False, "")


def test_several_batteries_count_by_what_they_hold(tmp_path: Path) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity=10, status="Discharging",
           energy_full=60_000_000)  # fmt: skip
    supply(tmp_path, "BAT1", type="Battery", capacity=100, status="Unknown",
           energy_full=20_000_000)  # fmt: skip
    assert of(tmp_path) == Battery(32, True)
    (tmp_path / "BAT1" / "energy_full").unlink()
    assert of(tmp_path) == Battery(55, True)


def test_the_battery_of_a_mouse_is_none_of_ours(tmp_path: Path) -> None:
    supply(tmp_path, "mouse", type="Battery", scope="Device", capacity=3, status="Discharging")
    assert of(tmp_path) is None


@pytest.mark.parametrize("capacity", ["", "many", "-3", "140", "18.5", "\x00"])
def test_what_the_firmware_makes_up_is_no_battery(tmp_path: Path, capacity: str) -> None:
    supply(tmp_path, "BAT0", type="Battery", capacity=capacity, status="Discharging")
    assert of(tmp_path) is None


def test_without_folder_file_or_right_to_read_there_is_none(tmp_path: Path) -> None:
    assert of(tmp_path / "none") is None
    assert of(tmp_path) is None
    (tmp_path / "BAT0").write_text("no folder", "ascii")
    assert of(tmp_path) is None
    (tmp_path / "BAT0").unlink()
    supply(tmp_path, "BAT0", type="Battery", status="Discharging")
    (tmp_path / "BAT0" / "capacity").mkdir()
    assert of(tmp_path) is None


@pytest.mark.parametrize(
    ("percent", "said"),
    [
        (100, ""), (20, ""), (19, "battery 19 %: plug in"), (8, "battery 8 %: plug in"),
        (7, "battery 7 %: plug in now"), (0, "battery 0 %: plug in now"),
    ],
)  # fmt: skip
def test_what_is_said_below_twenty_and_below_eight(percent: int, said: str) -> None:
    found = Battery(percent, True)
    assert found.sentence == said
    assert found.low is bool(said)
    assert found.urgent is said.endswith("now")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (PMSET, Battery(18, True)),
        (PMSET.replace("discharging", "charging"), Battery(18, False)),
        (PMSET.replace("18%; discharging", "100%; charged"), Battery(100, False)),
        ("Now drawing from 'AC Power'\n", None),
        (PMSET.replace("18%", "180%"), None),
        ("", None),
    ],
    ids=["discharging", "charging", "charged", "no battery", "impossible", "nothing"],
)
def test_what_macos_prints(text: str, found: Battery | None) -> None:
    assert printed_battery(text) == found


@pytest.mark.parametrize(
    "failure", [FileNotFoundError("pmset"), subprocess.TimeoutExpired("pmset", 5)]
)
def test_a_tool_that_fails_is_no_battery(
    monkeypatch: pytest.MonkeyPatch, failure: Exception
) -> None:
    def fails() -> str:
        raise failure

    monkeypatch.setattr(module, "_pmset", fails)
    assert battery(platform="darwin") is None
    monkeypatch.setattr(module, "_pmset", lambda: PMSET)
    assert battery(platform="darwin") == Battery(18, True)
