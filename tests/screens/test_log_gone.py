"""The log is taken away under the screens: the day goes on, and one record tells all of it."""

from __future__ import annotations

from pathlib import Path

from cartclock.engine.desk.shop import Shop
from cartclock.engine.store.log import Log
from tests.kit.plans import WIPE
from tests.kit.stage import played


async def test_the_day_goes_on_in_a_second_log(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        place = play.bench.log.path
        before = play.bench.log.head.seq
        with Log.open(place.with_name("other.db")):
            pass
        place.with_name("other.db").replace(place)
        await play.wind(30)
        await play.press("space")
        second = play.bench.log.path
        assert second != place and play.bench.log.head.seq > before
        assert play.notice == f"log.db was replaced; the day goes on in {second.name}."
        await play.wind(60)
        await play.press("space")
        now_us = play.bench.now_us
    with Log.open(second) as log:
        record = Shop(log).record("1", now_us)
        assert log.check() == []
        assert record.proof.rows == log.head.seq + 1
        # What was pressed before and behind is of one job.
        of_job = [row.seq for row in log.all_rows() if row.job]
        assert min(of_job) <= before < max(of_job)
