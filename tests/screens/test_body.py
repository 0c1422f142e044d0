"""The body on the screens: rests called, drinks, signs, "I am well", hot days, an instrument."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from cartclock.engine.body.signs import EMERGENCY_TITLE, NEVER_CALLS, STOP_TITLE
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Break, Hands
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.rules import rules
from cartclock.engine.store.settings import Premises, Settings
from tests.kit.plans import COAT, WIPE
from tests.kit.stage import LARGE, Play, compare_sizes, played, whole

HOUR, MINUTE = 3600, 60
# Moderate work in a closed garage at 33 C and 40 % RH: over the alert limit, under the resting
# limit of NIOSH 2016-106, so that there is work time, and an end to it.
AIR, RH = "33", "40"

# Not over when a rest is called: what has had its minutes ends with the rest.
LONG_WIPE = Stage("Wipe", ("whole car",), (Work("wipe", 600.0),))
# Work that leaves no film: a rest that is called need not wait for it.
TRIM = Stage("Trim", ("left", "right"), (Work("dress", 60.0),))


async def read(play: Play, air: str = AIR, rh: str = RH, days: str = "") -> None:
    """A reading of air and humidity; the hot days are not told unless `days` downs are given."""
    await play.press("r", *["backspace"], *air, "down", "backspace", *rh, "space")
    if play.sheet.is_open and "roof" in play.sheet.title:
        await play.press("space")
    if play.sheet.is_open:
        await play.press(*(["down"] * int(days) + ["space"] if days else ["esc"]))


async def due(play: Play, screens: Sequence[str] = ()) -> None:
    """Wiping the car until a rest is due."""
    await read(play)
    await play.choose("wipe")
    await play.press("space")
    await play.wind_to_rest()


async def test_a_rest_is_called_once_and_fills_the_screen(tmp_path: Path) -> None:
    async with played(tmp_path, (LONG_WIPE,)) as play:
        await due(play)
        called = [row for row in play.bench.rows if row.kind == "RestCalled"]
        assert [row.by for row in called] == ["machine"]
        event = called[0].event
        assert isinstance(event, ev.RestCalled)
        assert event.rule == "NIOSH limit"
        assert [face.word for face in play.glance.faces] == ["REST NOW"]
        bells = play.app.bells
        await play.wind(MINUTE)
        assert len([k for k in play.kinds if k == "RestCalled"]) == 1
        # The drink that is due may ring; the rest does not ring again.
        assert play.app.bells - bells <= 1
        await compare_sizes("run_rest_now", play)


async def test_space_takes_the_rest_at_its_length_and_goes_back_to_work(tmp_path: Path) -> None:
    async with played(tmp_path, (LONG_WIPE,)) as play:
        await due(play)
        minutes = int(play.next_line.split("heat break, ")[1].split()[0])
        await play.press("space")
        assert play.kinds[-2:] == ["WorkPutDown", "BreakTaken"]
        shift = play.bench.shift()
        assert shift is not None and shift.doing == Break("heat", minutes * MINUTE)
        await play.wind(minutes * MINUTE - 1)
        assert play.glance.faces[0].word == "BREAK"
        bells = play.app.bells
        await play.wind(1)
        assert play.glance.faces[0].word == "BACK TO WORK"
        assert play.app.bells > bells
        assert "wipe whole car" in play.next_line
        await play.press("space")
        assert play.kinds[-2:] == ["BreakEnded", "WorkStarted"]
        shift = play.bench.shift()
        assert shift is not None and isinstance(shift.doing, Hands)
        assert play.odd() == []


async def test_the_list_of_breaks_offers_a_called_rest_at_its_length(tmp_path: Path) -> None:
    async with played(tmp_path, (LONG_WIPE,)) as play:
        await play.press("b")
        assert [line.split() for line in play.spoken[:3:2]] == [
            ["rest", "15", "min"], ["heat", "15", "min"],
        ]  # fmt: skip
        await play.press("esc")
        await due(play)
        found = play.app.workplace.body()
        assert found is not None
        minutes = str(found.pace.rest_minutes)
        assert minutes != "15"
        await play.press("b")
        assert [line.split() for line in play.spoken[:3]] == [
            ["rest", minutes, "min"], ["meal", "30", "min"], ["heat", minutes, "min"],
        ]  # fmt: skip


async def test_the_rest_that_was_called_for_brings_the_hour_within_the_limit(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (LONG_WIPE,)) as play:
        await due(play)
        minutes = int(play.next_line.split("heat break, ")[1].split()[0])
        await play.press("space")
        await play.wind(minutes * MINUTE)
        await play.press("space")
        found = play.app.workplace.body()
        assert found is not None
        assert found.pace.left_s is not None and found.pace.left_s > 0


async def test_a_rest_before_the_next_panel_waits_for_the_end_of_this_one(tmp_path: Path) -> None:
    cut = Stage("Cut", tuple(f"panel {n}" for n in range(1, 13)), (Work("cut", 10.0),))
    async with played(tmp_path, (cut,)) as play:
        await read(play, "36", "24")
        await play.press("space")
        while (found := play.app.workplace.body()) is None or found.rest != "after the piece":
            assert "RestCalled" not in play.kinds
            await play.wind(10 * MINUTE)
            await play.press("space")
        await play.wind(9 * MINUTE)
        # In the panel it is the line alone; nothing is called and nothing rings.
        assert "REST SOON" not in play.text
        assert "this piece, then" in play.text
        play.bench.do(rules.take_up, Move("end", why="end"))
        await play.wind(1)
        assert "RestCalled" in play.kinds
        await compare_sizes("run_rest_soon", play)
        await play.press("space")
        assert play.kinds[-1] == "BreakTaken"


async def test_overruling_asks_writes_the_reason_and_holds_a_quarter_of_an_hour(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (WIPE, TRIM)) as play:
        await due(play)
        await play.press("down")
        before = play.kinds
        await play.press("space")
        assert play.sheet.title == "A rest is called for. Go on working all the same?"
        await play.press("space")
        assert play.kinds == before
        await play.press("down", "space", "down", "space")
        overruled = [r.event for r in play.bench.rows if isinstance(r.event, ev.RestOverruled)]
        assert overruled == [ev.RestOverruled("this one first, then I rest")]
        assert "REST NOW" not in play.text
        await play.wind(14 * MINUTE)
        assert play.kinds.count("RestCalled") == 1
        while play.bench.moves() and "RestCalled" not in play.kinds[-1:]:
            await play.wind(2 * MINUTE)
            if play.kinds.count("RestCalled") == 2:
                break
        assert play.kinds.count("RestCalled") == 2
        assert "REST NOW" in play.seen


@pytest.mark.parametrize("no", ["escape", "space"])
async def test_whoever_says_no_to_working_on_has_the_rest_under_space_again(
    tmp_path: Path, no: str
) -> None:
    async with played(tmp_path, (LONG_WIPE, TRIM)) as play:
        await due(play)
        rest = play.next_line
        assert "heat break" in rest
        await play.press("down", "space")
        assert play.sheet.title == "A rest is called for. Go on working all the same?"
        await play.press(no)
        assert play.next_line == rest
        await play.press("space")
        assert play.kinds[-2:] == ["WorkPutDown", "BreakTaken"]


async def test_a_break_finishes_what_has_had_its_minutes_until_that_is_turned(
    tmp_path: Path,
) -> None:
    """The list of breaks goes by the same minutes as SPACE does when a rest is called."""
    async with played(tmp_path, (TRIM,)) as play:
        await play.press("space")
        await play.wind(59 * MINUTE)
        await play.press("b")
        assert play.spoken[-1] == "put down: left"
        await play.press("escape")
        await play.wind(2 * MINUTE)
        await play.press("b")
        assert play.spoken[-1] == "finished: left"
        await play.press("f")
        assert play.spoken[-1] == "put down: left"
        await play.press("f", "r")
        assert play.kinds[-2:] == ["StepFinished", "BreakTaken"]


async def test_a_break_lays_no_film_that_was_not_said_to_be_laid(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await play.press("space")
        await play.wind(30 * MINUTE)
        await play.press("b")
        assert play.spoken[-1].startswith("put down: ")


async def test_the_question_of_the_rest_is_asked_again_after_a_restart(tmp_path: Path) -> None:
    async with played(tmp_path, (LONG_WIPE, COAT)) as play:
        await due(play)
        await play.press("down", "space")
        title, clock = play.sheet.title, play.clock
    async with played(tmp_path, clock=clock, seed="again") as play:
        assert play.sheet.title == title
        await play.press("down", "space")
        assert play.kinds[-3:-1] != [] and "RestOverruled" in play.kinds


async def test_never_between_two_wipes(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT, WIPE)) as play:
        await read(play)
        await play.choose("wipe")
        await play.press("space")
        while (found := play.app.workplace.body()) is not None and (found.pace.left_s or 99) > 30:
            await play.wind(20)
        await play.choose("apply bonnet left")
        await play.press("space")
        # The rest comes first, and is put off.
        await play.press("down", "space")
        await play.wind(20)
        await play.choose("stand by")
        await play.press("space")
        await play.wind(40)
        found = play.app.workplace.body()
        assert found is not None and found.pace.resting_due
        assert found.rest == "after the film"
        assert play.app.workplace.moves[0].act != "rest"
        said = play.glance.notices[0]
        assert said.endswith("as soon as the film is done: bonnet left. Lay no new one.")
        await play.choose("level bonnet left")
        await play.press("space")
        await play.wind(1)
        # It is levelled first; the next press ends that and lays no other film.
        assert "REST NOW" not in play.text
        await play.press("space")
        await play.wind(1)
        assert play.kinds[-2:] == ["StepFinished", "RestCalled"]
        assert "REST NOW" in play.seen


async def test_a_press_of_minutes_ago_overrules_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE, TRIM)) as play:
        await due(play)
        await play.wind(60)
        await play.press("down", "2", "space")
        assert not play.sheet.is_open
        assert "RestOverruled" not in play.kinds
        assert "REST NOW" in play.seen


async def test_without_a_reading_nothing_is_called_and_the_line_says_so(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space")
        await play.wind(2 * HOUR)
        assert "RestCalled" not in play.kinds
        assert "Heat and gate unknown: R enters a reading." in play.text


async def test_a_stale_reading_gives_no_verdict_until_its_values_are_confirmed(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await read(play, "22", "50")
        await play.wind(HOUR + 1)
        assert "no verdict" in play.text
        await play.press("r")
        assert "60 min old" in play.sheet.title
        assert play.spoken[1].split()[1:] == ["22", "C"]
        before = play.kinds
        await play.press("esc")
        assert play.kinds == before
        assert "no verdict" in play.text
        await play.press("r", "right", "space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.ReadingTaken)
        assert (event.air_c, event.rh) == (22.5, 50.0)
        assert "no verdict" not in play.text


async def test_fahrenheit_is_entered_and_kept_in_celsius(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), settings=Settings(temperature="F")) as play:
        await play.press(
            "r", "9", "5", "down", "4", "0", "down", "1", "0", "4", "space", "esc", "esc"
        )
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.ReadingTaken)
        assert (event.air_c, event.rh, event.panel_c) == (35.0, 40.0, 40.0)
        await play.resize(LARGE)
        assert " F estimate" in play.text
        read = "reading: air 95 F, 40 % RH, panel 104 F"
        await play.press("l")
        assert read.removeprefix("reading: ") in " ".join(play.text.split())
        await play.press("space")
        assert read in " ".join(play.sheet.title.split())
        await play.press("esc", "u", "backspace")
        assert read in play.notice
        # As it was taken back it is taken anew.
        await play.press("r", "9", "5", "down", "4", "0", "down", "1", "0", "4", "space")
        await play.press("esc", "esc")
        await play.press("r")
        assert play.spoken[1].split() == ["air", "95", "F"]
        await play.press("backspace", "1", "9", "9", "space")
        assert play.notice == "air 199 F cannot be."
        # The figures stand there still, and the one that cannot be is the one to be typed anew.
        await play.press("backspace", "9", "6", "space", "esc", "esc", "r")
        assert play.spoken[1].split() == ["air", "96", "F"]


# Water.


async def test_a_drink_is_due_in_heat_and_too_much_is_said(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await read(play)
        await play.press("space")
        assert "drink in 20 min" in play.text
        bells = play.app.bells
        await play.wind(20 * MINUTE)
        assert "drink now" in play.text
        assert play.app.bells > bells
        for _ in range(3):
            await play.press("k", "b")
        # 48 oz, about 1.4 litres, in an hour at most: NIOSH 2017-126.
        assert play.notice.startswith("1500 ml in the last hour: more than 1400 ml")


# Signs.


@pytest.mark.parametrize(
    ("downs", "title"), [(0, EMERGENCY_TITLE), (5, STOP_TITLE)], ids=["confusion", "headache"]
)
async def test_a_sign_is_written_and_answered_full_screen(
    tmp_path: Path, downs: int, title: str
) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space", "f")
        assert "FeltUnwell" not in play.kinds
        await play.press(*["down"] * downs, "space")
        assert play.kinds[-1] == "FeltUnwell"
        assert play.called == "advice"
        assert title in play.text
        await compare_sizes("advice_emergency" if not downs else "advice_stop", play)
        await play.press("esc")
        assert play.called == "run"
        await play.wind(1)
        assert play.glance.faces[0].word == "REST NOW"
        assert play.next_line.endswith("heat break, 30 min")


async def test_the_whole_first_aid_page_fits_the_small_screen(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,), size=(40, 12)) as play:
        await play.press("f", "space")
        assert "call anybody" in play.text
        assert "Do not stay alone" in play.text
        assert whole_but_keys(play) == []


async def test_the_number_and_where_one_is_are_seen_from_the_floor(tmp_path: Path) -> None:
    shop = Premises("The Green Carport", ("12 Orchard Lane", "Newtown"), "555 0100", "112")
    async with played(tmp_path, (WIPE,), settings=Settings(shop=shop)) as play:
        await play.press("f", "space")
        assert play.app.advice.title == "CALL 112"
        assert "You are at: 12 Orchard Lane, Newtown" in play.text
        await compare_sizes("advice_settled", play)
        # The number keeps its letters where the rest of the page has to be turned for them.
        await play.resize((40, 12))
        assert "down: what to do" in play.text and "You are at" in play.text
        assert "When in doubt" not in play.text
        await play.press("down")
        assert "get help" in play.text


def whole_but_keys(play: Play) -> list[str]:
    return [fault for fault in whole(play) if "key row" not in fault]


# The lone worker.


async def test_a_check_in_gets_louder_and_fills_the_screen(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("space", "j")
        assert NEVER_CALLS in play.sheet.title
        assert "CheckedIn" not in play.kinds
        await play.press("space")
        assert play.bench.rows[-1].event == ev.CheckedIn(900)
        await play.wind(899)
        silent = play.app.bells
        await play.wind(1)
        assert play.app.bells == silent + 1
        assert "I am well (J): due 0:00 ago" in play.glance.notices[0]
        rings = []
        for _ in range(12):
            before = play.app.bells
            for _ in range(12):
                await play.wind(5)
            rings.append(play.app.bells - before)
        assert rings == sorted(rings)
        assert rings[0] >= 1 and rings[-1] >= 10
        assert play.glance.faces[0].word == "ARE YOU WELL?"
        assert whole(play) == []
        await compare_sizes("run_are_you_well", play)
        await play.press("j")
        # The agreed period is offered first.
        assert play.spoken[0] == "I am well; again in 15 min"
        await play.press("space")
        assert play.glance.faces[0].word == "WIPE"


async def test_check_ins_can_be_ended(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("j", "space", "j", "up", "space")
        assert play.bench.rows[-1].event == ev.CheckedIn(0)
        await play.wind(2 * HOUR)
        assert not any("I am well" in said for said in play.glance.notices)


# Acclimatization.


async def test_hot_days_are_asked_at_the_first_hot_reading_and_kept(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await read(play, "20", "50")
        assert "HotDaysSaid" not in play.kinds
        # The hot air came within the hour, which is asked about first.
        await play.press("r", "backspace", *AIR, "space", "down", "space")
        assert "the roof or the door hot" in play.sheet.title
        await play.press("space")
        assert play.bench.rows[-1].event == ev.RoofSaid(False)
        assert "On how many of the last 14 days" in play.sheet.title
        await play.press(*["down"] * 9, "space")
        event = play.bench.rows[-1].event
        assert isinstance(event, ev.HotDaysSaid)
        assert (event.days, event.acclimatization) == (9, "acclimatized")
        assert event.because == (
            "Acclimatized: 9 hot days in the last 14 by your answer of 2026-09-21, the last one "
            "yesterday."
        )
        found = play.app.workplace.body()
        assert found is not None and found.held.acclimatized
        # Told once: the next hot reading asks no more.
        await play.press("r", "space")
        assert not play.sheet.is_open
        await play.press("space")
        await play.wind(10)
        await play.press("i", "space")
        await play.wind(20 * HOUR)
        await play.press("i", "space")
        on = [r.event for r in play.bench.rows if isinstance(r.event, ev.ClockedOn)][-1]
        assert on.acclimatization == "acclimatized"
        assert "by your answer of 2026-09-21" in on.because


async def test_whoever_does_not_say_is_judged_as_not_used_to_it(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("r", *AIR, "down", *RH, "space", "esc")
        found = play.app.workplace.body()
        assert found is not None and not found.held.acclimatized
        on = next(r.event for r in play.bench.rows if isinstance(r.event, ev.ClockedOn))
        assert on.acclimatization == ""


# An instrument.


def command(*lines: str) -> str:
    return shlex.join([sys.executable, "-c", "\n".join(lines)])


async def polled(play: Play) -> None:
    """Ten minutes on, and until the instrument has answered."""
    await play.wind(601)
    await play.app.workers.wait_for_complete()
    await play.settle()


async def test_an_instrument_is_asked_every_ten_minutes(tmp_path: Path) -> None:
    prints = command("print('air_c=31.5 rh=44')")
    async with played(tmp_path, (WIPE,), settings=Settings(reading_command=prints)) as play:
        await polled(play)
        first = [row for row in play.bench.rows if row.kind == "ReadingTaken"]
        assert {row.by for row in first} == {"machine"}
        assert {row.event for row in first} == {ev.ReadingTaken(air_c=31.5, rh=44.0)}
        before = len(first)
        await polled(play)
        assert play.kinds.count("ReadingTaken") == before + 1
        # What the machine wrote is not the worker's to take back.
        await play.press("space", "backspace")
        struck = play.bench.rows[-1].event
        assert isinstance(struck, ev.PressStruck)
        assert play.bench.rows[-2].press.seq == struck.press
        assert play.bench.rows[-2].kind == "WorkStarted"
        assert play.odd() == []


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ("raise SystemExit(3)", "failed with code 3"),
        ("print('rh=40')", "printed no air_c"),
        ("print('air_c=nan rh=40')", "air_c='nan'"),
    ],
    ids=["fails", "no air", "no number"],
)
async def test_an_instrument_that_fails_is_a_notice(tmp_path: Path, how: str, says: str) -> None:
    broken = Settings(reading_command=command(how))
    async with played(tmp_path, (WIPE,), settings=broken) as play:
        await polled(play)
        assert "ReadingTaken" not in play.kinds
        notice = next(said for said in play.glance.notices if "reading command" in said)
        assert says in notice
        assert notice.endswith("R enters a reading by hand.")
        await play.press("space")
        assert play.kinds[-1] == "WorkStarted"


async def test_off_the_clock_the_instrument_is_left_alone(tmp_path: Path) -> None:
    setting = Settings(reading_command=command("print('air_c=31.5 rh=44')"))
    async with played(tmp_path, (WIPE,), settings=setting, on=False) as play:
        await polled(play)
        assert play.kinds.count("ReadingTaken") == 0
