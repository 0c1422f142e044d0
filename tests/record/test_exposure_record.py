"""The exposure of a shift: figures reckoned by hand, and sums against a naive reckoner."""

from __future__ import annotations

from collections import Counter

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Effort, Plan, Stage, Tool, Vibration, Work
from cartclock.engine.record.day import day
from cartclock.engine.record.exposure import ExposureRecord, exposure_record
from cartclock.engine.record.record import Record, record
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Refused
from tests.kit.book import JOB, Book, us
from tests.kit.plans import POLISH

OTHER = "job-2"
MINUTE = 60
HOUR = 3600
POLISHER = Tool("polisher", "long throw polisher", Vibration(4.5, 1.5, 0.5), 88.0)

# Recommended alert and exposure limits at 115, 300 and 415 W: NIOSH 2016-106; read second-hand.
RAL_REST, RAL_MODERATE, RAL_HEAVY, REL_MODERATE = 30.84, 24.97, 22.99, 28.21


def opening(effort: Effort = "moderate", number: int = 1) -> ev.JobOpened:
    """A job of one stage with three sections, the last one harder, done with a polisher."""
    stage = Stage(
        "Polish",
        ("door", "wing", "sill"),
        (Work("cut", 20.0, tool="polisher"),),
        effort=effort,
        effort_by={"sill": "heavy"},
    )
    return ev.JobOpened(Plan("Polish", (stage,), tools=(POLISHER,)), "", number, "grey van")


def begun(acclimatization: str = "", because: str = "", effort: Effort = "moderate") -> Book:
    """A book with one job, the worker clocked on at second 0."""
    book = Book()
    book.press(0, opening(effort))
    book.press(0, ev.ClockedOn(acclimatization=acclimatization, because=because))
    return book


def take(book: Book, at_s: float, section: str, job: str = JOB) -> None:
    """The worker takes up a section of a job."""
    moves = [m for m in book.moves(at_s) if (m.act, m.job) == ("take up", job)]
    book.do(at_s, rules.take_up, next(m for m in moves if m.sections == (section,)))


def found(
    book: Book, at_s: float, rest_place: ev.ReadingTaken | None = None, shift: str = "me 1"
) -> ExposureRecord:
    """The exposure of a shift at that second."""
    return exposure_record(book.shift(shift), book.jobs(), us(at_s), rest_place)


def minutes_by_index(one: ExposureRecord) -> dict[tuple[str, bool], float]:
    """(class, at least) -> minutes."""
    return {(t.index, t.at_least): t.length_us / 60e6 for t in one.index_times}


def minutes_by_band(one: ExposureRecord) -> dict[str, float]:
    """Band -> minutes."""
    return {t.band: t.length_us / 60e6 for t in one.band_times}


@pytest.mark.parametrize(
    ("air_c", "rh", "index", "at_least"),
    [
        pytest.param(25.0, 50.0, "none", False, id="NWS classes: under 80 F"),
        pytest.param(30.0, 50.0, "caution", False, id="NWS chart: 86 F 50 % reads 88"),
        pytest.param(
            35.0, 40.0, "extreme caution", False, id="NWS chart: 94 and 96 F 40 % read 97 and 101"
        ),
        pytest.param(37.78, 40.0, "danger", False, id="NWS chart: 100 F 40 % reads 109"),
        pytest.param(
            33.33, 70.0, "danger", True, id="NWS chart: 92 F 70 % reads 112; dew point 27 C"
        ),
        pytest.param(37.78, 60.0, "extreme danger", False, id="NWS chart: 100 F 60 % reads 129"),
        pytest.param(46.0, 10.0, "extreme danger", False, id="our own judgement: off the table"),
    ],
)
def test_an_hour_stands_in_the_class_of_its_heat_index(
    air_c: float, rh: float, index: str, at_least: bool
) -> None:
    book = begun()
    book.press(0, ev.ReadingTaken(air_c, rh))
    assert minutes_by_index(found(book, HOUR)) == {(index, at_least): 60}


