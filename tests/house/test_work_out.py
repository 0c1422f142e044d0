"""`cartclock work-out` and `cartclock check`: data on stdout, talk on stderr, exit codes."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cartclock.tui.commands.group import commands

FLASH = "flash --panel 32 --air 33 --rh 40 --label 60-120 --at 20/50"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cart without settings."""
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    return tmp_path


def ran(words: str) -> Result:
    return CliRunner().invoke(commands, ["work-out", *shlex.split(words)])


def said(words: str) -> str:
    result = ran(words)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout


def told(words: str) -> dict[str, Any]:
    found = json.loads(said(f"{words} --json"))
    assert isinstance(found, dict)
    return found


# Mix.


@pytest.mark.parametrize(
    ("words", "product", "water"),
    [
        ("10:1 --make 500ml", "500/11", "5000/11"),
        ("1:10 --make 500ml", "500/11", "5000/11"),
        ("10:1 --make 500ml --reading in", "50", "450"),
        ("10:1 --make 500ml --reading onto", "50", "500"),
        ("'1 in 10' --make 500ml", "50", "450"),
        ("'5 %' --make 1l", "50", "950"),
        ("ready --make 1l", "1000", "0"),
        ("--stock 70 --wanted 50 --make 1l", "5000/7", "2000/7"),
        ("--stock 70% --wanted 70% --make 1l", "1000", "0"),
    ],
    ids=lambda value: f"{value}, by definition",
)
def test_mix_is_exact(words: str, product: str, water: str) -> None:
    found = told(f"mix {words}")
    assert (found["product_ml_exact"], found["water_ml_exact"]) == (product, water)


def test_mix_says_how_it_was_read_and_how_else_it_could_be() -> None:
    text = said("mix 10:1 --make 500ml --drops-per-ml 20")
    for words in (
        "10:1 read as 10 parts water + 1 part product = 11 parts",
        "--reading in: 1 part product in 10 parts",
        "50 ml product, 450 ml water",
        "--reading onto: 1 part product onto 10 parts water",
        "Water first, then the product into the water.",
        "909 drops",
        "1.54 US fl oz",
    ):
        assert words in text
    assert "other ways" not in said("mix '1 in 10' --make 500ml")
    assert set(told("mix 10:1 --make 1l --reading onto")["others"]) == {"parts", "in"}
    assert "0.4 parts water" in said("mix --stock 70 --wanted 50 --make 1l")


# Flash.


def test_flash_shows_its_terms() -> None:
    text = said(FLASH)
    for words in ("level of the label", "panel and drying air", "moving air", "start looking",
                  "expected", "off by", "Screening estimate."):  # fmt: skip
        assert words in text
    found = told(FLASH)
    times = 1.0
    for term in found["terms"]:
        times *= term["times"]
    assert times == pytest.approx(found["reckoned_s"], rel=1e-4)
    assert found["p10_s"] < found["p50_s"] < found["p90_s"]


def test_flash_reads_fahrenheit_and_durations_alike() -> None:
    other = "flash --panel 89.6F --air 91.4F --rh 40% --label 1m-2m --at 68F/50"
    assert told(other)["p50_s"] == pytest.approx(told(FLASH)["p50_s"], rel=1e-6)


def test_a_figure_alone_is_in_the_unit_of_the_settings(home: Path) -> None:
    found = told(FLASH), told("heat --air 35 --rh 40"), told("air --air 25 --rh 60 --panel 20")
    (home / "settings.toml").write_text('temperature = "F"\n')
    other = "flash --panel 89.6 --air 91.4 --rh 40% --label 60-120 --at 68/50"
    assert told(other)["p50_s"] == pytest.approx(found[0]["p50_s"], rel=1e-6)
    assert "panel 89.6 F, air 91.4 F, 40 % RH" in said(other)
    assert told("heat --air 95 --rh 40") == found[1] == told("heat --air 35C --rh 40")
    assert told("air --air 77 --rh 60 --panel 68") == found[2]
    (home / "settings.toml").write_text("worker = 5\n")
    broken = ran("heat --air 95 --rh 40")
    assert (broken.exit_code, broken.stdout) == (2, "")
    assert "worker" in broken.stderr


