"""Films that were watched until ready, over the temperature of their panel."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from msgspec import Struct

from cartclock.engine.body.watch import degrees
from cartclock.engine.dates import local, measured_text, spoken_day
from cartclock.engine.figures.air import TemperatureUnit, in_unit
from cartclock.engine.figures.flash import FlashClimate, OwnFlash, Prediction, predict
from cartclock.engine.films.flashing import WatchedFlash, label_rows, learned
from cartclock.tui.charts.sheets import SHADE, drawn, tabled, unsaid
from cartclock.tui.face.chart import Axis, Band, Plane, Series
from cartclock.tui.face.page import Column, Page, Table

NAME = "Flash times"
# Places at which the band is reckoned. Our own judgement: finer is not seen.
_PLACES = 40
_TABLE = Table(
    (
        Column("seen", rank=2),
        Column("panel", right=True),
        Column("air", right=True, rank=4),
        Column("humidity", right=True, rank=5),
        Column("own", right=True),
        Column("expected", right=True, rank=1),
        Column("8 in 10 films", right=True, rank=3),
    )
)


class _Expected(Struct, frozen=True):
    """What the model says of a film: eight in ten from `low_s` to `high_s`."""

    low_s: float
    middle_s: float
    high_s: float

    @property
    def said(self) -> tuple[str, str]:
        """What is expected, and from when to when eight in ten films are ready."""
        low, middle, high = map(measured_text, (self.low_s, self.middle_s, self.high_s))
        return middle, f"{low} to {high}"


def flash_page(
    product: str,
    films: Sequence[WatchedFlash],
    unit: TemperatureUnit,
    zone: str,
    as_table: bool = False,
) -> Page:
    """The page.

    Args:
        product: what flashes, as it is said.
        films: of one product and one worker, the oldest first. Label and kind of the newest hold.
        unit: of temperatures, "C" or "F".
        zone: by whose clock days are said.
    """
    if not films:
        return unsaid(NAME, product, "No film was watched until ready yet; W on Run marks one.")
    count = f"{len(films)} film{'' if len(films) == 1 else 's'}"
    if as_table:
        return tabled(NAME, product, count, _TABLE, list(_rows(films, unit, zone)))
    if len(films) == 1:
        one = films[0].flash
        at = degrees(one.climate.panel_c, unit, 0)
        said = f"One film so far: {measured_text(one.seconds)} on a panel of {at}."
        return unsaid(NAME, product, f"{said} From two on there is a chart.")
    own = Series(
        "own",
        "o",
        tuple((in_unit(one.flash.climate.panel_c, unit), one.flash.seconds) for one in films),
    )
    # They have the humidity that these films had.
    rh = median(one.flash.climate.rh for one in films)
    expected = _expected_ways(films, rh, unit)
    band = None
    series = (*_labelled(films, unit), own)
    points = [point for one in series for point in one.points]
    if expected is not None:
        low, middle, high = expected
        band = Band("8 in 10 films", SHADE, low, high)
        series = (Series("expected", "-", middle, joined=True, dim=True), *series)
        points += [*low, *high]
        count = f"{count}, for {rh:.0f} % RH"
    xs = [x for x, _y in points]
    chart = Plane(
        Axis("number", min(xs), max(xs), unit),
        Axis("stopwatch", 0, max(y for _x, y in points)),
        series,
        band=band,
        scales=f"min:s by panel temperature, {unit}",
    )
    return drawn(NAME, product, count, chart)


def _rows(
    films: Sequence[WatchedFlash], unit: TemperatureUnit, zone: str
) -> Iterator[tuple[str, ...]]:
    for at in reversed(range(len(films))):
        one, climate = films[at], films[at].flash.climate
        # What it taught is left out, or it would be expected by itself.
        expected = _expected(one, climate, (*films[:at], *films[at + 1 :]))
        yield (
            spoken_day(local(one.seen_us, zone).date()).partition(" ")[2],
            degrees(climate.panel_c, unit, 0),
            degrees(climate.air_c, unit, 0),
            f"{climate.rh:.0f} %",
            measured_text(one.flash.seconds),
            *(("", "") if expected is None else expected.said),
        )


def _expected(
    of: WatchedFlash, climate: FlashClimate, films: Sequence[WatchedFlash]
) -> _Expected | None:
    """What the model says of a film of this kind there; None where it refuses to."""
    own: tuple[OwnFlash, ...] = learned(films).get(of.product, ())
    found: Prediction = predict(label_rows(of.label, of.kind), climate, own, of.kind)
    if found.refusals:
        return None
    return _Expected(found.p10_s, found.p50_s, found.p90_s)


_Way = tuple[tuple[float, float], ...]


def _expected_ways(
    films: Sequence[WatchedFlash], rh: float, unit: TemperatureUnit
) -> tuple[_Way, _Way, _Way] | None:
    """The least, the expected and the greatest of eight times in ten, from the coldest to the
    hottest panel, in the air that these films had; None where nothing is expected.
    """
    climates = [one.flash.climate for one in films]
    cold, hot = (end(one.panel_c for one in climates) for end in (min, max))
    over_c = median(one.panel_c - one.air_c for one in climates)
    moving = median(one.moving for one in climates) > 0.5
    found: list[tuple[float, _Expected]] = []
    for at in range(_PLACES):
        panel_c = cold + (hot - cold) * at / (_PLACES - 1)
        climate = FlashClimate(panel_c, panel_c - over_c, rh, moving)
        expected = _expected(films[-1], climate, films)
        if expected is not None:
            found.append((in_unit(panel_c, unit), expected))
    if len(found) < 2 or hot <= cold:
        return None
    return (
        tuple((x, one.low_s) for x, one in found),
        tuple((x, one.middle_s) for x, one in found),
        tuple((x, one.high_s) for x, one in found),
    )


def _labelled(films: Sequence[WatchedFlash], unit: TemperatureUnit) -> Iterator[Series]:
    """The ends of each row of the label that names a temperature."""
    rows = label_rows(films[-1].label, films[-1].kind)
    ends = tuple(
        (in_unit(row.climate.panel_c, unit), end_s)
        for row in rows
        if row.climate is not None
        for end_s in (row.low_s, row.high_s)
    )
    if ends:
        yield Series("label", "L", ends)
