"""Whose car it is: asked when a job is opened, every line of it to be skipped; changed later."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job
from cartclock.engine.store.settings import Settings
from cartclock.engine.times import Instant
from tests.kit.plans import POLISH, WIPE, opening
from tests.kit.stage import HOME, SMALL, Play, played, whole

# Monday 21 September 2026, 14:13 UTC, is when it is opened.
SETTINGS = Settings(currency="USD")


async def vehicle(play: Play, name: str = "silver estate") -> None:
    """A new job of the first starter on the first body, as far as the vehicle."""
    await play.press("+", "space", "space")
    await play.type(name)


def job(play: Play) -> Job:
    (found,) = play.bench.jobs.values()
    return found


def said(play: Play) -> tuple[str, str, str, str | None, int | None]:
    """Customer, plate, phone, price and promise of the job."""
    opened = job(play).opened
    assert opened is not None
    texts = [play.bench.text(sealed) for sealed in (opened.customer, opened.plate, opened.phone)]
    return (texts[0], texts[1], texts[2], opened.price, opened.promised_us)


PROMISED_US = 1_790_357_400_000_000
"""Fri 25 Sep 2026 17:30 UTC (GNU date)."""


async def test_a_job_opens_with_whose_it_is_its_price_and_its_promise(tmp_path: Path) -> None:
    async with played(tmp_path, on=False, settings=SETTINGS) as play:
        await vehicle(play)
        assert play.sheet.title == "Silver estate: customer"
        await play.type("Ada Example")
        await play.type("DEMO 7")
        await play.type("000 123")
        assert play.sheet.title == "Silver estate: price in USD"
        await play.type("480,50")
        await play.type("fri 17:30")
        assert said(play) == ("Ada Example", "DEMO 7", "000 123", "480.50", PROMISED_US)
        assert [row.kind for row in play.bench.rows] == ["JobOpened"]
        bodies = [str(row.event) for row in play.bench.rows]
        # Names stand outside the log.
        assert not any("Ada" in body or "DEMO 7" in body for body in bodies)


async def test_every_line_is_skipped_by_enter(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await vehicle(play)
        await play.press("enter", "enter", "enter")
        assert play.sheet.title == "Silver estate: price"
        await play.press("enter", "enter")
        assert said(play) == ("", "", "", None, None)


async def test_esc_keeps_what_was_typed_before_it(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await vehicle(play)
        await play.type("Ada Example")
        for letter in "DEMO":
            await play.press(letter)
        await play.press("esc")
        assert said(play) == ("Ada Example", "", "", None, None)
        assert play.called == "today"


async def test_a_promise_is_shown_as_it_is_read_while_it_is_typed(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await vehicle(play)
        await play.press("enter", "enter", "enter", "enter")
        for letter in "fri 17:30":
            await play.press(letter)
        assert "Fri 25 Sep 2026 17:30, kept in more than 9 of 10 such days" in play.text
        await play.press(*["backspace"] * 9)
        # Nobody is done a minute behind the opening.
        at = local(Instant(play.bench.now_us + 60_000_000), play.app.workplace.settings.zone)
        for letter in f"{at:%H:%M}":
            await play.press(letter)
        assert "kept in fewer than 1 of 10 such days" in play.text
        await play.press(*["backspace"] * 5)
        for letter in "9:00":
            await play.press(letter)
        assert "09:00 has passed today; tomorrow 09:00 is Tue 22 Sep 2026 09:00." in play.text
        await play.press(*["backspace"] * 4)
        for letter in "soon":
            await play.press(letter)
        # How it is written stands there once, while it is typed and when it was refused.
        assert '"soon" has no time of day.' in play.text
        assert play.text.count("tomorrow 17:30") == 1
        await play.press("enter")
        assert play.times_said('"soon" has no time of day.') == 1
        assert play.text.count("tomorrow 17:30") == 1
        assert play.bench.rows == []


async def test_a_price_that_is_none_is_asked_again_with_what_was_typed(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await vehicle(play)
        await play.press("enter", "enter", "enter")
        await play.type("a lot")
        assert play.sheet.says.startswith("'a lot' is not a price")
        assert (play.sheet.title, play.bench.rows) == ("Silver estate: price", [])
        await play.press(*["backspace"] * 5)
        await play.type("480")
        await play.press("enter")
        assert said(play)[3] == "480"


async def test_it_is_changed_under_v_line_by_line(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), settings=SETTINGS) as play:
        await play.press("v", "w")
        assert play.sheet.title == "Bottle green estate: whose, price, promise"
        assert [line.split() for line in play.spoken] == [
            [name, "-"] for name in ("customer", "plate", "phone", "price", "promised")
        ]
        await play.press("space")
        await play.type("Ada Example")
        # The next line is chosen; esc leaves the line as it was.
        await play.press("space", "X", "esc", "down", "down", "space")
        await play.type("480")
        await play.press("space")
        await play.type("tomorrow 17:30")
        assert [row.kind for row in play.bench.rows][-3:] == ["JobAmended"] * 3
        assert play.spoken[0].endswith("Ada Example")
        assert play.spoken[3].endswith("480 USD")
        assert play.spoken[4].endswith("Tue 22 Sep 2026 17:30")
        assert play.odd() == []
        # What stands there unchanged is skipped, an emptied line is said no more.
        before = len(play.bench.rows)
        await play.press("up", "space", "enter")
        assert len(play.bench.rows) == before
        await play.press("up", "space", *["backspace"] * 3, "enter")
        assert said(play)[3] is None
        await play.press("esc", "backspace")
        assert said(play)[3] == "480"


FRI_US, THU_US = PROMISED_US, PROMISED_US - 24 * 3600 * 1_000_000


@pytest.mark.parametrize(
    ("keys", "promised_us"),
    [
        (["enter"], FRI_US),
        # What was proposed gives way to what is typed over it.
        ([*"thu 17:30", "enter"], THU_US),
        # A key that moves or takes away lets it stand: 2026-09-25 17:30 becomes 2026-09-24 17:30.
        (["left"] * 6 + ["backspace", "4", "enter"], THU_US),
        (["backspace", "0", "enter"], FRI_US),
        (["end", "backspace", "0", "enter"], FRI_US),
        (["right", "backspace", "0", "enter"], FRI_US),
        (["home", *["delete"] * 16, *"thu 17:30", "enter"], THU_US),
    ],
    ids=["enter", "typed over", "left", "backspace", "end", "right", "home"],
)
async def test_a_promise_that_stands_is_typed_over_or_edited(
    tmp_path: Path, keys: list[str], promised_us: int
) -> None:
    opened = replace(opening(WIPE), promised_us=Instant(FRI_US))
    async with played(tmp_path, opened) as play:
        await play.press("v", "w", "up", "space")
        assert play.times_said("2026-09-25 17:30") == 1
        await play.press(*keys)
        assert not play.typing
        assert said(play)[4] == promised_us


async def test_what_was_refused_is_typed_on(tmp_path: Path) -> None:
    async with played(tmp_path, replace(opening(WIPE), price="480")) as play:
        await play.press("v", "w", "up", "up", "space")
        await play.type("95,5,")
        assert play.sheet.says.startswith("'95.5.' is not a price")
        await play.press("backspace")
        assert play.sheet.says == ""
        await play.press("0", "enter")
        assert said(play)[3] == "95.50"


async def test_a_closed_job_is_amended_from_today(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await play.wind(300)
        await play.press("t", "space", "down", "space", "space", "down", "down", "space", "space")
        await play.type("Ada Example")
        assert (job(play).state, said(play)[0]) == ("closed", "Ada Example")
        await play.press("up", "up", "space")
        await play.type("tomorrow 17:30")
        assert play.sheet.says == "The job is handed over; open it again to promise it anew."


@pytest.mark.parametrize("size", [HOME, SMALL], ids=["80x24", "40x12"])
async def test_a_list_that_asks_names_its_vehicle_and_cuts_the_name_first(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    long = replace(opening(POLISH), vehicle="long wheelbase van with a very high roof rack")
    async with played(tmp_path, long, size=size, on=False) as play:
        await play.press("v", "w", "down", "down", "down", "down", "space")
        said = " ".join(play.text.split())
        assert "promised for (17:30, tomorrow 17:30, thu 17:30 or 2026-10-01 17:30)" in said
        assert "Long wheelbase" in said
        assert whole(play) == []
