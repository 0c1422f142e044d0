"""A table of hours as a forecast's export has it, from the text of a CSV.

The first line names its columns; others than these are passed over:

- `time`: "2026-07-24 05:00", "2026-07-24T05:00", or "05:00" for every day;
- `air_c` or `air_f`;
- `rh`, `dew_c` or `dew_f`.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path

from cartclock.engine.figures.air import dew_point_c
from cartclock.engine.figures.bounds import Bound
from cartclock.engine.figures.measured import AIR, HUMIDITY
from cartclock.engine.store.plain_file import first_bytes
from cartclock.engine.trouble import PlanFault, Refused

# Two weeks of hours with room for a dozen columns. Our own judgement.
TABLE_BYTES = 256 * 1024
TABLE_ROWS = 400
# A line between two hours further apart says nothing of what is between. Our own judgement.
MOST_APART_H = 3
_MOST_FAULTS = 5
DEW_POINT = Bound("dew point", -40.0, 60.0, "C")


def text_of(path: Path) -> str:
    """The text of a table of hours.

    Raises Refused where the disk does not give it, and PlanFault for one that is no plain file,
    larger than `TABLE_BYTES` or no UTF-8.
    """
    try:
        found = first_bytes(path, TABLE_BYTES + 1)
    except OSError as why:
        raise Refused(f"{path} cannot be read: {why.strerror}.") from None
    if found is None:
        raise PlanFault((f"{path.name}: this is no plain file; name one.",))
    if len(found) > TABLE_BYTES:
        large = f"{path.name}: larger than {TABLE_BYTES // 1024} KB; give the hours alone."
        raise PlanFault((large,))
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise PlanFault((f"{path.name}: this is not UTF-8 text.",)) from None


def read_hours(text: str, name: str, day: datetime.date) -> dict[int, tuple[float, float]]:
    """Hour of that day -> air and dew point in C.

    Args:
        text: of the file.
        name: of the file, for the faults.

    Raises PlanFault with a sentence for each fault, five at most.
    """
    rows = csv.DictReader(io.StringIO(text))
    faults: list[str] = []
    try:
        heads = rows.fieldnames or ()
    except csv.Error as why:
        raise PlanFault((_no_table(name, why),)) from None
    columns = {head.strip().lower(): head for head in heads if head}
    faults += _missing(columns, name)
    found: dict[int, tuple[float, float]] = {}
    if not faults:
        for count, row in enumerate(_rows(rows, name, faults), start=1):
            if count > TABLE_ROWS:
                faults.append(f"{name}: more than {TABLE_ROWS} lines; give the days alone.")
                break
            if len(faults) >= _MOST_FAULTS:
                break
            _take(row, columns, day, f"{name}, line {rows.line_num}", found, faults)
    if not faults:
        faults += _gaps(found, name, day)
    if faults:
        raise PlanFault(tuple(faults[:_MOST_FAULTS]))
    return found


def _rows(
    rows: Iterable[dict[str, str | None]], name: str, faults: list[str]
) -> Iterator[dict[str, str | None]]:
    try:
        yield from rows
    except csv.Error as why:
        faults.append(_no_table(name, why))


def _no_table(name: str, why: csv.Error) -> str:
    return f"{name}: this is not a table of commas and lines: {why}."


def _missing(columns: Mapping[str, str], name: str) -> Iterator[str]:
    wanted = {"time": ("time",), "air": ("air_c", "air_f"), "humidity": ("rh", "dew_c", "dew_f")}
    for what, names in wanted.items():
        if not any(one in columns for one in names):
            listed = " or ".join(names)
            yield f"{name}: its first line names no column for {what}; call it {listed}."


def _take(
    row: Mapping[str, str | None],
    columns: Mapping[str, str],
    day: datetime.date,
    where: str,
    found: dict[int, tuple[float, float]],
    faults: list[str],
) -> None:
    """One line; hours of another day are passed over, and so are half hours."""

    def cell(column: str) -> str:
        return (row.get(columns.get(column, "")) or "").strip()

    try:
        of, at = _time(cell("time"))
        if of not in (None, day) or at.minute or at.second:
            return
        if at.hour in found:
            faults.append(f"{where}: {at:%H:%M} is there twice; leave one out.")
            return
        air_c = _celsius(cell, "air", AIR)
        dew_c = (
            dew_point_c(air_c, _number(cell("rh"), HUMIDITY))
            if "rh" in columns
            else _celsius(cell, "dew", DEW_POINT)
        )
    except ValueError as why:
        faults.append(f"{where}: {why}.")
        return
    found[at.hour] = air_c, dew_c


def _time(text: str) -> tuple[datetime.date | None, datetime.time]:
    for form in ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S"):
        try:
            at = datetime.datetime.strptime(text, form)  # noqa: DTZ007  # it is of the place's clock
        except ValueError:
            continue
        return at.date(), at.time()
    try:
        return None, datetime.datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007  # likewise
    except ValueError:
        raise ValueError(
            f'"{text[:30]}" is no time; write it like 2026-07-24 05:00, or 05:00'
        ) from None


def _celsius(cell: Callable[[str], str], stem: str, of: Bound) -> float:
    if text := cell(f"{stem}_c"):
        return _number(text, of)
    text = cell(f"{stem}_f")
    fahrenheit = Bound(of.name, of.low * 1.8 + 32, of.high * 1.8 + 32, "F")
    return (_number(text, fahrenheit) - 32) / 1.8


def _number(text: str, of: Bound) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not of.holds(value):
        raise ValueError(
            f'{of.name} "{text[:30]}" is not a number from {of.low:g} to {of.high:g} {of.unit}'
        )
    return value


def _gaps(found: Mapping[int, object], name: str, day: datetime.date) -> Iterator[str]:
    told = sorted(found)
    if not told:
        yield f"{name}: no whole hour of {day} is in it."
    for before, after in pairwise(told):
        if after - before > MOST_APART_H:
            yield (
                f"{name}: from {before:02}:00 to {after:02}:00 nothing is told; "
                f"{MOST_APART_H} hours at most may lie between two lines."
            )
