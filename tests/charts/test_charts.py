"""What each chart shows, the same as a table, and what it says with little to show."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.ahead.told import ToldFinish
from cartclock.engine.dates import instant
from cartclock.engine.facts.rows import HOUR_US, MINUTE_US
from cartclock.engine.figures.flash import FlashClimate, OwnFlash, predict
from cartclock.engine.films.flashing import WatchedFlash, label_rows
from cartclock.engine.history.answers import HeatWeek, PastJob, PastStage, ProductMonth
from cartclock.engine.history.job_lines import lines_of_job
from cartclock.engine.plan.plan import LabelRow
from cartclock.engine.times import Instant, Length
from cartclock.tui.charts.finish import finish_page
from cartclock.tui.charts.flashes import flash_page
from cartclock.tui.charts.heat import heat_page
from cartclock.tui.charts.money import MOST_TOGETHER, money_page
from cartclock.tui.charts.stages import stages_page
from cartclock.tui.charts.used import no_use_page, used_page, used_products
from cartclock.tui.face.chart import Columns, Plane
from cartclock.tui.face.laying import laid, strip_text
from cartclock.tui.face.page import Apart, Cells, Head, Page, Words
from cartclock.tui.face.page_picture import page_picture
from tests.kit.book import Book
from tests.kit.plans import WIPE, opening

ZONE = "America/New_York"


def _seen(page: Page, width: int = 80, height: int = 20) -> str:
    return page_picture(page, laid(page, width), Head(), 0, width, height).text


def _sentence(page: Page) -> str:
    (row,) = page.rows
    assert isinstance(row, Words)
    return row.text


def _rows(page: Page) -> list[tuple[str, ...]]:
    return [
        tuple(cell for cell in row.cells if isinstance(cell, str))
        for row in page.rows
        if isinstance(row, Cells)
    ]


def _plane(page: Page) -> Plane:
    assert isinstance(page.chart, Plane)
    return page.chart


def _at(text: str) -> Instant:
    return instant(f"2026-09-21 {text}", ZONE)


TOLD = [
    ToldFinish(_at("08:00"), _at("18:30"), _at("20:30"), _at("17:30")),
    ToldFinish(_at("12:00"), _at("19:15"), _at("20:15"), _at("18:15")),
    ToldFinish(_at("16:00"), _at("20:00"), _at("20:10"), _at("19:00")),
]


def test_the_finish_is_drawn_by_the_clock_with_its_promise() -> None:
    page = finish_page("bottle green estate", TOLD, _at("19:30"), ZONE)
    chart = _plane(page)
    (ready,) = chart.series
    # What is promised is when it is ready, not when the hands are done.
    assert (page.name, ready.name) == ("Ready as told", "ready")
    assert ready.points == ((480, 1110), (720, 1155), (960, 1200))
    assert chart.band is not None
    assert chart.band.low == ready.points
    assert chart.band.high == ((480, 1230), (720, 1215), (960, 1210))
    assert chart.level == (1170, "promised")
    seen = _seen(page)
    assert "promised 19:30" in seen
    assert seen.splitlines()[3].split()[0] == "20:30"
    table = finish_page("bottle green estate", TOLD, _at("19:30"), ZONE, as_table=True)
    assert _rows(table)[0] == ("16:00", "20:00", "20:10", "19:00")


def test_a_finish_behind_midnight_goes_on_upwards() -> None:
    next_day = instant("2026-09-22 00:45", ZONE)
    told = [TOLD[0], replace(TOLD[2], ready_us=next_day, by_us=next_day)]
    page = finish_page("estate", told, None, ZONE)
    assert _plane(page).series[0].points[-1] == (960, 1440 + 45)
    assert _rows(finish_page("estate", told, None, ZONE, as_table=True))[0][1] == "Tue 00:45"
    # Its scale says that it is another day.
    assert "Tue 00:00" in _seen(page)


def test_no_time_of_the_table_is_cut_on_a_narrow_screen() -> None:
    days = instant("2026-09-25 02:18", ZONE)
    told = [replace(one, ready_us=days, by_us=days, done_us=days) for one in TOLD]
    table = finish_page("estate", told, None, ZONE, as_table=True)
    assert _seen(table, 40, 8).splitlines()[3].split() == ["16:00", *["Fri", "02:18"] * 2]
    assert _seen(table, 60, 8).splitlines()[3].split() == ["16:00", *["Fri", "02:18"] * 3]


def test_a_finish_told_once_or_never_is_a_sentence() -> None:
    assert "It was not told yet" in _sentence(finish_page("estate", [], _at("19:30"), ZONE))
    once = _sentence(finish_page("estate", TOLD[:1], None, ZONE))
    assert once == (
        "Told once: ready about 18:30, four times in five by 20:30; the work done about 17:30."
    )
    at_once = replace(TOLD[0], done_us=TOLD[0].ready_us)
    assert _sentence(finish_page("estate", [at_once], None, ZONE)).endswith("by 20:30.")


ROW = LabelRow(60, 180, 20.0, 50.0)


def film(panel_c: float, seconds: float, day: int = 21) -> WatchedFlash:
    climate = FlashClimate(panel_c, panel_c - 1, 50.0)
    seen_us = instant(f"2026-09-{day} 12:00", ZONE)
    return WatchedFlash("coat", "solvent", (ROW,), "me", seen_us, OwnFlash(seconds, climate))


FILMS = [film(16, 150, 18), film(20, 100, 19), film(24, 80, 20), film(28, 60)]


def test_flashes_stand_over_their_panel_with_what_is_expected_and_the_label() -> None:
    page = flash_page("Coating", FILMS, "C", ZONE)
    chart = _plane(page)
    middle, label, own = chart.series
    assert [one.mark for one in chart.series] == ["-", "L", "o"]
    assert chart.band is not None
    assert own.points == ((16, 150), (20, 100), (24, 80), (28, 60))
    assert label.points == ((20, 60), (20, 180))
    assert chart.up.start == 0
    # Eight in ten lie round what is expected, and what is warmer flashes sooner.
    for (x, lowest), (_x, most), (at, expected) in zip(
        chart.band.low, chart.band.high, middle.points, strict=True
    ):
        assert x == at
        assert lowest < expected < most
    assert middle.points[0][1] > middle.points[-1][1]
    # As the model says it, asked by itself.
    climate = FlashClimate(28.0, 27.0, 50.0)
    own_flashes = [one.flash for one in FILMS]
    found = predict(label_rows((ROW,), "solvent"), climate, own_flashes, "solvent")
    assert middle.points[-1] == (28, found.p50_s)
    seen = _seen(page)
    assert page.name == "Flash times"
    assert "░ 8 in 10 films  - expected  L label  o own  min:s by panel temperature, C" in seen
    # What stands upwards and across is said, also where there is little room.
    for text in (seen, _seen(page, 40, 9)):
        assert "min:s by panel temperature, C" in text
    assert "4 films, for 50 % RH" in seen


def test_films_in_fahrenheit_and_as_a_table() -> None:
    warm = _plane(flash_page("Coating", FILMS, "F", ZONE))
    assert [round(x) for x, _y in warm.series[-1].points] == [61, 68, 75, 82]
    assert warm.across.unit == "F"
    first, *_others = _rows(flash_page("Coating", FILMS, "C", ZONE, as_table=True))
    assert first[:5] == ("21 Sep 2026", "28 C", "27 C", "50 %", "1:00")
    # As the model says it of that film, by the others.
    of = FILMS[-1].flash.climate
    model = predict(label_rows((ROW,), "solvent"), of, [one.flash for one in FILMS[:-1]], "solvent")
    middle, (low, high) = first[5], first[6].split(" to ")
    for said, told in ((middle, model.p50_s), (low, model.p10_s), (high, model.p90_s)):
        minutes, seconds = said.split(":")
        assert abs(60 * int(minutes) + int(seconds) - told) <= 0.5
    narrow = _seen(flash_page("Coating", FILMS, "C", ZONE, as_table=True), 40, 10)
    assert "expected" in narrow and "humidity" not in narrow
    # Where there is little room a column leaves, and no date is cut.
    assert "21 Sep 2026" in _seen(flash_page("Coating", FILMS, "C", ZONE, as_table=True), 40, 10)


def test_a_film_is_said_to_the_nearest_second() -> None:
    said = [
        _rows(flash_page("Coating", [film(20, 90, 18), film(20, seconds)], "C", ZONE, True))[0][4]
        for seconds in (80.82, 80.49, 80.5, 119.6)
    ]
    assert said == ["1:21", "1:20", "1:21", "2:00"]
    assert "1:21 on a panel" in _sentence(flash_page("Coating", [film(20, 80.82)], "C", ZONE))


def test_films_at_one_temperature_are_drawn_and_one_film_is_said() -> None:
    alike = _plane(flash_page("Coating", FILMS[:1] * 2, "C", ZONE))
    assert alike.band is None
    assert [one.name for one in alike.series] == ["label", "own"]
    assert "W on Run marks one" in _sentence(flash_page("Coating", [], "C", ZONE))
    assert _sentence(flash_page("Coating", FILMS[1:2], "C", ZONE)).startswith(
        "One film so far: 1:40 on a panel of 20 C."
    )


def paid(number: int, price: float, hours: float) -> PastJob:
    hands_us = round(hours * HOUR_US)
    book = Book()
    book.press(0, opening(WIPE))
    line = replace(
        lines_of_job(book.job(), ()).job,
        number=number,
        state="closed",
        price=round(price * 100),
        hands_us=Length(hands_us),
    )
    return PastJob(str(number), line, Length(0), Length(0))


def test_money_an_hour_starts_at_nothing_and_has_its_mean() -> None:
    jobs = [paid(at, 100 * at, 2) for at in range(1, 10)]
    chart = _plane(money_page(jobs, "EUR"))
    mean, each = chart.series
    assert chart.up.start == 0
    assert each.points[3] == (4, 200)
    assert mean.points[0] == (1, 50)
    # Seven jobs of 150 to 450 an hour.
    assert MOST_TOGETHER == 7
    assert mean.points[-1] == (9, 300)
    # What an hour brought lately stands over the chart and over the table.
    for as_table in (False, True):
        assert "the last 7: 300 EUR an hour" in _seen(money_page(jobs, "EUR", as_table))
    first, *_others = _rows(money_page(jobs, "EUR", as_table=True))
    assert (first[0], *first[3:]) == ("9", "900", "2 h", "450")


def test_money_of_several_jobs_is_all_of_it_by_all_their_hours() -> None:
    # 100 an hour for one hour, 20 an hour for four: 180 in five hours, not the mean of the rates.
    page = money_page([paid(1, 100, 1), paid(2, 80, 4)], "EUR")
    assert "the last 2: 36 EUR an hour" in _seen(page)
    line, _each = _plane(page).series
    assert line.points == ((1, 100), (2, 36))
    # Of two jobs it is no mean of seven.
    assert "- 2 together   o a job, oldest first" in _seen(page)


def test_half_a_unit_of_money_is_raised() -> None:
    jobs = [paid(1, 120.5, 1), paid(2, 120.5, 1)]
    assert "the last 2: 121 EUR an hour" in _seen(money_page(jobs, "EUR"))
    first, *_others = _rows(money_page(jobs, "EUR", as_table=True))
    assert first[3:] == ("121", "1 h", "121")
    assert "One job so far: 121 EUR an hour." in _sentence(money_page(jobs[:1], "EUR"))


def test_without_a_price_there_is_no_money() -> None:
    assert "No closed job has a price" in _sentence(money_page([], "EUR"))
    none = replace(paid(1, 100, 2), line=replace(paid(1, 100, 2).line, price=None))
    assert "No closed job has a price" in _sentence(money_page([none], "EUR"))
    assert "One job so far: 50 EUR an hour." in _sentence(money_page([paid(1, 100, 2)], "EUR"))
    assert "One job so far: 50 an hour." in _sentence(money_page([paid(1, 100, 2)], ""))
    alike = money_page([paid(1, 100, 2), paid(2, 100, 2)], "")
    # Whole jobs only stand under it.
    assert _seen(alike).splitlines()[-1].split() == ["1", "2"]


def stage(name: str, planned_min: int, hands_min: int, jobs: int = 9) -> PastStage:
    lengths = (Length(planned_min * MINUTE_US), Length(hands_min * MINUTE_US))
    return PastStage(name, jobs, *lengths, Length(0), Length(0))


def test_what_took_longest_over_its_plan_stands_first() -> None:
    stages = [stage("Wash", 24, 21), stage("Polish", 270, 352), stage("Inspection", 20, 20, 8)]
    page = stages_page("One-step, estate", stages)
    assert _rows(page) == [
        ("Polish", "4 h 30 min", "5 h 52 min", "+1 h 22 min", "9"),
        ("Inspection", "20 min", "20 min", "as planned", "8"),
        ("Wash", "24 min", "21 min", "-3 min", "9"),
    ]
    last = page.rows[2]
    assert isinstance(last, Cells)
    (bar,) = (cell for cell in last.cells if isinstance(cell, Apart))
    assert (bar.value, bar.low, bar.high) == (-3, -3, 82)
    # Of nine jobs, one of which was not looked over.
    assert "a job: +1 h 19 min" in _seen(page)
    assert "▄" not in _seen(stages_page("One-step, estate", stages, as_table=True))
    # Narrow screens keep the sign of the difference and its bar.
    assert "+1 h 22 min  ▐▄" in _seen(page, 40, 9)


def test_half_a_minute_is_raised_as_in_every_other_table() -> None:
    half = PastStage("Coat", 1, *(Length(30_000_000 * n) for n in (133, 131)), Length(0), Length(0))
    page = stages_page("One-step, estate", [half])
    assert _rows(page) == [("Coat", "1 h 7 min", "1 h 6 min", "-1 min", "1")]
    assert "a job: -1 min" in _seen(page)
    more = replace(half, hands_us=Length(30_000_000 * 138))
    assert "a job: +3 min" in _seen(stages_page("One-step, estate", [more]))


def test_bars_are_as_long_as_the_minutes_beside_them() -> None:
    """Some seconds more than planned are as planned, and have no length."""

    def took(name: str, seconds: int) -> PastStage:
        hands_us = Length((600 + seconds) * 1_000_000)
        return replace(stage(name, 10, 10), hands_us=hands_us)

    stages = [took("Wash", 20), took("Clay", -50), took("Polish", -140), took("Coat", -20)]
    page = stages_page("One-step", stages)
    bars = {}
    for row in page.rows:
        assert isinstance(row, Cells)
        (bar,) = (cell for cell in row.cells if isinstance(cell, Apart))
        bars[row.cells[0]] = strip_text(bar, 21).count("▄")
    assert bars == {"Wash": 0, "Coat": 0, "Clay": 10, "Polish": 20}


def test_stages_all_as_planned_say_so() -> None:
    assert "every stage as planned" in _seen(stages_page("One-step", [stage("Wash", 10, 10)]))
    assert "No finished stage" in _sentence(stages_page("One-step", []))


def week(of: str, caution_min: int, over_min: int, peak_c: float | None = None) -> HeatWeek:
    lengths = [Length(minutes * MINUTE_US) for minutes in (2400, caution_min, over_min, 15)]
    return HeatWeek(of, 5, *lengths, 3400, peak_c)


def test_heat_is_drawn_with_what_it_is_and_weeks_without_a_shift() -> None:
    # From the Monday of 24 August to that of 21 September.
    weeks = [week("2026-W35", 0, 0), week("2026-W39", 120, 30, 31.24)]
    page = heat_page(weeks, "C")
    assert isinstance(page.chart, Columns)
    assert [one.parts for one in page.chart.stacks] == [(0, 0)] * 4 + [(30, 120)]
    assert [one.word for one in page.chart.stacks] == [
        *("24 Aug", "31 Aug", "7 Sep", "14 Sep", "21 Sep"),
    ]
    seen = _seen(page)
    assert "screening estimate" in seen
    assert "█ over the limit   ▒ caution" in seen
    assert "0:30 over, 2:00 caution" in seen and "week of 21 Sep, screening estimate" in seen
    assert seen.index("▒▒▒▒▒") < seen.index("█████")
    table = heat_page(weeks, "C", as_table=True)
    assert _rows(table)[0] == ("21 Sep 2026", "2 h", "30 min", "15 min", "3.4 l", "31.2 C")
    assert "screening estimate" in _seen(table)


def test_weeks_of_40_and_48_minutes_differ_on_the_smallest_screen() -> None:
    seen = _seen(heat_page([week("2026-W49", 48, 0), week("2026-W50", 40, 0)], "C"), 40, 9)
    *_head, top, second, _third, _fourth, names = seen.splitlines()
    # Each column stands over the first day of its week.
    first, other = names.index("30 Nov"), names.index("7 Dec")
    assert top.split()[0] == "0:50"
    assert top[first + 2] == "▒" and top[other + 2] in " ·"
    assert (second[first + 2], second[other + 2]) == ("▒", "▒")


def test_a_week_without_a_whole_hour_of_readings_says_why_it_has_no_wbgt() -> None:
    weeks = [week("2026-W38", 0, 0, 24.0), week("2026-W39", 40, 0)]
    newest, before = _rows(heat_page(weeks, "C", as_table=True))
    assert (newest[1], newest[-1]) == ("40 min", "no whole hour")
    assert before[-1] == "24.0 C"


def test_without_heat_it_says_so() -> None:
    said = _sentence(heat_page([week("2026-W35", 0, 0)], "C"))
    assert "No minute in caution or over the limit since the week of 24 Aug 2026" in said
    assert "screening estimate" in said
    assert _sentence(heat_page([], "C")) == "No shift yet."
    # One column alone compares nothing.
    assert _sentence(heat_page([week("2026-W39", 120, 30)], "C")).startswith(
        "One week so far, of 21 Sep 2026: 0:30 over the limit, 2:00 in caution; screening estimate."
    )


def used(month: str, amount: float, name: str = "Iron", unit: str = "ml") -> ProductMonth:
    return ProductMonth(month, name.lower(), name, unit, amount, "ml", 5 * amount, 2)


def test_use_by_month_keeps_months_without_any() -> None:
    months = [used("2025-11", 120), used("2026-01", 60), used("2026-02", 9, "Soap")]
    (iron, soap) = used_products(months)
    page = used_page(iron, months)
    assert isinstance(page.chart, Columns)
    # Up to the last month of any product.
    assert [one.parts for one in page.chart.stacks] == [(120,), (0,), (60,), (0,)]
    assert _seen(page).splitlines()[-1].split() == ["Nov", "Dec", "Jan", "Feb"]
    # 120, 0 and 60 ml; the last month may go on.
    assert "60 ml a month before Feb" in _seen(page)
    assert _rows(used_page(iron, months, as_table=True))[1:3] == [
        ("Jan 2026", "60 ml", "2"),
        ("Dec 2025", "0 ml", "0"),
    ]
    assert _sentence(used_page(soap, months)) == "One month so far, Feb 2026: 9 ml in 2 jobs."
    assert "No product was used yet." in _sentence(no_use_page())


def test_what_has_no_concentrate_is_counted_as_applied_and_apart() -> None:
    months = [used("2026-01", 60), used("2026-02", 12, unit="")]
    assert list(used_products(months).values()) == ["Iron", "Iron, as applied"]
    _iron, applied = used_products(months)
    assert "60 ml" in _sentence(used_page(applied, months))