@pytest.mark.parametrize(
    ("acclimatization", "effort", "wbgt_c", "band"),
    [
        pytest.param("", "moderate", RAL_MODERATE - 2.6, "clear", id="RAL 300 W, NIOSH 2016-106"),
        pytest.param("", "moderate", RAL_MODERATE - 2.4, "caution", id="RAL 300 W under"),
        pytest.param("", "moderate", RAL_MODERATE + 2.4, "caution", id="RAL 300 W over"),
        pytest.param("", "moderate", RAL_MODERATE + 2.6, "over", id="RAL 300 W far over"),
        pytest.param("", "heavy", RAL_HEAVY + 2.6, "over", id="RAL 415 W, NIOSH 2016-106"),
        pytest.param("", "heavy", RAL_HEAVY + 2.4, "caution", id="RAL 415 W over"),
        pytest.param("not acclimatized", "moderate", RAL_MODERATE + 2.6, "over", id="said not"),
        pytest.param(
            "acclimatized", "moderate", REL_MODERATE - 2.1, "clear", id="REL 300 W, NIOSH 2016-106"
        ),
        pytest.param("acclimatized", "moderate", REL_MODERATE + 1.9, "caution", id="REL over"),
        pytest.param("acclimatized", "moderate", REL_MODERATE + 2.1, "over", id="REL far over"),
    ],
)
def test_each_piece_is_judged_at_its_own_effort_by_the_limit_in_use(
    acclimatization: str, effort: Effort, wbgt_c: float, band: str
) -> None:
    book = begun(acclimatization, effort=effort)
    book.press(0, ev.ReadingTaken(wbgt_c=wbgt_c))
    take(book, 0, "door")
    one = found(book, 50 * MINUTE)
    assert minutes_by_band(one) == {band: 50}
    assert one.acclimatized == (acclimatization == "acclimatized")


def test_a_day_reckoned_by_hand() -> None:
    """10 min without a reading, 20 of a door, 20 of a sill, 30 of rest, then it goes stale."""
    book = begun()
    book.press(10 * MINUTE, ev.ReadingTaken(wbgt_c=24.0))
    take(book, 10 * MINUTE, "door")
    take(book, 30 * MINUTE, "sill")
    book.do(50 * MINUTE, rules.take_break, "heat", finish=True)
    book.do(80 * MINUTE, rules.start_other, "photos")
    book.do(100 * MINUTE, rules.clock_off)
    one = found(book, 999_999)
    # Margins: door 0.97, sill -1.01 (caution); rest 6.84 and nothing from 70 on.
    assert minutes_by_band(one) == {"no reading": 10 + 30, "caution": 40, "clear": 20}
    # A meter says nothing of the heat index.
    assert minutes_by_index(one) == {("no reading", False): 40, ("no index", False): 60}
    assert one.length_us == 100 * 60_000_000
    assert one.peak is not None
    # The only whole hour with readings: 20 min at 300 W, 20 at 415, 20 at 115.
    assert one.peak.end_us == us(70 * MINUTE)
    assert one.peak.watts == pytest.approx((300 + 415 + 115) / 3)
    assert one.peak.wbgt_c == pytest.approx(24.0)
    assert one.peak.margin_c == pytest.approx(59.9 - 14.1 * 2.44195 - 24.0, abs=1e-3)
    assert one.peak_band == "caution"


def test_the_peak_is_the_hour_with_the_least_margin_and_keeps_to_hours_with_readings() -> None:
    book = begun("acclimatized")
    book.press(0, ev.ReadingTaken(wbgt_c=26.0))
    take(book, 0, "door")
    book.press(30 * MINUTE, ev.ReadingTaken(wbgt_c=31.0))
    book.press(90 * MINUTE, ev.ReadingTaken(wbgt_c=27.0))
    one = found(book, 110 * MINUTE)
    assert one.peak is not None
    assert (one.peak.end_us, one.peak_band) == (us(90 * MINUTE), "over")
    assert one.peak.margin_c == pytest.approx(REL_MODERATE - 31.0, abs=0.005)
    short = begun()
    short.press(1, ev.ReadingTaken(wbgt_c=31.0))
    assert found(short, HOUR).peak is None
    assert found(short, HOUR + 1).peak is not None


