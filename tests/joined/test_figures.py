"""What a shop is told is what the carts' own folds say, to the microsecond, and only the newest."""

from __future__ import annotations

from collections.abc import Iterator

import psycopg
import pytest

from cartclock.engine.hours.partition import partition, told_to_us
from cartclock.engine.joined.asking import shop_answer
from cartclock.engine.joined.figures import every_figure
from cartclock.engine.joined.link import linked
from cartclock.engine.rules import rules
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, worked
from tests.kit.day import from_scratch
from tests.kit.postgres import Postgres


@pytest.fixture
def reader(server: Postgres, owner: psycopg.Connection, shop: str) -> Iterator[psycopg.Connection]:
    """A line of somebody who may read the test's own shop and nothing else."""
    owner.execute("DROP ROLE IF EXISTS reader")
    owner.execute("CREATE ROLE reader LOGIN PASSWORD 'r' IN ROLE cartclock_reader")
    owner.execute("DELETE FROM cartclock.readers WHERE role = 'reader'")
    owner.execute("INSERT INTO cartclock.readers VALUES ('reader', %s)", (shop,))
    with psycopg.connect(
        f"host=127.0.0.1 port={server.port} dbname=shop user=reader password=r", autocommit=True
    ) as line:
        yield line


def of_fold(carts: list[Cart]) -> dict[str, int]:
    """Time on the clock by kind over the shifts of some carts, folded anew from their rows."""
    sums: dict[str, int] = {}
    for one in carts:
        jobs, shifts = from_scratch(one.day.bench.log.all_rows())
        for shift in shifts.values():
            for piece in partition(shift, jobs, told_to_us(shift)):
                sums[piece.kind] = sums.get(piece.kind, 0) + piece.length_us
    return sums


def test_hours_at_the_shop_are_those_of_the_carts(
    cart: Carts, reader: psycopg.Connection, shop: str
) -> None:
    carts = [cart(shop), cart(shop)]
    worked(carts[0], 9)
    worked(carts[1], 4)
    carts[1].day.bench.do(rules.clock_off, {"window_open": "w", "unfinished": "u"})
    for one in carts:
        sent(one)
    found = reader.execute(
        "SELECT sum(hands_time_us), sum(standing_by_time_us), sum(unassigned_time_us),"
        " sum(clock_us), sum(shifts) FROM cartclock.hours_by_week"
    ).fetchone()
    fold = of_fold(carts)
    kinds = ("hands", "standing by", "unassigned")
    assert found == (*(fold.get(kind, 0) for kind in kinds), sum(fold.values()), 2)


