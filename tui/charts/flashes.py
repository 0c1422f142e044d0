"""Films that were watched until ready, over the temperature of their panel."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from cartclock.engine.dates import clock_text
from cartclock.engine.figures.air import fahrenheit
from cartclock.tui.charts.sheets import drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Plane, Series
from cartclock.tui.face.page import Column, Page, Table

NAME = "Flash over panel"
_TABLE = Table(
    (
        Column("seen", least=6, rank=2),
        Column("panel", right=True),
        Column("air", right=True, rank=1),
        Column("humidity", right=True, rank=3),
        Column("yours", right=True),
        Column("expected", right=True, rank=4),
    )
)


class SeenFilm(Struct, frozen=True):
    """A film that was watched until it was ready.

    Fields:
        day: when, as it is said.
        panel_c, air_c: temperatures in Celsius.
        rh: relative humidity in per cent.
        seconds: from its last touch to ready.
        expected_s: what the model gives at that climate without this film; None: nothing.
    """

    day: str
    panel_c: float
    air_c: float
    rh: float
    seconds: float
    expected_s: float | None = None


class BandAt(Struct, frozen=True):
    """What the model expects at a panel temperature, in seconds: eight films in ten lie from
    `low_s` to `high_s`.
    """

    panel_c: float
    low_s: float
    middle_s: float
    high_s: float


def flash_page(
    product: str,
    films: Sequence[SeenFilm],
    band: Sequence[BandAt],
    unit: str,
    label: Sequence[tuple[float, float, float]] = (),
    as_table: bool = False,
) -> Page:
    """The page.

    Args:
        product: what flashes.
        films: the newest first.
        band: by rising temperature; () where the model says nothing.
        unit: of temperatures, "C" or "F".
        label: of each of its rows with a temperature that in Celsius and its shortest and longest
            time in seconds.
    """
    if not films:
        return unsaid(NAME, product, "No film was watched until ready yet; W on Run marks one.")
    count = f"{len(films)} film{'' if len(films) == 1 else 's'}"
    if as_table:
        rows = [
            (
                one.day,
                _degrees(one.panel_c, unit),
                _degrees(one.air_c, unit),
                f"{one.rh:.0f} %",
                clock_text(one.seconds),
                "" if one.expected_s is None else clock_text(one.expected_s),
            )
            for one in films
        ]
        return tabled(NAME, product, count, _TABLE, rows)
    if len(films) == 1:
        one = films[0]
        said = f"One film so far: {clock_text(one.seconds)} at {_degrees(one.panel_c, unit)}."
        return unsaid(NAME, product, f"{said} From two on there is a chart.")
    own = tuple((_in(one.panel_c, unit), one.seconds) for one in films)
    lines = [
        ("8 in 10", "'", tuple((at.panel_c, at.low_s) for at in band)),
        ("8 in 10", "'", tuple((at.panel_c, at.high_s) for at in band)),
        ("expected", "-", tuple((at.panel_c, at.middle_s) for at in band)),
    ]
    modelled = tuple(
        Series(name, mark, tuple((_in(x, unit), y) for x, y in points), joined=True, dim=True)
        for name, mark, points in lines
        if len(points) > 1
    )
    rows_at = tuple((_in(at_c, unit), end_s) for at_c, *ends in label for end_s in ends)
    labelled = (Series("label", "L", rows_at),) if rows_at else ()
    series = (*modelled, *labelled, Series("own", "o", own))
    points = [point for one in series for point in one.points]
    xs = [x for x, _y in points]
    chart = Plane(
        Axis("number", min(xs), max(xs), unit),
        Axis("stopwatch", 0, max(y for _x, y in points)),
        series,
    )
    return drawn(NAME, product, count, chart)


def _in(celsius: float, unit: str) -> float:
    return fahrenheit(celsius) if unit == "F" else celsius


def _degrees(celsius: float, unit: str) -> str:
    return f"{_in(celsius, unit):.0f} {unit}"
