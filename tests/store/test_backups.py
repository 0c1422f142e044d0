"""Backups that nobody asked for: after each job and each shift, the newest few, each one whole."""

from __future__ import annotations

import asyncio
import datetime as dt
import time
from pathlib import Path
from threading import Event
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store import whole_copy
from cartclock.engine.store.chain import Progress
from cartclock.engine.store.log import Log
from cartclock.engine.store.whole import backups as kept
from cartclock.engine.store.whole.backups import as_wanted, back_up, backups, backups_folder
from cartclock.engine.trouble import StoreFault
from cartclock.tui.commands.group import commands
from tests.kit.damaged import killed_log
from tests.kit.plans import WIPE
from tests.kit.stage import played

DAY_ONE = dt.date(2024, 12, 31)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return killed_log(tmp_path)


def test_a_backup_is_whole_while_the_log_is_written_to(log: Path) -> None:
    with Log.open(log) as opened:
        made = back_up(log, "2026-11-28")
        assert back_up(log, "2026-11-28") == made
        opened.ask("?")
        with Log.open(made) as copy:
            assert (copy.head, copy.check()) == (opened.head, [])
    assert backups_folder(log).stat().st_mode & 0o777 == 0o700
    assert made.stat().st_mode & 0o777 == 0o600
    assert made.name == "2026-11-28-row-21.db"


def left_of(folder: Path, names: list[str]) -> list[str]:
    """Copies made one after the other, each of nothing but a name and a size; what is left."""
    for name in names:
        made = backups_folder(folder / "log.db") / f"{name}.db"
        made.touch()
        kept.thin_out(folder / "log.db", made)
    return [path.stem for path in backups(folder / "log.db")]


def test_what_is_kept_of_a_year_and_nothing_else_is_touched(tmp_path: Path) -> None:
    folder = backups_folder(tmp_path / "log.db")
    folder.mkdir()
    mine = [folder / "before the holidays.db", folder / "2025-02-30-row-7.db"]
    for path in mine:
        path.write_text("precious")
    # Two copies on each working day of a year, the last a Wednesday.
    days = [DAY_ONE + dt.timedelta(n) for n in range(366)]
    worked = [day for day in days if day.weekday() < 5]
    names = [f"{day}-row-{2 * n + k}" for n, day in enumerate(worked) for k in (1, 2)]
    days_kept = [name[:10] for name in left_of(tmp_path, names)]
    newest_three = ["12-31", "12-31", "12-30"]
    five_days_more = ["12-29", "12-26", "12-25", "12-24", "12-23"]
    # With the week and the month that go on they are four and twelve.
    weeks = ["12-19", "12-12"]
    months = ["11-28", "10-31", "09-30", "08-29", "07-31", "06-30", "05-30", "04-30", "03-31"]
    expected = [*newest_three, *five_days_more, *weeks, *months, "02-28", "01-31"]
    assert days_kept == [f"2025-{day}" for day in expected]
    assert [path.read_text() for path in mine] == ["precious", "precious"]


def newest_before(ever: list[Path], made: Path) -> set[Path]:
    """The copy made, and of those of earlier days and of earlier ISO weeks the newest."""

    def week(path: Path) -> tuple[int, int]:
        return dt.date.fromisoformat(path.name[:10]).isocalendar()[:2]

    days = [path for path in ever if path.name[:10] < made.name[:10]]
    weeks = [path for path in ever if week(path) < week(made)]
    return {made, *days[-1:], *weeks[-1:]}


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 3)), min_size=1, max_size=60),
    st.integers(1, 30),
)
def test_nothing_thrown_away_is_missed_later(gaps: list[tuple[int, int]], room: int) -> None:
    """Of all copies ever made those would be kept that are, as long as there always was room; where
    there is room for a few only, the newest, the newest of any day before and of any week before
    are among them."""
    day, ever, left, most = DAY_ONE, list[Path](), list[Path](), 0
    for gap, more in gaps:
        day += dt.timedelta(gap)
        for _ in range(1 + more):
            made = Path(f"{day}-row-{len(ever)}.db")
            ever.append(made)
            left = as_wanted([*left, made], made)[: max(room, kept.AT_LEAST)]
        wanted = as_wanted(ever, made)
        assert newest_before(ever, made) <= set(left)
        most = max(most, len(wanted))
        if room >= most:
            assert left == wanted


def test_where_there_is_no_room_three_stay(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "KEPT_BYTES", 1)
    for day in ("2026-11-19", "2026-11-20", "2026-11-23", "2026-11-24", "2026-11-25", "2026-11-26"):
        back_up(log, day)
    # The day, the day before it and the week before.
    assert [path.name[:10] for path in backups(log)] == ["2026-11-26", "2026-11-25", "2026-11-20"]


