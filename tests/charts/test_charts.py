"""What each chart shows, the same as a table, and what it says with little to show."""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.dates import instant
from cartclock.engine.times import Instant
from cartclock.tui.charts.finish import ToldFinish, finish_page
from cartclock.tui.charts.flashes import BandAt, SeenFilm, flash_page
from cartclock.tui.charts.heat import HotWeek, heat_page
from cartclock.tui.charts.money import MEAN_OF, PaidJob, money_page
from cartclock.tui.charts.stages import StageMean, stages_page
from cartclock.tui.charts.used import MonthUse, used_page
from cartclock.tui.face.chart import Columns, Plane
from cartclock.tui.face.laying import laid
from cartclock.tui.face.page import Apart, Cells, Head, Page, Words
from cartclock.tui.face.page_picture import page_picture

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
    ToldFinish(_at("08:00"), _at("18:30"), _at("20:30")),
    ToldFinish(_at("12:00"), _at("19:15"), _at("20:15")),
    ToldFinish(_at("16:00"), _at("20:00"), _at("20:10")),
]


def test_the_finish_is_drawn_by_the_clock_with_its_promise() -> None:
    page = finish_page("bottle green estate", TOLD, _at("19:30"), ZONE)
    chart = _plane(page)
    late, expected = chart.series
    assert expected.points == ((480, 1110), (720, 1155), (960, 1200))
    assert late.points == ((480, 1230), (720, 1215), (960, 1210))
    assert chart.level == (1170, "promised")
    seen = _seen(page)
    assert "promised 19:30" in seen
    assert seen.splitlines()[3].split()[0] == "20:30"
    table = finish_page("bottle green estate", TOLD, _at("19:30"), ZONE, as_table=True)
    assert _rows(table)[0] == ("16:00", "20:00", "20:10")


def test_a_finish_behind_midnight_goes_on_upwards() -> None:
    next_day = instant("2026-09-22 00:45", ZONE)
    told = [TOLD[0], replace(TOLD[2], expected_us=next_day, by_us=next_day)]
    page = finish_page("estate", told, None, ZONE)
    assert _plane(page).series[1].points[-1] == (960, 1440 + 45)
    assert _rows(finish_page("estate", told, None, ZONE, as_table=True))[0][1] == "Tue 22 Sep 00:45"


def test_a_finish_told_once_or_never_is_a_sentence() -> None:
    assert "No finish was told" in _sentence(finish_page("estate", [], _at("19:30"), ZONE))
    once = _sentence(finish_page("estate", TOLD[:1], None, ZONE))
    assert once == "Told once: about 18:30, four times in five by 20:30."


FILMS = [
    SeenFilm("21 Sep", 20.0, 19.0, 50.0, 95.0, 90.0),
    SeenFilm("20 Sep", 30.0, 29.0, 45.0, 60.0),
]
BAND = [BandAt(15.0, 80.0, 110.0, 150.0), BandAt(35.0, 30.0, 40.0, 55.0)]


def test_flashes_stand_over_their_panel_with_band_and_label() -> None:
    page = flash_page("coat", FILMS, BAND, "C", [(20.0, 60.0, 180.0)])
    chart = _plane(page)
    assert [one.mark for one in chart.series] == ["'", "'", "-", "L", "o"]
    assert chart.series[-1].points == ((20.0, 95.0), (30.0, 60.0))
    assert (chart.up.start, chart.up.end) == (0, 180)
    assert "' 8 in 10   - expected   L label   o own" in _seen(page)
    warm = _plane(flash_page("coat", FILMS, (), "F"))
    assert [round(x) for x, _y in warm.series[-1].points] == [68, 86]
    assert warm.across.unit == "F"
    assert _rows(flash_page("coat", FILMS, BAND, "C", as_table=True))[0] == (
        "21 Sep", "20 C", "19 C", "50 %", "1:35", "1:30",
    )  # fmt: skip


def test_films_at_one_temperature_are_drawn_and_one_film_is_said() -> None:
    alike = [FILMS[0], FILMS[0]]
    assert "o" in _seen(flash_page("coat", alike, (), "C")).splitlines()[6]
    assert "W on Run marks one" in _sentence(flash_page("coat", [], BAND, "C"))
    assert _sentence(flash_page("coat", FILMS[:1], BAND, "C")).startswith(
        "One film so far: 1:35 at 20 C."
    )


