"""The long dry day, line by line: what the heat called for, what was done, what stands on paper.

The figures are reckoned anew from the rows, second by second and with the published formulas
written out; only the WBGT of a reading comes from the figures themselves.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from cartclock.demo_sessions.script import file_text
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.figures import heat
from cartclock.engine.figures.air import fahrenheit
from tests.kit.reckoner import SECOND_US
from tests.kit.sessions import result

# Where tests are dealt out by group, each session is played on one worker only.
pytestmark = pytest.mark.xdist_group("demo sessions")

NAME = "dry_heat_estate"
ZONE = ZoneInfo("Australia/Adelaide")
MINUTE_US = 60 * SECOND_US
HOUR_US = 60 * MINUTE_US

# Whole body, in watts: NIOSH 2016-106; read second-hand.
WATTS = {"rest": 115.0, "light": 180.0, "moderate": 300.0, "heavy": 415.0}
# Shade outdoors above the same air indoors: the program's own judgement, stated in the record.
SHADE_C = 1.5
LIGHT_AIR = 1.0


def rel_c(watts: float) -> float:
    """Recommended exposure limit, NIOSH 2016-106: 56.7 - 11.5 log10 of the watts, C WBGT."""
    return 56.7 - 11.5 * math.log10(watts)


def wbgt_c(reading: ev.ReadingTaken) -> float:
    assert reading.air_c is not None
    assert reading.rh is not None
    assert (reading.place, reading.moving) == ("outdoor shade", "not said")
    return heat.wbgt_no_sun_c(reading.air_c, reading.rh, LIGHT_AIR) + SHADE_C


def trigger_f(reading: ev.ReadingTaken) -> float:
    assert reading.air_c is not None
    assert reading.rh is not None
    found = heat.trigger_f(fahrenheit(reading.air_c), reading.rh)
    assert found is not None
    return found


def rows_of(kind: type) -> list[Row]:
    return result(NAME).events(kind)


def facts(kind: type) -> list[Any]:
    return [row.event for row in rows_of(kind)]


def clock(at_us: int) -> str:
    return datetime.fromtimestamp(at_us / 1e6, ZONE).strftime("%H:%M")


def length(us: int) -> str:
    """Hours and minutes, seconds cut off."""
    minutes = us // MINUTE_US
    return f"{minutes // 60}:{minutes % 60:02}"


def nearest(us: int) -> str:
    """Hours and minutes, to the nearest minute."""
    return length(us + MINUTE_US // 2)


def chapter(name: str) -> list[str]:
    """The lines of one chapter, without its heading."""
    lines = result(NAME).records()[0]
    begins = next(at for at, line in enumerate(lines) if line.startswith(name)) + 2
    heads = [at - 2 for at in range(begins, len(lines)) if set(lines[at]) == {"-"}]
    return lines[begins : heads[0] if heads else len(lines)]


def flat(name: str) -> str:
    """A chapter with every run of white space as one space."""
    return " ".join(" ".join(chapter(name)).split())


HEAT = "HEAT, RESTS, VIBRATION, NOISE"


def breaks() -> list[tuple[Row, int]]:
    """Each break with the job time of its end."""
    ends = [row.at_us for row in rows_of(ev.BreakEnded)]
    return [(row, next(e for e in ends if e > row.at_us)) for row in rows_of(ev.BreakTaken)]


def worked_us(from_us: int, to_us: int) -> int:
    """Time on the clock in between that was no break."""
    on_us = rows_of(ev.ClockedOn)[0].at_us
    rests = [(row.at_us, end_us) for row, end_us in breaks()]
    rested = sum(max(0, min(b, to_us) - max(a, from_us)) for a, b in rests)
    return to_us - max(from_us, on_us) - rested


def key_at(at_us: int) -> str:
    return next(key for pressed_us, key in result(NAME).played.keys if pressed_us == at_us)


# Readings and the answer about the days before.


def test_every_reading_is_made_in_the_shade_outdoors() -> None:
    readings = facts(ev.ReadingTaken)
    assert [(one.air_c, one.rh, one.panel_c) for one in readings] == [
        (32.0, 17.0, None),
        (36.0, 17.0, None),
        (36.0, 17.0, None),
        (36.0, 17.0, 47.0),
        (27.0, 31.0, 28.0),
    ]
    assert {one.place for one in readings} == {"outdoor shade"}
    assert "outdoor shade, WBGT by estimate" in chapter("READINGS")


def test_a_reading_is_in_force_for_all_of_the_polish() -> None:
    polish = [row.at_us for row in rows_of(ev.WorkStarted) if row.event.stage == "Polish"]  # type: ignore[attr-defined]  # the rows are of one kind
    ended = [row.at_us for row in rows_of(ev.StepFinished) if row.event.stage == "Polish"]  # type: ignore[attr-defined]  # the rows are of one kind
    assert len(ended) == 3
    read = [row.at_us for row in rows_of(ev.ReadingTaken) if row.at_us <= max(ended)]
    assert len(read) == 4
    assert read[0] < min(polish)
    assert clock(read[0]) == "09:11"
    assert all(later - sooner < HOUR_US for sooner, later in pairwise([*read, max(ended)]))


def test_every_reading_stands_with_its_figures() -> None:
    wanted: list[str] = []
    for row in rows_of(ev.ReadingTaken):
        event = row.event
        assert isinstance(event, ev.ReadingTaken)
        index_f = heat.heat_index_f(fahrenheit(event.air_c or 0), event.rh or 0)
        assert index_f is not None
        index_c = (index_f - 32) / 1.8
        panel = "-" if event.panel_c is None else f"{event.panel_c:g}"
        wanted.append(
            f"{clock(row.at_us)} {event.air_c:g} {event.rh:g} {panel} {wbgt_c(event):.1f} "
            f"{index_f:.0f} F ({index_c:.0f} C)"
        )
    # 80 F and more is caution, 90 F and more extreme caution: US National Weather Service.
    classes = [", caution", *[", extreme caution"] * 3, ""]
    lines = [" ".join(line.split()) for line in chapter("READINGS") if " F (" in line]
    assert [line.removeprefix("Fri 3 Apr ") for line in lines] == [
        line + said for line, said in zip(wanted, classes, strict=True)
    ]


def test_the_days_before_are_told_by_the_list_that_opens_by_itself() -> None:
    (told,) = rows_of(ev.HotDaysSaid)
    assert isinstance(told.event, ev.HotDaysSaid)
    assert (told.event.days, told.event.acclimatization) == (13, "acclimatized")
    first = rows_of(ev.ReadingTaken)[0]
    keys = [key for at_us, key in result(NAME).played.keys if first.at_us < at_us <= told.at_us]
    assert keys == ["up", "up", "space"]
    assert (
        "Acclimatized: 13 hot days in the last 14 by your answer of 2026-04-03, the last one "
        "yesterday. Judged by the exposure limit (REL) of NIOSH 2016-106. Fri 3 Apr "
        f"Told Fri 3 Apr {clock(told.at_us)}: 13 of the last 14 days in the heat."
    ) in flat(HEAT)


# Rests.


def test_the_rests_that_were_called() -> None:
    calls = rows_of(ev.RestCalled)
    assert {row.by for row in calls} == {"machine"}
    said = [row.event for row in calls]
    assert [clock(row.at_us) for row in calls] == ["10:09", "11:04"]
    assert said == [
        ev.RestCalled("15 min in 2 h at heat index 90 F", 900, "soon"),
        ev.RestCalled("an hour without a break", 600, "soon"),
    ]


def test_each_call_is_due_by_its_rule() -> None:
    warm, hot, *_ = rows_of(ev.ReadingTaken)
    assert isinstance(warm.event, ev.ReadingTaken)
    assert isinstance(hot.event, ev.ReadingTaken)
    first, second = (row.at_us for row in rows_of(ev.RestCalled))
    # Under 90 F and under the limit more than an hour of work is a quiet word, no call.
    assert 80 <= trigger_f(warm.event) < 90 <= trigger_f(hot.event)
    assert worked_us(0, warm.at_us) > HOUR_US
    assert first > hot.at_us
    # The next section is longer than what is left of 105 minutes in two hours (89 FR 70698, read
    # second-hand), and then of an hour at it (our own judgement).
    section_us = 37 * MINUTE_US
    assert worked_us(first - 2 * HOUR_US, first) + section_us > 105 * MINUTE_US
    rested_us = breaks()[0][1]
    assert 0 < rested_us + HOUR_US - second < section_us


def test_rests_are_taken_by_the_list_of_breaks_and_by_the_large_key() -> None:
    taken = breaks()
    assert [row.event.what for row, _end_us in taken] == ["heat", "heat", "away"]  # type: ignore[attr-defined]  # the rows are of one kind
    # What was called, by the list; then by the large key.
    assert [row.event.planned_s for row, _end_us in taken] == [900, 600, None]  # type: ignore[attr-defined]  # the rows are of one kind
    assert [key_at(row.at_us) for row, _end_us in taken] == ["h", "space", "a"]
    rest, end_us = taken[1]
    call = rows_of(ev.RestCalled)[1]
    # A rest before the next section ends the one in hand: nothing is put down by it.
    assert rest.at_us == call.at_us or 0 < rest.at_us - call.at_us < SECOND_US
    assert [row.at_us for row in rows_of(ev.WorkPutDown)].count(rest.at_us) == 0
    assert key_at(end_us) == "space"
    assert end_us - rest.at_us >= 600 * SECOND_US


def test_one_rest_is_put_off_with_a_reason_and_taken_later() -> None:
    (overruled,) = rows_of(ev.RestOverruled)
    assert isinstance(overruled.event, ev.RestOverruled)
    assert overruled.event.why == "this one first, then I rest"
    calls = [row.at_us for row in rows_of(ev.RestCalled)]
    assert calls[0] <= overruled.at_us < breaks()[0][0].at_us < calls[1]
    last = [key for at_us, key in result(NAME).played.keys if at_us <= overruled.at_us][-4:]
    assert last == ["down", "space", "down", "space"]
    assert (
        f"Fri 3 Apr {clock(overruled.at_us)} overruled took up: polish roof and driver side "
        "(Polish); rest due: this one first, then I rest"
    ) in flat("NOTES, OVERRULED")


def test_the_rests_stand_in_the_heat_chapter() -> None:
    first, second = rows_of(ev.RestCalled)
    _one, three, _away = breaks()
    refused = rows_of(ev.RestOverruled)[0]
    assert (
        f"Fri 3 Apr {clock(first.at_us)} 15 min, soon 15 min in 2 h at heat index 90 F what became "
        f"of it: not taken at {clock(refused.at_us)}: this one first, then I rest "
        f"{clock(second.at_us)} 10 min, soon an hour without a break what became of it: heat from "
        f"{clock(three[0].at_us)} to {clock(three[1])}, {length(three[1] - three[0].at_us)}"
    ) in flat(HEAT)


# Drinks.


def test_the_third_bottle_in_an_hour_is_warned_of_and_the_worker_waits() -> None:
    drinks = [(row.at_us, row.event.ml) for row in rows_of(ev.DrinkTaken)]  # type: ignore[attr-defined]  # the rows are of one kind
    assert [ml for _at_us, ml in drinks] == [240, 500, 500, 500]

    def in_hour_ml(end_us: int) -> int:
        return sum(ml for at_us, ml in drinks if end_us - HOUR_US < at_us <= end_us)

    # Never more than 48 oz, 1.4 l, in an hour: NIOSH 2017-126.
    assert [in_hour_ml(at_us) > 1400 for at_us, _ml in drinks] == [False, False, False, True]
    warned_us = drinks[-1][0]
    said = [
        (at_us, sentence)
        for at_us, sentence in result(NAME).played.said
        if "more than 1400 ml" in sentence
    ]
    assert said == [
        (
            warned_us,
            "1500 ml in the last hour: more than 1400 ml in an hour can do harm. "
            "Wait with the next.",
        )
    ]
    keys = dict(result(NAME).played.keys)
    assert [keys[at_us] for at_us, _ml in drinks] == ["c", "b", "b", "b"]
    assert [keys[at_us - 2 * SECOND_US] for at_us, _ml in drinks] == ["k"] * 4
    assert (
        f"Drinks: 1740 ml, 4 times; most in an hour 1500 ml, Fri 3 Apr 2026 "
        f"{clock(warned_us - HOUR_US)} to {clock(warned_us)}, over the 1400 ml never to be "
        "exceeded."
    ) in flat(HEAT)


# The account of the heat, second by second.


def account() -> list[tuple[int, float | None, float]]:
    """Every second on the clock: its job time, the WBGT in force (None: no reading), watts."""
    opened = facts(ev.JobOpened)[0]
    stages = {stage.name: stage for stage in opened.plan.stages}
    struck = {row.corrects for row in rows_of(ev.PressStruck)}
    changes: dict[int, float] = {}
    readings: dict[int, float] = {}
    for row in result(NAME).rows:
        if row.press in struck:
            continue
        match row.event:
            case ev.WorkStarted(stage, sections):
                of = stages[stage]
                efforts = [of.effort_by.get(name, of.effort) for name in sections]
                changes[row.at_us] = max(WATTS[effort] for effort in efforts)
            case ev.BreakTaken():
                changes[row.at_us] = WATTS["rest"]
            case ev.StepFinished() | ev.WorkPutDown() | ev.BreakEnded():
                # What is begun with the same press stands behind it and counts.
                changes[row.at_us] = WATTS["light"]
            case ev.ReadingTaken() as reading:
                readings[row.at_us] = wbgt_c(reading)
            case _:
                pass
    begin_us, end_us = rows_of(ev.ClockedOn)[0].at_us, rows_of(ev.ClockedOff)[0].at_us
    found = []
    watts, read_us = WATTS["light"], -HOUR_US
    for at_us in range(begin_us, end_us, SECOND_US):
        watts = changes.get(at_us, watts)
        read_us = at_us if at_us in readings else read_us
        here = readings[read_us] if at_us - read_us < HOUR_US else None
        found.append((at_us, here, watts))
    return found


def test_the_peak_hour_against_the_limit() -> None:
    seconds = account()
    worst: tuple[float, int, float, float] | None = None
    warm = burnt = 0.0
    unread = 0
    for index, (at_us, here, watts) in enumerate(seconds):
        warm, burnt, unread = warm + (here or 0.0), burnt + watts, unread + (here is None)
        if index >= 3600:
            _at_us, old, old_watts = seconds[index - 3600]
            warm, burnt, unread = warm - (old or 0.0), burnt - old_watts, unread - (old is None)
        if index < 3599 or unread:
            continue
        margin_c = rel_c(burnt / 3600) - warm / 3600
        if worst is None or margin_c < worst[0] - 1e-9:
            worst = margin_c, at_us + SECOND_US, warm / 3600, burnt / 3600
    assert worst is not None
    margin_c, end_us, average_c, watts = worst
    # More than 2 C under the limit the program says clear: its own judgement.
    assert margin_c > 2
    assert rel_c(watts) == pytest.approx(heat.rel_c(watts), abs=1e-12)
    said = (
        f"{clock(end_us - HOUR_US)} to {clock(end_us)}, clear: WBGT {average_c:.1f} C, effort "
        f"{watts:.0f} W, limit {rel_c(watts):.1f} C, {margin_c:.1f} C under it."
    )
    assert f"Peak hour: {said}" in flat(HEAT)
    summed = f"peak hour WBGT {average_c:.1f} C, limit {rel_c(watts):.1f} C: clear"
    assert summed in flat("THE JOB IN TEN LINES")


def test_the_time_in_each_class() -> None:
    on_us = rows_of(ev.ClockedOn)[0].at_us
    off_us = rows_of(ev.ClockedOff)[0].at_us
    warm, hot, _again, last, cool = (row.at_us for row in rows_of(ev.ReadingTaken))
    spans = {
        "none": HOUR_US,
        "caution": hot - warm,
        "extreme caution": last + HOUR_US - hot,
    }
    spans["no reading"] = off_us - on_us - sum(spans.values())
    assert off_us - cool > HOUR_US
    (exposure,) = result(NAME).papers[0].exposures
    assert {time.index: time.length_us for time in exposure.index_times} == spans

    # Each second at its own effort: more than 2 C under the limit is clear.
    bands = {"clear": 0, "caution": 0, "no verdict": 0}
    for _at_us, here, watts in account():
        if here is None:
            bands["no verdict"] += 1
        else:
            margin_c = rel_c(watts) - here
            assert margin_c > -2
            bands["clear" if margin_c > 2 else "caution"] += 1
    told = {band: nearest(seconds * SECOND_US) for band, seconds in bands.items()}
    assert (
        f"Clear, more than 2 C under the limit, {told['clear']}; caution, within 2 C of it, "
        f"{told['caution']}; no verdict, no reading in force, {told['no verdict']}."
    ) in flat(HEAT)


# The coat, the evening, the paper.


def test_the_coat_waits_for_the_evening() -> None:
    hot, cool = rows_of(ev.ReadingTaken)[-2:]
    assert (hot.event.panel_c, cool.event.panel_c) == (47.0, 28.0)  # type: ignore[attr-defined]  # the rows are of one kind
    coat = [row.at_us for row in rows_of(ev.WorkStarted) if row.event.stage == "Coat"]  # type: ignore[attr-defined]  # the rows are of one kind
    assert min(coat) > cool.at_us
    away, end_us = breaks()[-1]
    assert hot.at_us < away.at_us < cool.at_us < end_us
    assert [one.counted for one in facts(ev.BreakJudged)] == [False]
    assert len(facts(ev.NoteWritten)) == 1
    note = flat("NOTES, OVERRULED")
    assert "Panel 47 C at 36 C air, out of the sun: too hot to coat." in note
    # Two layers of glass, one press taken back, one section late, one amount put right.
    record = result(NAME).played.record
    assert record.count("late by") == 1
    assert flat("WINDOWS").count("latest by 1:28") == 1
    assert "Glass, layer 2 of 2: " in record
    assert len(facts(ev.PressStruck)) == 1
    assert [one.by for one in facts(ev.UseCorrected)] == [1.0]


def test_keep_it_dry_is_real_time_over_the_change_of_the_clocks() -> None:
    coated = [row for row in rows_of(ev.StepFinished) if row.event.stage == "Coat"]  # type: ignore[attr-defined]  # the rows are of one kind
    last_us = max(row.at_us for row in coated)
    until = datetime.fromtimestamp(last_us / 1e6 + 48 * 3600, ZONE)
    last = datetime.fromtimestamp(last_us / 1e6, ZONE)
    # One hour less on the clock of the place: it went back in between.
    assert until.replace(tzinfo=None) - last.replace(tzinfo=None) == timedelta(hours=47)
    # An end is printed at the next whole minute: never too early.
    shown = (until + timedelta(seconds=59)).strftime("%a %-d %b %Y %H:%M")
    assert f"  not before {shown}    May get wet\n" in result(NAME).played.record


def test_the_day_ends_before_ten() -> None:
    (off,) = rows_of(ev.ClockedOff)
    assert "19:30" < clock(off.at_us) < "22:00"


@pytest.mark.parametrize(
    ("page", "record"),
    [
        ("07:18 to 19:57", "SHIFT FRI 3 APR 07:18 TO 19:57"),
        ("`R` at 09:11.", "Fri 3 Apr 09:11 32 17 - 22.9"),
        ("`SPACE`: 13.", ": 13 of the last 14 days in the heat."),
        ("At 10:09 `R 3 6 SPACE`: 36 C", "10:09 36 17 - 25.8"),
        ("heat index is 93 F now", "25.8 93 F (34 C)"),
        ("15 min of rest in 2 h", "10:09 15 min, soon 15 min in 2 h"),
        ("takes the rest before it", "heat from 11:04 to 11:19, 0:15"),
        ('"this one first, then I rest"', "not taken at 10:09: this one first, then I rest"),
        ("the same figures anew at 11:04", "11:04 36 17 - 25.8"),
        ("at 11:19: 1500 ml in the last hour", "most in an hour 1500 ml, Fri 3 Apr 2026 10:19"),
        ("the panel has 47 C", "11:43 36 17 47 25.8"),
        (
            "shows 27 C and a panel of 28 C",
            "18:25: air 27 C, humidity 31 %, panel 28 C",
        ),
        ("comes out late by 1:28", "7:32 remarks: late by 1:28"),
        ("with a gap of a quarter of an hour", "gap asked 0:15 to 2:00 h, taken 0:18 h"),
        ("10:43 to 11:43, WBGT 25.8 C", "Peak hour: 10:43 to 11:43, clear"),
        ("against a limit of 28.2 C", "WBGT 25.8 C, effort 300 W, limit 28.2 C"),
        ("begins on Friday at 19:16", "48 hours from Coat, roof and bonnet, Fri 3 Apr 19:16"),
        ("on Sunday at 18:17", "not before Sun 5 Apr 2026 18:17 May get wet"),
    ],
)
def test_the_page_says_what_the_record_says(page: str, record: str) -> None:
    assert page in " ".join(file_text(NAME, "about.md").split())
    assert record in " ".join(result(NAME).played.record.split())