def test_a_copy_of_a_clock_that_was_ahead_pushes_none_out(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept, "KEPT_BYTES", 1)
    for day in ("2036-01-01", "2036-01-02", "2036-01-03", "2026-11-25", "2026-11-26"):
        back_up(log, day)
    there = [path.name[:10] for path in backups(log)]
    assert there == ["2036-01-03", "2026-11-26", "2026-11-25"]


def test_no_backup_fills_the_disk(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    free = log.stat().st_size + kept.ROOM_LEFT - 1
    monkeypatch.setattr("shutil.disk_usage", lambda _: SimpleNamespace(free=free))
    with pytest.raises(StoreFault, match="it would fill the disk; make room, or delete older ones"):
        back_up(log, "2026-11-28")
    assert backups(log) == []


def test_a_backup_that_fails_takes_none_away(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "KEPT_BYTES", 1)
    monkeypatch.setattr(kept, "AT_LEAST", 1)
    made = back_up(log, "2026-11-28")
    data = bytearray(log.read_bytes())
    at = data.index(b"rows_kind") + 4096 * 5
    data[at : at + 6000] = bytes(6000)
    log.write_bytes(data)
    log.with_name("log.db-wal").unlink()
    with pytest.raises(StoreFault, match=r"^No backup was made: "):
        back_up(log, "2026-11-29")
    assert [*backups_folder(log).iterdir()] == [made]


def test_the_newest_backups_are_listed_and_put_back(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(log.parent))
    none = CliRunner().invoke(commands, ["restore"])
    assert (none.exit_code, none.stdout) == (1, "") and "no backup yet" in none.stderr
    older, newer = back_up(log, "2026-11-27"), back_up(log, "2026-11-28")
    listed = CliRunner().invoke(commands, ["restore"])
    assert listed.stdout.split() == [str(newer), str(older)]
    assert listed.stderr.startswith("2 copies, 0.0 GB. Kept are the newest three and ")
    log.write_bytes(b"noise" * 3000)
    done = CliRunner().invoke(commands, ["restore", str(newer)])
    assert done.exit_code == 0 and done.stdout.startswith("21 rows put back")


async def test_a_job_and_a_shift_that_end_are_backed_up(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        bench, log = play.bench, play.bench.log.path

        async def tended() -> list[Path]:
            play.app._tend()
            await play.app.workers.wait_for_complete()
            return backups(log)

        assert await tended() == []
        (job,) = bench.jobs
        bench.do(rules.close_job, job, over={"unfinished": "sold"})
        assert len(await tended()) == 1 and len(await tended()) == 1
        bench.do(rules.clock_off, {})
        assert len(await tended()) == 2
        with Log.open(backups(log)[0]) as copy:
            assert copy.head == bench.log.head
        # Where there can be none, that is said until there is one again.
        folder = backups_folder(log)
        folder.rename(folder.with_name("away"))
        folder.write_text("in the way")
        bench.do(rules.clock_on, ev.ClockedOn("carport"))
        bench.do(rules.clock_off, {})
        await tended()
        assert play.app.with_laptop([])[0].startswith("No backup was made: ")


async def test_who_leaves_does_not_wait_for_a_backup_in_the_dark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = Event()

    def endless(_db: object, _to: Path, told: Progress) -> None:
        begun.set()
        while True:
            told("Copying the log", 0.5)

    monkeypatch.setattr(kept, "copy_log", endless)
    async with played(tmp_path, (WIPE,)) as play:
        bench = play.bench
        (job,) = bench.jobs
        bench.do(rules.close_job, job, over={"unfinished": "sold"})
        play.app._tend()
        assert not bench.ended
        await asyncio.to_thread(begun.wait)
        # One at a time: the next waits for this one.
        bench.do(rules.clock_off, {})
        play.app._tend()
        assert bench.ended
        bench.ended = False
    # The copy was broken off, and is made anew by whoever left.
    assert bench.ended and not list(backups_folder(bench.log.path).iterdir())


def test_a_copy_says_how_far_it_is(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(whole_copy, "_PAGES", 10)
    monkeypatch.setattr(whole_copy, "_STEPS", 100)
    heard: list[tuple[str, float]] = []
    with Log.open(log) as opened:
        opened.backup(tmp_path / "copy.db", lambda what, part: heard.append((what, part)))
    parts = [part for _what, part in heard]
    assert {what for what, _part in heard} == {"Copying the log", "Looking the copy over"}
    assert parts == sorted(parts) and parts[0] < 0.3 and 0.3 < parts[-1] <= 1


def test_a_copy_is_of_one_instant_whatever_is_written_meanwhile(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(whole_copy, "_PAGES", 10)
    with Log.open(log) as opened:
        head, asked = opened.head, opened.asked()
        made = back_up(log, "2026-11-28", lambda _what, _part: opened.ask(f"{time.monotonic()}"))
        with Log.open(made) as copy:
            assert (copy.head, copy.check(), copy.asked()) == (head, [], asked)