def _paid(number: int, price: float, hours: float) -> PaidJob:
    return PaidJob(number, "21 Sep", "white van", price, hours * 3600)


def test_money_an_hour_starts_at_nothing_and_has_its_mean() -> None:
    jobs = [_paid(at, 100.0 * at, 2.0) for at in range(1, 10)]
    chart = _plane(money_page(jobs, "EUR"))
    mean, each = chart.series
    assert chart.up.start == 0
    assert each.points[3] == (4, 200)
    assert mean.points[0] == (1, 50)
    # Seven jobs of 150 to 450 an hour.
    assert MEAN_OF == 7
    assert mean.points[-1] == (9, 300)
    assert _rows(money_page(jobs, "EUR", as_table=True))[0] == (
        "9", "21 Sep", "white van", "900", "2 h", "450",
    )  # fmt: skip


def test_without_a_price_there_is_no_money() -> None:
    assert "No job with a price" in _sentence(money_page([], "EUR"))
    assert "50 EUR an hour" in _sentence(money_page([_paid(1, 100, 2)], "EUR"))
    alike = money_page([_paid(1, 100, 2), _paid(2, 100, 2)], "")
    assert _seen(alike).count("o") > 2


def test_what_took_longest_over_its_plan_stands_first() -> None:
    stages = [
        StageMean("Wash", 1440, 1260, 9),
        StageMean("Polish", 16200, 21120, 9),
        StageMean("Inspection", 1200, 1200, 8),
    ]
    page = stages_page("One-step, estate", stages)
    assert _rows(page) == [
        ("Polish", "4 h 30 min", "5 h 52 min", "+1 h 22 min", "9"),
        ("Inspection", "20 min", "20 min", "as planned", "8"),
        ("Wash", "24 min", "21 min", "-3 min", "9"),
    ]
    (bar,) = (cell for cell in page.rows[2].cells if isinstance(cell, Apart))  # type: ignore[union-attr]
    assert (bar.value, bar.low, bar.high) == (-180, -180, 4920)
    assert "▄" not in _seen(stages_page("One-step, estate", stages, as_table=True))
    # Narrow screens keep the sign of the difference and its bar.
    assert "+1 h 22 min  ▐▄" in _seen(page, 40, 9)


def test_stages_all_as_planned_say_so() -> None:
    page = stages_page("One-step", [StageMean("Wash", 600, 600, 1)])
    assert "every stage as planned" in _seen(page)
    assert "No finished stage" in _sentence(stages_page("One-step", []))


def test_heat_is_drawn_with_what_it_is() -> None:
    weeks = [HotWeek("", "14 Sep", 0, 0), HotWeek("21", "21 Sep", 7200, 1800, 900, 3400, "31 C")]
    page = heat_page(weeks)
    assert isinstance(page.chart, Columns)
    assert page.chart.stacks[1].parts == (30, 120)
    seen = _seen(page)
    assert "screening estimate" in seen
    assert "# over the limit   = caution" in seen
    assert seen.index("=====") < seen.index("#####")
    table = heat_page(weeks, as_table=True)
    assert _rows(table)[0] == ("21 Sep", "2 h", "30 min", "15 min", "3.4 l", "31 C")
    assert "screening estimate" in _seen(table)
    assert "No minute in caution" in _sentence(heat_page(weeks[:1]))
    assert "screening estimate" in _sentence(heat_page(weeks[:1]))
    assert _sentence(heat_page([])) == "No shift yet."


def test_use_by_month_keeps_months_without_any() -> None:
    months = [
        MonthUse("Aug", "Aug 2026", 120, "120 ml", 2),
        MonthUse("Sep", "Sep 2026", 0, "0 ml", 0),
        MonthUse("Oct", "Oct 2026", 60, "60 ml", 1),
    ]
    page = used_page("Iron fallout remover", "ml", months)
    assert isinstance(page.chart, Columns)
    assert [one.parts for one in page.chart.stacks] == [(120,), (0,), (60,)]
    assert _seen(page).splitlines()[-1].split() == ["Aug", "Sep", "Oct"]
    assert _rows(used_page("Iron", "ml", months, as_table=True))[0] == ("Oct 2026", "60 ml", "1")
    assert "Nothing was used" in _sentence(used_page("Iron", "ml", months[1:2]))
    assert _sentence(used_page("Iron", "ml", months[:1])) == (
        "One month so far, Aug 2026: 120 ml in 2 jobs."
    )