def test_flash_learns_from_what_was_watched() -> None:
    own = "--own 48@31/32/42 --own 52@30/31/45 --own 41@33/34/38 --own 55@28/30/48"
    found = told(f"{FLASH} {own}")
    assert [round(found[key]) for key in ("p10_s", "p50_s", "p90_s")] == [31, 44, 63]
    assert "watched: 48 s, panel 31 C, air 32 C, 42 % RH" in said(f"{FLASH} {own}")


def test_flash_says_why_the_label_stands_alone() -> None:
    text = said("flash --panel 32 --air 33 --rh 40 --label 60-120")
    assert "The label names no climate for its time: the label only." in text
    found = told("flash --panel 48 --air 33 --rh 40 --label 60-120 --at 20/50")
    assert any("outside 5 to 45 C" in refusal for refusal in found["refusals"])
    assert (found["p10_s"], found["p90_s"]) == (60, 120)


# Heat, air, vapour.


def test_heat() -> None:
    text = said("heat --air 35 --rh 40")
    for words in ("heat index   99 F", "extreme caution", "WBGT         28.1 C by estimate",
                  "RAL 25.0 C, REL 28.2 C", "band         over", "by limit     21 min",
                  "by table     60 min", "the smaller  21 min", "in the cool  43 min",
                  "Screening estimate, not medical advice"):  # fmt: skip
        assert words in text
    assert told("heat --air 35 --rh 40 --acclimatized")["limit"] == "REL"
    assert told("heat --wbgt 82.4F")["wbgt_c"] == pytest.approx(28.0)
    assert told("heat --air 35 --rh 40 --globe 45")["wbgt_from"] == "globe"
    sun = told("heat --air 35 --rh 40 --place sun --moving windy --effort heavy --rest 26/50")
    assert sun["wbgt_c"] > told("heat --air 35 --rh 40")["wbgt_c"]
    assert sun["screening_estimate"] is True


def test_air_with_a_panel_is_the_gate() -> None:
    text = said("air --air 24 --rh 60 --panel 18 --sun")
    for words in ("dew point  15.8 C", "wet bulb   18.6 C", "86.8 % RH at the panel",
                  "ask  panel 18.0 C is 2.2 C above the dew point", "warn direct sun"):  # fmt: skip
        assert words in text
    assert "ask" not in said("air --air 24 --rh 60")
    assert "frost point" in said("air --air=-5 --rh 60")
    assert len(told("air --air 24 --rh 60 --panel 18")["gate"]) == 6


def test_the_gate_and_the_heat_are_said_in_the_unit_of_the_settings(home: Path) -> None:
    (home / "settings.toml").write_text('temperature = "F"\n')
    gate = said("air --air 84 --rh 75 --panel 70")
    assert "the dew point of 75.2 F; 5.4 F above it is wanted: 10.8 F short" in gate
    assert " C" not in said("heat --air 95 --rh 40")


@pytest.mark.parametrize(
    "room", ["60", "60m3", "6x4x2.5"], ids=lambda room: f"NIOSH Pocket Guide, isopropyl: {room}"
)
def test_vapour(room: str) -> None:
    found = told(f"vapour --ml 100 --share 1 --room {room}")
    assert found["ppm"] == pytest.approx(530, abs=3)
    assert found["level"] == "over the short term"
    assert told(f"vapour --ml 100 --share 70% --room {room}")["ppm"] == pytest.approx(
        found["ppm"] * 0.7
    )
    assert "screening estimate" in said(f"vapour --ml 100 --room {room}")
    assert told(f"vapour --ml 100 --share 0 --room {room}")["ml_to"] == {}


# Bad input.


