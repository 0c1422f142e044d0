"""A month in which all goes wrong that can: nothing that was answered is lost, and hours and
records are those of a reckoner that shares no code with the folds."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.engine.desk.shop import Shop
from cartclock.engine.hours.partition import partition, sums
from cartclock.engine.store.views import VIEWS
from cartclock.engine.store.whole.audit import audit
from tests.kit.day import told
from tests.kit.month import Month
from tests.kit.reckoner import SECOND_US, reckoned
from tests.kit.retold import as_recorded, retold


def proved(month: Month) -> tuple[int, int]:
    """Holds the log of a month against the reckoner; answers its presses and its faults."""
    bench = month.bench
    rows = bench.log.all_rows()
    assert [row.seq for row in rows] == list(range(len(rows)))
    jobs, shifts, odd = told(rows)
    assert odd == [] and len(jobs) == month.jobs
    for shift in shifts.values():
        assert shift.off_us is not None
        pieces = partition(shift, jobs, shift.off_us)
        seconds = reckoned(rows, shift.id, shift.off_us, leaps=True)
        assert sums(pieces) == {bucket: s * SECOND_US for bucket, s in seconds.items()}
    shop = Shop(bench.log, library=bench.library)
    for job in shop.jobs():
        record, wanted = as_recorded(shop.record(job.job, bench.now_us)), retold(rows, job.job)
        assert record.used == pytest.approx(wanted.used)
        for name in set(record.__struct_fields__) - {"used"}:
            assert getattr(record, name) == getattr(wanted, name), name
    bench.close()
    assert audit(month.place, VIEWS).wrong == ()
    return len({row.press for row in rows}), sum(month.met.values())


def test_a_day_in_which_all_goes_wrong(tmp_path: Path) -> None:
    month = Month(tmp_path, 1, seed=5, every=2)
    presses, faults = proved(month)
    assert presses > 40 and faults > 12 and len(month.met) == len(month.faults)


@pytest.mark.long
def test_a_month_in_which_all_goes_wrong(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    month = Month(tmp_path, 26, seed=4, every=60, parts=19)
    presses, faults = proved(month)
    with capsys.disabled():
        print(f"\n{month.jobs} jobs, {presses:,} presses, {faults} faults: {dict(month.met)}")  # noqa: T201  the figures are what this long run is for
    assert month.jobs == 40 and presses >= 30_000
    assert len(month.met) == len(month.faults) and min(month.met.values()) > 15