@pytest.mark.parametrize(
    "reading",
    [
        ev.ReadingTaken(air_c=33.0),
        ev.ReadingTaken(rh=50.0),
        ev.ReadingTaken(air_c=float("nan"), rh=50.0),
        ev.ReadingTaken(air_c=33.0, rh=float("inf")),
        ev.ReadingTaken(air_c=400.0, rh=50.0),
        ev.ReadingTaken(wbgt_c=-300.0),
    ],
    ids=["no humidity", "no air", "not a number", "infinite", "impossible air", "impossible meter"],
)
def test_what_is_missing_or_impossible_gives_no_verdict(reading: ev.ReadingTaken) -> None:
    book = begun()
    book.press(0, reading)
    take(book, 0, "door")
    one = found(book, 90 * MINUTE)
    assert minutes_by_band(one) == {"no WBGT": 60, "no reading": 30}
    assert minutes_by_index(one) == {("no index", False): 60, ("no reading", False): 30}
    assert (one.peak, one.peak_band) == (None, None)


def test_without_a_reading_nothing_is_said_of_heat_and_the_reason_is() -> None:
    book = begun()
    take(book, 0, "door")
    none = found(book, HOUR)
    assert (none.index_times, none.band_times, none.peak) == ((), (), None)
    assert none.why_none == "No reading was taken: no exposure can be said."
    # Nothing of heat is assumed; the tool in hand has its own sentence.
    assert [said.split(":")[0] for said in none.assumptions] == ["Tools"]
    book.press(HOUR, ev.ReadingTaken(panel_c=41.0))
    panel = found(book, 2 * HOUR)
    assert (panel.index_times, panel.band_times) == ((), ())
    assert panel.why_none == "No reading says how hot it was: no exposure can be said."


def test_breaks_are_judged_where_they_are_taken() -> None:
    book = begun()
    book.press(0, ev.ReadingTaken(35.0, 40.0))
    book.do(0, rules.take_break, "heat")
    here, cool = found(book, 30 * MINUTE), found(book, 30 * MINUTE, ev.ReadingTaken(24.0, 50.0))
    assert minutes_by_index(here) == {("extreme caution", False): 30}
    assert minutes_by_index(cool) == {("none", False): 30}
    assert (list(minutes_by_band(here)), list(minutes_by_band(cool))) == (["clear"], ["clear"])
    # A place nobody has a figure of changes nothing.
    unknown = found(book, 30 * MINUTE, ev.ReadingTaken(24.0))
    assert unknown.index_times == here.index_times
    assert any("at air 24 C, 50 % RH, indoors" in said for said in cool.assumptions)
    assert any("where the work is" in said for said in here.assumptions)


def test_two_jobs_in_one_shift_have_one_account() -> None:
    book = begun()
    book.press(0, opening(number=2), job=OTHER)
    book.press(0, ev.ReadingTaken(wbgt_c=28.0))
    take(book, 0, "door")
    take(book, 30 * MINUTE, "door", job=OTHER)
    one = found(book, HOUR)
    assert one.peak is not None
    assert (one.peak.watts, minutes_by_band(one)) == (pytest.approx(300.0), {"over": 60})
    shifts = {"me 1": book.shift()}
    both = [record(book.job(j), shifts, book.jobs(), us(HOUR)).exposures for j in (JOB, OTHER)]
    assert both == [(one,), (one,)]
    # us(0) is Mon 21 Sep 2026 14:13:20 UTC.
    (part,) = day("2026-09-21", "UTC", shifts, book.jobs(), us(HOUR)).shifts
    assert part.exposure == one