def test_a_correction_on_the_cart_is_what_the_shop_says_after_it(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("corrected")
    worked(one, 5)
    sent(one)
    one.day.bench.undo()
    assert sent(one).figures == 2
    found = owner.execute(
        "SELECT hands_time_us FROM cartclock.shift_line WHERE shop = 'corrected'"
    ).fetchone()
    assert found == (of_fold([one])["hands"],)


def test_figures_that_a_dead_sending_left_out_are_told_by_the_next(
    cart: Carts, owner: psycopg.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = cart("left out")
    worked(one, 3)
    sent(one)
    worked(one, 3)
    with monkeypatch.context() as dying:
        dying.setattr("cartclock.engine.joined.sending._tell", lambda *_given: 0)
        assert sent(one).rows > 0
    again = sent(one)
    assert (again.rows, again.figures) == (0, 2)
    found = owner.execute(
        "SELECT hands_time_us FROM cartclock.shift_line WHERE shop = 'left out'"
    ).fetchone()
    assert found == (of_fold([one])["hands"],)
    assert sent(one).figures == 0


def test_figures_of_an_earlier_row_do_not_replace_later_ones(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("later")
    worked(one, 3)
    sent(one)
    log = one.day.bench.log
    subject = every_figure(log)[0].id
    with linked(one.joined, log.path) as line:
        for fold, seq, taken in ((1, 0, 0), (0, 999, 0), (1, log.head.seq, 1), (2, 0, 1)):
            told = line.execute(
                "SELECT cartclock.tell_1(%s, %s, %s, %s::jsonb, '{}', '')",
                (log.origin, fold, seq, f'[{{"id": "{subject}", "digest": "00", "lines": {{}}}}]'),
            ).fetchone()
            assert told == (taken,), (fold, seq)


def test_a_table_or_column_of_a_newer_cart_is_passed_over(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one = cart("newer")
    log = one.day.bench.log
    id_ = "11111111-1111-4111-8111-111111111111"
    lines = '{"job_line": [{"number": 7, "what_comes": 1}], "pg_class": [{"relname": "x"}]}'
    with linked(one.joined, log.path) as line:
        line.execute(
            "SELECT cartclock.tell_1(%s, 1, 1, %s::jsonb, '{}', '')",
            (log.origin, f'[{{"id": "{id_}", "digest": "00", "lines": {lines}}}]'),
        )
    found = owner.execute(
        "SELECT number, vehicle FROM cartclock.job_line WHERE shop = 'newer'"
    ).fetchall()
    assert found == [(7, None)]


def test_open_jobs_are_told_with_the_window_that_closes_first(
    cart: Carts, reader: psycopg.Connection, shop: str
) -> None:
    one = cart(shop)
    worked(one, 3)
    sent(one)
    (job,) = one.day.bench.jobs.values()
    first = min(job.running, key=lambda window: window.closes_us)
    found = reader.execute(
        "SELECT vehicle, section, closes_us, done, sections FROM cartclock.open_jobs"
        " WHERE cart = %s",
        (one.name,),
    ).fetchone()
    assert found is not None
    assert found[:3] == (job.opened.vehicle, first.section, first.closes_us)
    assert found[4] > found[3]


def test_every_window_and_every_stage_is_told(cart: Carts) -> None:
    one = cart("windows")
    worked(one, 3)
    sent(one)
    (job,) = one.day.bench.jobs.values()
    with linked(one.joined, one.day.path) as line:
        windows = shop_answer(line, "windows", "0001-01-01", "9999-12-31")
        stages = line.execute(
            "SELECT stage, sections, done, hands_us FROM cartclock.stage_work ORDER BY nth"
        ).fetchall()
        # Of jobs that are closed alone: what is not done is not held against its plan.
        assert shop_answer(line, "stages", "0001-01-01", "9999-12-31") == []
    assert len(windows) > 1
    assert [(w["section"], w["opens_us"], w["closes_us"]) for w in windows] == [
        (w.section, w.opens_us, w.closes_us)
        for w in sorted(job.running, key=lambda w: (w.closes_us, w.stage, w.section))
    ]
    assert [(name, many) for name, many, _done, _hands in stages] == [
        (stage.name, len(job.of(stage.name))) for stage in job.stages
    ]
    assert sum(hands for *_rest, hands in stages) == of_fold([one])["hands"]


def test_a_cart_takes_away_its_own_figures_alone(cart: Carts, owner: psycopg.Connection) -> None:
    one, other = cart("not mine"), cart("not mine")
    sent(one)
    sent(other)
    theirs = [figures.id for figures in every_figure(other.day.bench.log)]
    asked = b"SELECT count(*) FROM cartclock.job_line WHERE shop = 'not mine'"
    with linked(one.joined, one.day.path) as line:
        line.execute(
            "SELECT cartclock.tell_1(%s, 9, 999, '[]', %s::uuid[], '')",
            (one.day.bench.log.origin, theirs),
        )
    assert owner.execute(asked).fetchone() == (2,)


def test_a_job_that_was_struck_is_gone_at_the_shop(cart: Carts, owner: psycopg.Connection) -> None:
    one = cart("struck")
    one.day.open_job(1)
    sent(one)
    asked = "SELECT count(*) FROM cartclock.job_line WHERE shop = 'struck'"
    assert owner.execute(asked.encode()).fetchone() == (2,)
    one.day.bench.undo()
    sent(one)
    assert owner.execute(asked.encode()).fetchone() == (1,)


def test_a_reader_sees_their_shops_and_no_private_table(
    cart: Carts, reader: psycopg.Connection, shop: str
) -> None:
    one, other = cart(shop), cart("elsewhere")
    sent(one)
    sent(other)
    assert reader.execute("SELECT DISTINCT shop FROM cartclock.carts_heard").fetchall() == [(shop,)]
    for table in ("carts", "readers"):
        with pytest.raises(psycopg.Error) as refused:
            reader.execute(f"SELECT * FROM cartclock.{table}".encode())
        assert refused.value.sqlstate == "42501"