@pytest.mark.parametrize(
    "words",
    [
        "mix 0:0 --make 1l",
        "mix 10:0 --make 1l",
        "mix --make 1l -- -10:1",
        "mix ten --make 1l",
        "mix 10:1",
        "mix 10:1 --make -5ml",
        "mix 10:1 --make nanml",
        "mix 10:1 --make 5",
        "mix 10:1 --make 5furlongs",
        "mix 10:1 --make 1l --reading upside",
        "mix '5 %' --make 1l --reading onto",
        "mix 10:1 --make 1l --drops-per-ml nan",
        "mix 10:1 --make 1l --drops-per-ml -20",
        "mix --make 1l",
        "mix --stock 70 --make 1l",
        "mix 10:1 --stock 70 --wanted 50 --make 1l",
        "mix --stock 50 --wanted 70 --make 1l",
        "mix --stock nan --wanted 70 --make 1l",
        "mix --stock 70 --wanted 50 --make 1l --reading in",
        "flash --panel nan --air 33 --rh 40 --label 60-120",
        "flash --panel 32K --air 33 --rh 40 --label 60-120",
        "flash --panel 32 --air 33 --rh 400 --label 60-120",
        "flash --panel 32 --air 33 --rh 40 --label 120-60",
        "flash --panel 32 --air 33 --rh 40 --label -60",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --at 20",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --at 20/50 --at 30/50",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --own 48",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --own 48@31/32",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --own 0@31/32/40",
        "flash --panel 32 --air 33 --rh 40",
        "flash --panel 32 --air 33 --rh 40 --label 60-120 --kind magic",
        "heat",
        "heat --rh 40",
        "heat --air 35",
        "heat --air 350F --rh 40",
        "heat --air 35 --rh 0",
        "heat --air 35 --rh inf",
        "heat --wbgt 200",
        "heat --wbgt 28 --air 30",
        "heat --air 35 --rh 40 --rest 26",
        "heat --air 35 --rh 40 --rest 26/0",
        "heat --air 35 --rh 40 --effort rest",
        "air --air 24",
        "air --air 24K --rh 40",
        "air --air 24 --rh 40 --panel 200",
        "air --air 24 --rh 40 --sun",
        "vapour --ml -1 --room 60",
        "vapour --ml nan --room 60",
        "vapour --ml 1 --room 2x3",
        "vapour --ml 1 --room 0",
        "vapour --ml 1 --room 60 --share 2",
        "nothing",
    ],
)
@pytest.mark.parametrize("how", ["", " --json"])
def test_bad_input_is_a_sentence_on_stderr(words: str, how: str) -> None:
    before, dashes, after = words.partition(" -- ")
    result = ran(f"{before}{how}{dashes}{after}")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.rstrip().endswith((".", "?"))
    assert "Traceback" not in result.stderr


def test_every_command_has_its_help() -> None:
    for name in ("mix", "flash", "heat", "air", "vapour"):
        assert "--json" in said(f"{name} --help")
        assert name in said("--help")


# Check.


def test_check_says_what_must_not_meet_and_leaves_with_nothing_wrong(tmp_path: Path) -> None:
    plan = tmp_path / "wheels.toml"
    plan.write_text(
        """
format = 1
name = "Wheels"
[[product]]
id = "a"
name = "Wheel acid"
family = "fluoride"
hazards = ["Danger", "H314"]
[[product]]
id = "f"
name = "Fallout remover"
family = "thioglycolat"
[[product]]
id = "b"
name = "Mould remover"
family = "bleach"
[[stage]]
name = "Wheels"
sections = ["left wheel"]
[[stage.step]]
work = "spray"
uses = { a = 40 }
""",
        encoding="utf-8",
    )
    result = CliRunner().invoke(commands, ["check", str(plan)])
    assert (result.exit_code, result.stderr) == (0, "")
    _head, pair, acid, unknown = result.stdout.splitlines()
    assert pair.startswith("Wheel acid (fluoride) and Mould remover (bleach) must not meet")
    assert acid.startswith("Wheel acid: Danger, H314: Fluoride goes deep into the skin")
    assert unknown.endswith('did you mean "thioglycolate"?')
