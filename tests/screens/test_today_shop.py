"""What Today says of the shop: rows that wait, and what is open on the other carts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from cartclock.engine.joined.carried import (
    UNHEARD_US,
    Carried,
    ElsewhereJob,
    note_carried,
    unsent_text,
)
from cartclock.engine.joined.handed import GivenThere, TakenElsewhere
from cartclock.engine.times import Instant, Length
from cartclock.tui.app import BEAT_TICKS
from cartclock.tui.commands.group import commands
from tests.kit.plans import WIPE
from tests.kit.stage import START_US, Play, played

HOUR_US = 3_600_000_000
AT = Instant(START_US)
AWAY = ElsewhereJob(
    "north-2", 7, "blue estate", "Wash", 3, 9, "clay", "roof", Instant(START_US + HOUR_US), AT
)
GIVEN = GivenThere("4f1c2a9b-0000-4000-8000-000000000000", 3, "white van", "north-1", AT)


@pytest.mark.parametrize(
    ("known", "newest", "said"),
    [
        (None, 211, ""),
        (Carried(211, AT, AT), 211, ""),
        # More than the log has: an older copy of it was put back.
        (Carried(300, AT, AT, failed=True), 211, ""),
        # It goes by itself in a moment.
        (Carried(200, AT, AT), 211, ""),
        (Carried(-1, None, AT, failed=True), 0, "Not sent yet; 1 row waits; all is on this cart."),
        (
            Carried(-1, AT, AT, failed=True),
            211,
            "Not sent since 14:13; 212 rows wait; all is on this cart.",
        ),
        (
            Carried(5, AT, AT, failed=True, parted=True),
            7,
            "Not sent since 14:13; 2 rows wait; all is on this cart. Log and shop have parted: "
            "cartclock shop check.",
        ),
    ],
)
def test_rows_that_wait_are_told_of_where_they_were_not_taken(
    known: Carried | None, newest: int, said: str
) -> None:
    assert unsent_text(known, newest, AT, "UTC") == said


def test_where_nobody_has_tried_for_long_rows_wait_as_well() -> None:
    known = Carried(5, AT, AT)
    assert unsent_text(known, 7, Instant(AT + UNHEARD_US), "UTC") == ""
    late = Instant(AT + UNHEARD_US + 1)
    assert unsent_text(known, 7, late, "UTC") == (
        "Not sent since 14:13; 2 rows wait; all is on this cart."
    )
    day = Instant(AT + Length(24 * HOUR_US))
    assert unsent_text(known, 7, day, "UTC").startswith("Not sent since ")
    assert "14:13; 2 rows wait" in unsent_text(known, 7, day, "UTC")


def words(play: Play) -> str:
    return " ".join(play.seen.split())


@pytest.mark.parametrize("size", [(80, 24), (40, 24)])
async def test_today_says_what_was_not_sent_and_is_silent_once_it_was(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, (WIPE,), size=size) as play:
        await play.press("t")
        assert "Not sent" not in words(play)
        log = play.bench.log
        sent = Carried(-1, Instant(START_US - HOUR_US), AT, failed=True)
        note_carried(log.path, sent)
        await play.wind(1)
        rows = log.head.seq + 1
        assert f"; {rows} rows wait; all is on this cart." in words(play)
        assert "Not sent since " in words(play)
        # Never on Run.
        await play.press("esc")
        assert "Not sent" not in words(play)
        await play.press("t")
        note_carried(log.path, Carried(log.head.seq, AT, AT, open_jobs=(AWAY,)))
        await play.wind(1)
        assert "Not sent" not in words(play)
        for _ in range(5):
            await play.press("down")
        assert "north-2, job 7: blue estate" in words(play)
        assert "3 of 9 sections" in words(play)


async def test_a_job_that_another_cart_took_is_let_go_of_by_itself(tmp_path: Path) -> None:
    """What the sending heard is heeded within a minute; what is in hand stays until it is put
    down."""

    async def a_minute_later() -> None:
        await play.wind(60)
        for _ in range(BEAT_TICKS):
            play.app.tick()
        await play.settle()

    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        (job,) = play.bench.jobs.values()
        taken = TakenElsewhere(job.id, 2, "4f1c2a9b-0000-4000-8000-000000000000", "north-2")
        note_carried(play.bench.log.path, Carried(-1, AT, AT, taken=(taken,)))
        await a_minute_later()
        assert play.notice.endswith("put down what is in hand of it, it goes on there.")
        assert play.kinds[-1] == "WorkStarted"
        await play.press("h")
        assert play.kinds[-1] == "WorkPutDown"
        await a_minute_later()
        assert play.kinds[-1] == "JobGiven"
        assert play.notice.startswith("Job 1, bottle green estate, was taken by cart north-2")
        rows = len(play.bench.rows)
        await a_minute_later()
        assert len(play.bench.rows) == rows
        assert play.bench.jobs[job.id].state == "given"


async def test_an_empty_log_shows_what_is_open_on_the_other_carts(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        note_carried(play.bench.log.path, Carried(-1, AT, AT, open_jobs=(AWAY,), given=(GIVEN,)))
        await play.wind(1)
        assert "No job yet" in words(play)
        assert "north-2, job 7: blue estate" in words(play)
        assert (
            "north-1, job 3: white van given away 14:13; A, then T takes it over north-2"
            in words(play)
        )


async def test_the_command_says_it_as_the_screen_does(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        note_carried(
            play.bench.log.path, Carried(-1, AT, AT, failed=True, open_jobs=(AWAY,), given=(GIVEN,))
        )
    run = CliRunner()
    env = {"CARTCLOCK_HOME": str(tmp_path)}
    said = run.invoke(commands, ["today"], env=env).stdout
    assert "rows wait; all is on this cart." in said
    assert "north-2, job 7: blue estate" in said
    data = json.loads(run.invoke(commands, ["today", "--json"], env=env).stdout)
    assert data["unsent"].startswith("Not sent since ")
    assert [job["cart"] for job in data["on_other_carts"]] == ["north-2"]
    assert [job["cart"] for job in data["given_to_be_taken"]] == ["north-1"]
