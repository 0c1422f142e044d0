"""`cartclock shop give` and `take` by a file between two carts, as they are typed."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cartclock.engine.desk.bench import Bench
from cartclock.engine.store.clock import SystemClock
from cartclock.tui.commands.group import commands
from tests.kit.day import Day


@pytest.fixture
def homes(tmp_path: Path) -> tuple[Path, Path]:
    """A cart with a day's beginning on it, and one with a job of its own."""
    made = []
    for seed, name in enumerate(("one", "other")):
        home = tmp_path / name
        home.mkdir()
        # The commands read the clock of this computer.
        day = Day(home, seed=seed, start_us=int(time.time() - 3600) * 1_000_000)
        for _ in range(4 - 3 * seed):
            day.take(60)
        day.bench.close()
        (home / "settings.toml").write_text('zone = "UTC"\n')
        made.append(home)
    return made[0], made[1]


def typed(home: Path, *words: str) -> Result:
    runner = CliRunner(env={"CARTCLOCK_HOME": str(home)})
    return runner.invoke(commands, ["shop", *words])


def test_a_job_goes_over_on_a_stick_and_comes_back(
    homes: tuple[Path, Path], tmp_path: Path
) -> None:
    one, other = homes
    stick = tmp_path / "job 1.jsonl"
    there = typed(other, "who").stdout.strip()
    no = typed(one, "give", "1", "--file", str(stick))
    assert no.exit_code == 1 and "it names the one cart that may take the job" in no.output
    assert not stick.exists()
    no = typed(one, "give", "1")
    assert no.exit_code == 1 and "This cart belongs to no shop" in no.output
    given = typed(one, "give", "1", "--to", there[:8], "--file", str(stick))
    assert given.exit_code == 0, given.output
    assert given.stdout == (
        f"Job 1, bottle green estate, is given; cart {there[:8]} takes it by {stick}.\n"
    )
    no = typed(one, "take", "--file", str(stick))
    assert no.exit_code == 1 and f"was given to cart {there[:8]}, and this is cart" in no.output
    done = typed(other, "take", "--file", str(stick))
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Job 2, bottle green estate, is on this cart from here on; ")
    again = typed(other, "take", "--file", str(stick))
    assert again.stdout.endswith("was taken by this cart already; nothing was written.\n")
    bench = Bench.open(other / "log.db", SystemClock(), "other")
    (job,) = [job for job in bench.jobs.values() if job.tenure == 2]
    assert (job.opened.number, job.state, bench.log.check()) == (2, "open", [])
    bench.close()
    # And back, by another file.
    back = tmp_path / "back.jsonl"
    home = typed(one, "who").stdout.strip()
    assert typed(other, "give", "2", "--to", home, "--file", str(back)).exit_code == 0
    done = typed(one, "take", "--file", str(back))
    assert done.stdout.startswith("Job 1, bottle green estate, is on this cart from here on; ")
    old = typed(other, "take", "--file", str(stick))
    assert "nothing was written" in old.stdout


def test_a_part_is_said_of_a_job(homes: tuple[Path, Path]) -> None:
    one, _other = homes
    no = typed(one, "part", "1", "1")
    assert no.exit_code == 1 and "A job is no part of itself" in no.output


def test_a_job_or_a_file_is_named(homes: tuple[Path, Path]) -> None:
    assert typed(homes[0], "take").exit_code == 2
