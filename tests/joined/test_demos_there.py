"""What a shop says of the days of every demo is what their folds say, to the microsecond."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from cartclock.demo_sessions.script import sessions
from cartclock.demo_sessions.session import play
from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.shift import Shift
from cartclock.engine.hours.partition import Piece, partition, told_to_us
from cartclock.engine.joined.asking import shop_answer
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.membership import Joined, join
from cartclock.engine.joined.sending import send
from cartclock.engine.products.stock import stock
from cartclock.engine.store.log import Log
from tests.kit.day import from_scratch
from tests.kit.postgres import Postgres

pytestmark = pytest.mark.long


def pieces(jobs: dict[str, Job], shifts: dict[str, Shift]) -> list[tuple[Shift, Piece]]:
    """Where the time of every shift went."""
    return [
        (shift, piece)
        for shift in shifts.values()
        for piece in partition(shift, jobs, told_to_us(shift))
    ]


def week_of(shift: Shift) -> str:
    year, week, _day = local(shift.on_us, shift.on.zone).isocalendar()
    return f"{year:04}-W{week:02}"


@pytest.mark.parametrize("name", sessions())
def test_a_demo_at_the_shop_is_its_fold(name: str, server: Postgres, tmp_path: Path) -> None:
    play(name, folder=tmp_path)
    path = tmp_path / "log.db"
    cart = f"demo-{name}"
    server.add_cart(cart, name)
    joined = Joined(f"127.0.0.1:{server.port}", cart)
    join(joined, cart, path)
    with Log.open_to_read(path) as log, linked(joined, path) as line:
        send(log, line, "0")
        rows = log.all_rows()
        answers = {
            asked: shop_answer(line, asked, "0001-01-01", "9999-12-31")
            for asked in ("hours", "stock", "carts")
        }
        work = line.execute(
            "SELECT number, hands_us, work_us FROM cartclock.job_work ORDER BY number"
        ).fetchall()
        windows = line.execute(
            "SELECT count(*), min(closes_us) FROM cartclock.window_line"
        ).fetchone()
    jobs, shifts = from_scratch(rows)
    told = pieces(jobs, shifts)

    by_week: dict[tuple[str, str], Counter[str]] = {}
    for shift, piece in told:
        found = by_week.setdefault((shift.worker, week_of(shift)), Counter())
        found[f"{piece.kind.replace(' ', '_')}_time_us"] += piece.length_us
        found["clock_us"] += 0 if piece.kind == "off" else piece.length_us
    for one in answers["hours"]:
        fold = by_week.pop((one["worker"], one["week"]))
        for column in [column for column in one if column.endswith("_us")]:
            assert one[column] == fold.pop(column, 0), column
        assert not +fold
    assert by_week == {}

    assert [(number, work_us) for number, _hands, work_us in work] == [
        (
            job.opened.number,
            sum(piece.length_us for _shift, piece in told if piece.job == job.id),
        )
        for job in sorted(jobs.values(), key=lambda job: job.opened.number)
    ]
    assert [hands for _number, hands, _work in work] == [
        sum(p.length_us for _s, p in told if p.job == job.id and p.kind == "hands")
        for job in sorted(jobs.values(), key=lambda job: job.opened.number)
    ]

    running = [w.closes_us for job in jobs.values() if job.state == "open" for w in job.running]
    assert windows == (len(running), min(running, default=None))

    items = stock(rows).items
    for one in answers["stock"]:
        item = items[one["product"]]
        left = None if item.left is None else float(item.left)
        assert (one["left"], one["in_shop"], one["unit"]) == (left, left, item.unit)
    packed = {item.product for item in items.values() if item.pack or item.weighed_us is not None}
    assert {one["product"] for one in answers["stock"]} == packed
    assert [one["rows"] for one in answers["carts"]] == [len(rows)]