def test_record_and_day_take_the_place_of_rest() -> None:
    book = begun()
    book.press(0, ev.ReadingTaken(35.0, 40.0))
    take(book, 0, "door")
    book.do(MINUTE, rules.take_break, "heat")
    place, shifts = ev.ReadingTaken(24.0, 50.0), {"me 1": book.shift()}
    wanted = found(book, HOUR, place)
    assert wanted != found(book, HOUR)
    made = record(book.job(), shifts, book.jobs(), us(HOUR), rest_place=place)
    assert made.exposures == (wanted,)
    (part,) = day("2026-09-21", "UTC", shifts, book.jobs(), us(HOUR), place).shifts
    assert part.exposure == wanted
    assert msgspec.json.decode(msgspec.json.encode(made), type=Record) == made


def test_a_shift_past_midnight_and_one_of_no_length() -> None:
    book = begun()
    book.press(0, ev.ReadingTaken(wbgt_c=22.0))
    assert found(book, 0).band_times == ()
    # From 14:13 UTC on, over midnight.
    for hour in range(11):
        book.press(hour * HOUR + 1, ev.ReadingTaken(wbgt_c=22.0))
    one = found(book, 11 * HOUR)
    assert minutes_by_band(one) == {"clear": 11 * 60}
    assert one.length_us == 11 * HOUR * 1_000_000


def called(book: Book, at_s: float, rest_s: int = 900) -> None:
    """The machine calls a rest."""
    book.press(at_s, ev.RestCalled("NIOSH limit", rest_s), by="machine")


def test_a_rest_that_began_within_a_quarter_hour_was_taken_and_says_how_long() -> None:
    book = begun()
    called(book, 1000)
    book.do(1000 + 900, rules.take_break, "heat")
    book.do(1900 + 720, rules.start_other, "phone")
    (rest,) = found(book, 9999).rests
    assert (rest.at_us, rest.rule, rest.rest_s) == (us(1000), "NIOSH limit", 900)
    assert rest.taken is not None
    assert (rest.taken.start_us, rest.taken.end_us) == (us(1900), us(2620))
    assert (rest.taken.what, rest.taken.goes_on, rest.waiting) == (("heat",), False, False)


@pytest.mark.parametrize(
    ("begins_s", "taken"), [(1000 + 900, True), (1000 + 901, False)], ids=["900 s", "901 s"]
)
def test_a_quarter_hour_and_no_longer_answers_a_call(begins_s: float, taken: bool) -> None:
    book = begun()
    called(book, 1000)
    book.do(begins_s, rules.take_break, "rest")
    (rest,) = found(book, 5000).rests
    assert (rest.taken is not None, rest.waiting) == (taken, False)


def test_breaks_with_nothing_between_are_one_rest_and_one_that_goes_on_says_so() -> None:
    book = begun()
    called(book, 1000)
    book.do(1200, rules.take_break, "heat")
    book.do(1500, rules.take_break, "meal")
    (rest,) = found(book, 3000).rests
    assert rest.taken is not None
    assert (rest.taken.what, rest.taken.goes_on) == (("heat", "meal"), True)
    assert rest.taken.length_us == 1800 * 1_000_000


def test_a_rest_overruled_keeps_the_reason_and_the_next_call_stands_for_itself() -> None:
    book = begun()
    book.press(500, ev.RestOverruled("it is cool in here"))
    called(book, 1000)
    book.press(1060, ev.RestOverruled("finish this door"))
    called(book, 1900)
    book.do(2000, rules.take_break, "rest")
    book.do(2600, rules.start_other, "phone")
    book.press(2700, ev.RestOverruled("rested already"))
    called(book, 5000)
    one = found(book, 9000)
    first, second, third = one.rests
    assert [over.why for over in first.overruled] == ["finish this door"]
    assert first.taken is None
    assert (second.overruled, second.taken is not None) == ((), True)
    assert (third.taken, third.overruled, third.off_us, third.waiting) == (None, (), None, False)
    assert [over.why for over in one.overruled] == ["it is cool in here", "rested already"]


def test_a_call_waits_a_quarter_hour_for_its_answer_and_clocking_off_is_one() -> None:
    book = begun()
    called(book, 1000)
    assert [rest.waiting for rest in found(book, 1899).rests] == [True]
    assert [rest.waiting for rest in found(book, 1900).rests] == [False]
    book.do(1500, rules.clock_off)
    (rest,) = found(book, 1600).rests
    assert (rest.off_us, rest.waiting, rest.taken) == (us(1500), False, None)


