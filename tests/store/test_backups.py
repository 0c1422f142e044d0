"""Backups that nobody asked for: after each job and each shift, the newest few, each one whole."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cartclock.engine.facts import events as ev
from cartclock.engine.rules import rules
from cartclock.engine.store.log import Log
from cartclock.engine.store.whole import backups as kept
from cartclock.engine.store.whole.backups import back_up, backups, backups_folder
from cartclock.engine.trouble import StoreFault
from cartclock.tui.commands.group import commands
from tests.kit.damaged import killed_log
from tests.kit.plans import WIPE
from tests.kit.stage import played


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


def test_the_oldest_go_and_nothing_else(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "KEPT_BACKUPS", 3)
    mine = backups_folder(log) / "before the holidays.db"
    backups_folder(log).mkdir()
    mine.write_text("precious")
    for day in range(1, 7):
        back_up(log, f"2026-11-0{day}")
    assert [path.name[:10] for path in backups(log)] == ["2026-11-06", "2026-11-05", "2026-11-04"]
    assert mine.read_text() == "precious"


def test_a_backup_that_fails_takes_none_away(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "KEPT_BACKUPS", 1)
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
