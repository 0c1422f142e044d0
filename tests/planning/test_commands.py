"""What is planned from a shell, also by who has no log yet."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.tui.commands.group import commands

STARTER = "one_step_correction_and_coat"
# Days that are ahead, in a summer.
MAY, JULY = (f"{datetime.now(UTC).year + 1}-{day}" for day in ("05-04", "07-24"))


@pytest.fixture(autouse=True)
def _nothing_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))


def asked(*words: str) -> Result:
    done = CliRunner().invoke(commands, words)
    assert (done.exit_code, done.stderr) == (0, "")
    return done


def test_who_asks_before_the_first_job_is_told_from_the_plan_only(tmp_path: Path) -> None:
    text = asked("estimate", STARTER, "--body", "estate", "--day", MAY).stdout
    assert text.startswith("Estimate: One-step correction and coat, estate")
    assert "from the plan only" in text.lower()
    # Hands on it by the plan of an estate; a second reckoner of our own came to 10:10 as well.
    (hands,) = [line for line in text.splitlines() if line.startswith("hands on it")]
    assert hands.split()[-1] == "10:10"
    found = json.loads(asked("estimate", STARTER, "--day", MAY, "--json").stdout)
    assert found["hands_us"] <= found["hands_by_us"]
    assert list(tmp_path.iterdir()) == []


def test_a_day_is_planned_before_the_first_job(tmp_path: Path) -> None:
    air = ("--low", "22", "--high", "37", "--dew", "19", "--day", JULY)
    text = asked("outlook", *air, "--plan", STARTER).stdout
    assert "estimate" in text
    assert "safe" not in text.split()
    assert list(tmp_path.iterdir()) == []