def test_a_stretch_told_afterwards_to_have_been_a_break_answers_too() -> None:
    book = begun()
    called(book, 1000)
    book.press(5000, ev.GapJudged(us(1100), us(2000), "rest"))
    (rest,) = found(book, 6000).rests
    assert rest.taken is not None
    assert (rest.taken.start_us, rest.taken.end_us) == (us(1100), us(2000))


def test_drinks_are_added_up_and_the_most_within_an_hour_is_found() -> None:
    book = begun()
    for at_s, ml in ((0, 240), (1200, 500), (HOUR, 700), (HOUR + 1199, 300), (3 * HOUR, 100)):
        book.press(at_s, ev.DrinkTaken(ml))
    drinks = found(book, 4 * HOUR).drinks
    assert (drinks.ml, drinks.count) == (1840, 5)
    # 1200 to 4799 is just inside an hour; the drink of second 0 is out of it.
    assert (drinks.most_ml, drinks.most_end_us) == (1500, us(HOUR + 1199))
    assert drinks.too_much
    assert not found(book, HOUR).drinks.too_much
    assert found(begun(), HOUR).drinks.count == 0


def test_signs_are_private_and_what_was_said_of_the_heat_is_kept() -> None:
    book = begun("acclimatized", "9 hot days by the log")
    book.press(60, ev.FeltUnwell(("headache", "cramps")))
    book.press(90, ev.HotDaysSaid(9))
    one = found(book, 100)
    assert [(told.at_us, told.signs, told.private) for told in one.signs] == [
        (us(60), ("headache", "cramps"), True)
    ]
    assert (one.acclimatization, one.because) == ("acclimatized", "9 hot days by the log")
    assert [(said.at_us, said.days) for said in one.hot_days] == [(us(90), 9)]


def test_vibration_and_noise_are_those_of_the_time_in_hand() -> None:
    book = begun()
    take(book, 0, "door")
    book.do(4 * HOUR, rules.take_break, "meal", finish=True)
    strain = found(book, 5 * HOUR).strain
    assert strain.points is not None
    assert strain.dose_percent is not None
    # 2 h of 6 m/s2: (6 / 2.5)^2 x 2/8 x 100, HSE ready-reckoner; 2 h of 4 h at 88 dBA, NIOSH.
    assert strain.points == pytest.approx(144.0)
    assert strain.dose_percent == pytest.approx(50.0)


def test_the_record_says_what_its_figures_rest_on_and_only_that() -> None:
    book = begun()
    book.press(0, ev.ReadingTaken(30.0, 40.0, place="sun", moving="fan"))
    said = " ".join(found(book, 60).assumptions)
    for part in ("30 %", "1 C and 5 % humidity", "Work clothes: 0 C", "fan moves at 1 m/s",
                 "Sun, not measured: the light of a clear sky by the hour (Haurwitz 1945), 75 %",
                 "No place in the settings: the sun stands as at latitude 40.0, longitude 0.0",
                 "in the shade of the same air"):  # fmt: skip
        assert part in said
    assert "50 % of the light" not in said
    assert "still" not in said
    meter = begun()
    meter.press(0, ev.ReadingTaken(wbgt_c=25.0))
    said = " ".join(found(meter, 60).assumptions)
    assert "m/s." not in said
    assert "clear sky" not in said
    versions = found(meter, 60).versions
    assert versions
    assert all(one.rule and one.version >= 1 for one in versions)


def test_work_that_its_job_cannot_take_does_not_stop_the_exposure() -> None:
    book = Book()
    book.press(0, ev.JobOpened(Plan("Polish", (POLISH,)), "", 1, "grey van"))
    book.press(0, ev.ClockedOn())
    book.press(0, ev.ReadingTaken(wbgt_c=22.0))
    # The shift has it in hand; the job sets it aside.
    book.press(60, ev.WorkStarted("Nowhere", ("door",), Turn()))
    one = found(book, 600)
    assert sum(time.length_us for time in one.band_times) == one.length_us


ACTS = st.tuples(
    st.sampled_from(["door", "wing", "rest", "heat", "photos", "one", "two", "two"]),
    st.integers(1, 4000),
)
WARM, HOT = ev.ReadingTaken(28.0, 45.0), ev.ReadingTaken(37.0, 55.0, place="sun")
METER, HOT_METER = ev.ReadingTaken(wbgt_c=26.5), ev.ReadingTaken(wbgt_c=29.5)
BROKEN = ev.ReadingTaken(31.0)
READINGS = st.sampled_from([(WARM, HOT), (METER, HOT_METER), (METER, BROKEN), (HOT, METER)])
# WBGT limit at 115, 180 and 300 W: NIOSH 2016-106; read second-hand.
LIMITS = {"": {"rest": 30.84, "light": 28.10, "moderate": 24.97},
          "acclimatized": {"rest": 33.00, "light": 30.76, "moderate": 28.21}}  # fmt: skip


def by_second(book: Book, end_s: int, acclimatization: str) -> tuple[Counter[str], Counter[str]]:
    """Seconds with a reading by what it can say, and by band for a meter's, without the folds."""
    known: Counter[str] = Counter()
    bands: Counter[str] = Counter()
    for second in range(end_s):
        effort, reading, since = "light", None, 0
        for row in book.rows:
            if row.at_us > us(second):
                break
            match row.event:
                case ev.WorkStarted():
                    effort = "moderate"
                case ev.BreakTaken():
                    effort = "rest"
                case ev.StepFinished() | ev.BreakEnded() | ev.OtherWorkEnded() | ev.WorkPutDown():
                    effort = "light"
                case ev.ReadingTaken() as taken:
                    reading, since = taken, row.at_us
        if reading is None or us(second) - since >= 3600 * 1_000_000:
            known["no reading"] += 1
            continue
        known["index" if reading.rh is not None else "no index"] += 1
        if reading.wbgt_c is not None:
            margin = LIMITS[acclimatization][effort] - reading.wbgt_c
            band_c = 2.0 if acclimatization else 2.5
            bands["clear" if margin > band_c else "over" if margin < -band_c else "caution"] += 1
    return +known, +bands


@settings(max_examples=40)
@given(st.lists(ACTS, min_size=1, max_size=9), READINGS, st.sampled_from(["", "acclimatized"]))
def test_the_minutes_add_up_to_the_time_on_the_clock_and_equal_a_count_by_seconds(
    acts: list[tuple[str, int]],
    pair: tuple[ev.ReadingTaken, ev.ReadingTaken],
    acclimatization: str,
) -> None:
    book, at_s = begun(acclimatization), 0
    for act, seconds in acts:
        in_hand = book.shift().state == "hands"
        try:
            match act:
                case "door" | "wing":
                    for move in [m for m in book.moves(at_s) if m.sections == (act,)][:1]:
                        book.do(at_s, rules.take_up, move)
                case "rest" | "heat":
                    book.do(at_s, rules.take_break, act, finish=in_hand)
                case "photos":
                    book.do(at_s, rules.start_other, "photos", finish=in_hand)
                case _:
                    book.press(at_s, pair[act == "two"])
        except Refused:
            pass
        at_s += seconds
    one = found(book, at_s)
    if not one.readings:
        assert one.band_times == one.index_times == ()
        return
    assert sum(time.length_us for time in one.index_times) == one.length_us == at_s * 1_000_000
    assert sum(time.length_us for time in one.band_times) == one.length_us
    assert all(time.length_us > 0 for time in (*one.index_times, *one.band_times))
    known, bands = by_second(book, at_s, acclimatization)
    got: Counter[str] = Counter()
    for time in one.index_times:
        got[time.index if time.index.startswith("no ") else "index"] += time.length_us // 1_000_000
    assert got == known
    if HOT not in pair and WARM not in pair:
        judged = {t.band: t.length_us // 1_000_000 for t in one.band_times}
        judged.pop("no WBGT", None)
        judged.pop("no reading", None)
        assert judged == bands
