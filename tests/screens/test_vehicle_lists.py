"""The lists of the vehicle: each writes one fact a pick, nothing on esc, and undo takes it back.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

import hashlib
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.plan.shapes import shape_sections
from cartclock.engine.vehicle.vehicle import vehicle_record
from tests.kit.page import read
from tests.kit.plans import WIPE
from tests.kit.stage import HOME, SMALL, Play, compare_sizes, played, whole

SECTIONS, PANELS = shape_sections("estate", {"bonnet": 2})
POLISH = Stage("Polish", SECTIONS, (Work("polish", 10.0, tool="polisher"),), panels=PANELS)
SPOT = Stage("Test spot", ("bonnet test spot",), (Work("polish", 20.0),), trial=True)
JOB = (WIPE, SPOT, POLISH)
SIZES = pytest.mark.parametrize("size", [HOME, SMALL], ids=["80x24", "40x12"])


def facts(play: Play) -> list[Struct]:
    """The events of the vehicle that stand, in order."""
    (job,) = play.bench.jobs.values()
    return [row.event for row in job.facts]


async def left(play: Play) -> None:
    """Every open list is left, so that the next value begins where the first one did."""
    while play.sheet.is_open:
        await play.press("esc")


async def undone(play: Play) -> None:
    """Undo takes back the newest press and nothing else."""
    before = facts(play)
    await left(play)
    await play.press("backspace")
    assert facts(play) == before[:-1]
    assert play.odd() == []


async def test_the_list_opens_by_its_letter_and_esc_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        rows = list(play.bench.rows)
        await play.press("v")
        assert play.sheet.title == "Bottle green estate: what to note?"
        await compare_sizes("list_vehicle", play)
        for letter in "wodtgaps":
            await play.press("esc", "v", letter)
            assert play.sheet.is_open, letter
            for size in (SMALL, HOME):
                await play.resize(size)
                assert whole(play) == [], (letter, size)
                assert play.digits() >= 3
            await play.press("space" if not play.typing else "enter", "esc", "esc")
            assert not play.sheet.is_open
        assert play.bench.rows == rows


async def test_without_a_job_the_key_says_why(tmp_path: Path) -> None:
    async with played(tmp_path, on=False) as play:
        await play.press("esc", "v")
        assert play.notice == "No job is open; T, then +, opens one."
        assert not play.sheet.is_open
        assert play.bench.rows == []


async def test_off_the_clock_the_vehicle_can_be_noted(tmp_path: Path) -> None:
    async with played(tmp_path, JOB, on=False) as play:
        await play.press("v", "o")
        await play.type("84210")
        assert facts(play) == [ev.OdometerRead(84210, "km")]


# Odometer.


async def test_the_odometer_is_typed_and_a_lower_one_is_warned_of(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "o")
        await play.type("52 330 mi")
        assert play.notice == "Odometer: 52330 mi."
        # The unit of before is the usual one.
        await play.press("v", "o")
        assert play.sheet.title.startswith("Bottle green estate: odometer in mi")
        await play.type("52300")
        assert play.notice == "Written. 52300 mi is less than the 52330 mi read before."
        assert facts(play) == [ev.OdometerRead(52330, "mi"), ev.OdometerRead(52300, "mi")]
        await undone(play)
        await undone(play)


async def test_an_odometer_that_cannot_be_is_asked_again(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        for typed in ("-5", "12.5", "km", "many", "99999999", "٣"):
            await play.press("v", "o")
            await play.type(typed)
            assert play.typing, typed
            assert play.sheet.says.startswith("An odometer "), typed
            assert facts(play) == [], typed
            await play.press(*["backspace"] * len(typed))
            await play.type("84210")
            assert facts(play) == [ev.OdometerRead(84210)], typed
            await undone(play)


# Damage.


@SIZES
async def test_damage_is_noted_panel_by_panel_until_esc(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, JOB, size=size) as play:
        await play.press("v", "d")
        assert play.spoken[0].startswith("roof")
        await play.press("space", "c")
        # The same panel is offered first, with what was found on it.
        assert play.spoken[0].split() == ["roof", "chip"]
        await play.press("space", "d", "down", "space", "s")
        assert play.spoken[0].split() == ["bonnet", "scratch"]
        assert play.sheet.is_open
        await play.press("esc")
        assert facts(play) == [
            ev.DamageNoted("roof", "chip"),
            ev.DamageNoted("roof", "dent"),
            ev.DamageNoted("bonnet", "scratch"),
        ]
        for _ in range(3):
            await undone(play)


async def test_what_is_found_on_a_vehicle_has_its_word(tmp_path: Path) -> None:
    found = {"kerbed wheel", "crack", "stain", "rust", "missing part", "chip", "scratch", "dent"}
    async with played(tmp_path, JOB) as play:
        await play.press("v", "d", "space")
        assert found <= {line.strip() for line in play.spoken}


async def test_a_note_on_damage_is_private_text(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "d", "space", "n")
        assert play.spoken[-1] == "with a note: yes"
        await play.press("e")
        assert play.sheet.title == "Bottle green estate: note on the etching, roof"
        assert facts(play) == []
        await play.type("from the [lime] tree of A. Quill")
        (found,) = facts(play)
        assert isinstance(found, ev.DamageNoted)
        assert play.bench.text(found.note) == "from the [lime] tree of A. Quill"
        stored = [row.event for row in play.bench.log.all_rows()]
        assert "Quill" not in repr(stored)
        # Enter on an empty line: no note; esc: nothing at all.
        await play.press("space", "n", "c")
        await play.type("")
        assert facts(play)[-1] == ev.DamageNoted("roof", "chip")
        await play.press("space", "n", "c", "esc")
        assert len(facts(play)) == 2


async def test_a_part_that_is_no_panel_can_be_named(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "d", "up", "space")
        await play.type("windscreen")
        await play.press("c")
        assert facts(play) == [ev.DamageNoted("windscreen", "chip")]
        await play.press("up", "space")
        await play.type("w" * 61)
        await play.press("c")
        assert play.sheet.title.startswith("A panel has 1 to 60 characters")
        assert len(facts(play)) == 1


# Thickness.


@SIZES
async def test_lowest_and_highest_of_a_panel(tmp_path: Path, size: tuple[int, int]) -> None:
    async with played(tmp_path, JOB, size=size) as play:
        await play.press("v", "t", "space", "9", "8", "down", "1", "2", "1", "space")
        assert facts(play) == [ev.PaintRead("roof", "before", 98.0, 121.0)]
        # On to the next panel, with a word about this one.
        assert play.sheet.title.startswith(
            "roof: 98 to 121 µm total build: on the thin side, under 100 (common practice"
        )
        assert play.spoken[0].split() == ["bonnet"]
        assert any("before 98 to 121" in line for line in play.spoken)
        assert "before 98 to 121" not in play.spoken[0]
        await play.press("space", "n")
        assert facts(play)[-1] == ev.PaintRead("bonnet", "before")
        assert whole(play) == []
        await undone(play)
        await undone(play)


async def test_one_number_alone_is_both_ends(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "t", "space", "down", "9", "5", ".", "5", "space")
        assert facts(play) == [ev.PaintRead("roof", "before", 95.5, 95.5)]


async def test_a_thickness_that_cannot_be_is_asked_again_with_what_was_typed(
    tmp_path: Path,
) -> None:
    cases = [
        (["space"], "Type the lowest and the highest; N if it is not measurable."),
        (["1", "3", "0", "down", "9", "0", "space"],
         "The lowest reading, 130 µm, is above the highest, 90."),
        (["-", "5", "space"], "A thickness of -5 µm cannot be: it is below zero."),
        (["6", "0", "0", "0", "space"], "6000 µm is too much for paint; 5000 µm is the most."),
    ]  # fmt: skip
    async with played(tmp_path, JOB) as play:
        for keys, said in cases:
            await play.press("v", "t", "space", *keys)
            assert play.sheet.title.startswith(said), said
            assert facts(play) == [], said
            typed = "".join(keys[: keys.index("down")] if "down" in keys else keys[:-1])
            assert (typed or "not measured") in play.spoken[0], said
            await left(play)


async def test_a_spot_is_the_mean_of_three_readings(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "t", "space", "s")
        assert "three readings within 4 cm" in play.sheet.title
        await play.press("1", "0", "0", "down", "1", "0", "1", "space")
        assert play.sheet.title.startswith("A spot is the mean of 3 readings")
        assert facts(play) == []
        await play.press("down", "down", "1", "0", "3", "space")
        assert facts(play) == [ev.PaintRead("roof", "before", 101.3, 101.3, (101.3,))]
        assert play.sheet.title.startswith("roof: spot 101.3 µm.")
        # The next spot of the same panel is two keys away.
        await play.press("space", "s", "9", "0", "down", "9", "0", "down", "9", "0", "space")
        (job,) = play.bench.jobs.values()
        (paint,) = vehicle_record(job).paints
        assert paint.before is not None
        assert paint.before.spots == (101.3, 90.0)
        assert (paint.before.low_um, paint.before.high_um) == (90.0, 101.3)
        await undone(play)


async def test_before_or_after_is_guessed_from_the_work_and_can_be_changed(tmp_path: Path) -> None:
    async with played(tmp_path, (POLISH,)) as play:
        # The roof is polished, the bonnet is in hand.
        await play.press("space")
        await play.wind(600)
        await play.press("space")
        await play.press("v", "t", "space")
        assert play.spoken[-1].split() == ["when", "after"]
        await play.press("9", "6", "space")
        await play.press("space")
        assert play.spoken[-1].split() == ["when", "before"]
        await play.press("9", "7", "up", "right", "space")
        reads = [event for event in facts(play) if isinstance(event, ev.PaintRead)]
        assert reads == [
            ev.PaintRead("roof", "after", 96.0, 96.0),
            ev.PaintRead("bonnet", "after", 97.0, 97.0),
        ]


# Gloss.


async def test_a_high_gloss_asks_for_twenty_degrees(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "g", "space", "8", "8", "space")
        assert facts(play) == [ev.GlossRead("roof", "before", 88.0, 60)]
        assert play.sheet.title.startswith("roof: Over 70 GU: use 20 degrees (ISO 2813).")
        assert play.spoken[0].split() == ["roof", "before", "88", "GU", "at", "60"]
        await play.press("space")
        assert play.spoken[1].split() == ["angle", "20"]
        await play.press("7", "9", ".", "5", "space")
        assert facts(play)[-1] == ev.GlossRead("roof", "before", 79.5, 20)
        # Nothing is to be done there any more: on to the next panel.
        assert play.spoken[0].split() == ["bonnet"]
        await play.press("space", "n")
        assert facts(play)[-1] == ev.GlossRead("bonnet", "before", None, 60)
        await undone(play)


async def test_a_gloss_that_cannot_be(tmp_path: Path) -> None:
    cases: list[tuple[list[str], str]] = [
        ([], "Type the gloss; N if it is not measurable."),
        (["-", "1"], "A gloss of -1 GU cannot be: it is below zero."),
        (["2", "0", "0", "0"], "2000 GU is too much: at 60 degrees 1000 is the most."),
    ]
    async with played(tmp_path, JOB) as play:
        for keys, said in cases:
            await play.press("v", "g", "space", *keys, "space")
            assert play.sheet.title.startswith(said), said
            assert facts(play) == [], said
            await left(play)


# Agreed, files, set-ups.


async def test_what_is_agreed_has_a_price_or_none(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "a")
        await play.type("headlamps too [b]")
        assert facts(play) == []
        await play.type("40,50")
        assert play.notice == "Agreed; the extras add 40.50."
        await play.press("v", "a")
        await play.type("no wax on the trim")
        await play.type("")
        first, second = facts(play)
        assert isinstance(first, ev.AgreementNoted) and isinstance(second, ev.AgreementNoted)
        assert play.bench.text(first.text) == "headlamps too [b]"
        assert (first.price, second.price) == ("40.50", None)
        (job,) = play.bench.jobs.values()
        assert vehicle_record(job).extras_total == Decimal("40.50")
        await play.press("v", "a")
        await play.type("polish the wheels")
        await play.type("forty")
        assert play.sheet.says == "A price is written in digits, like 18.50."
        assert len(facts(play)) == 2
        await play.press("esc")
        await play.press("v", "a")
        await play.type("")
        assert play.notice == "Nothing was written."
        await undone(play)


async def test_a_photo_is_kept_by_its_digest(tmp_path: Path) -> None:
    photo = tmp_path / "front left.JPG"
    photo.write_bytes(b"light on a chip" * 1000)
    async with played(tmp_path, JOB) as play:
        await play.press("v", "p")
        await play.type(f"'{photo}'")
        assert not play.sheet.is_open
        (found,) = facts(play)
        assert isinstance(found, ev.FileAttached)
        assert found.sha256 == hashlib.sha256(photo.read_bytes()).hexdigest()
        assert (found.what, found.section) == ("photo", "")
        assert play.bench.text(found.path) == str(photo)
        await play.press("v", "p")
        await play.type(str(photo))
        assert play.sheet.says.startswith("That file is attached already.")
        await play.press("esc")
        assert len(facts(play)) == 1
        await undone(play)


async def test_a_file_that_is_not_there_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = [
        ("not here.jpg", "not here.jpg is not there; nothing was written."),
        (".", " is no file; nothing was written."),
        ("/dev/null", "null is no file; nothing was written."),
        ("~nobody-by-this-name/a.jpg", "That is no path of this computer."),
        ("x" * 300, "That path cannot be read: File name too long."),
    ]
    monkeypatch.chdir(tmp_path)
    async with played(tmp_path, JOB) as play:
        rows = list(play.bench.rows)
        for typed, said in cases:
            await play.press("v", "p")
            await play.type(typed)
            assert said in play.sheet.says, said
            assert play.typing, said
            await play.press("esc")
            assert play.bench.rows == rows, said
            await left(play)


async def test_a_set_up_that_was_accepted_is_said_for_the_polish(tmp_path: Path) -> None:
    async with played(tmp_path, (SPOT, POLISH)) as play:
        await play.press("v", "s")
        assert play.sheet.title.startswith("Bottle green estate: set-up on bonnet test spot")
        await play.type("wool pad, speed 5")
        await play.press("n")
        await play.wind(30)
        assert "set-up" not in play.text
        await play.press("v", "s")
        await play.type("foam pad [x], speed 4")
        assert facts(play)[-1] != ev.TrialJudged(
            "Test spot", "bonnet test spot", "foam pad [x], speed 4", True
        )
        await play.press("a")
        assert play.notice == "Set-up on bonnet test spot accepted."
        await play.press("space")
        await play.wind(30)
        # In hand is the test spot; what comes next is the polish.
        assert play.glance.notices == ("set-up for Polish: foam pad [x], speed 4",)
        await play.press("space")
        await play.wind(30)
        assert "set-up for Polish: foam pad [x], speed 4" in play.text
        await play.resize(SMALL)
        told = set()
        for _ in range(40):
            await play.wind(2)
            told |= {word for line in play.lines for word in line.split()}
        assert told >= {"set-up", "for", "Polish:", "foam", "pad", "[x],", "speed", "4"}
        assert whole(play) == []
        assert play.odd() == []


async def test_a_plan_without_a_trial_has_no_set_ups(tmp_path: Path) -> None:
    async with played(tmp_path, (WIPE,)) as play:
        await play.press("v", "s")
        assert play.notice.startswith("This plan has no trial stage")
        assert not play.sheet.is_open


@SIZES
async def test_why_a_path_was_refused_stands_once_until_it_is_mended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.chdir(tmp_path)
    said = "not here.jpg is not there; nothing was written."
    async with played(tmp_path, JOB, size=size) as play:
        await play.press("v", "p")
        await play.type("not here.jpg")
        assert play.times_said(said) == 1
        assert whole(play) == []
        await play.press("backspace")
        assert play.times_said(said) == 0


@pytest.mark.parametrize("typed", ["x" * 201], ids=["too long"])
async def test_a_set_up_that_cannot_be_is_asked_again(tmp_path: Path, typed: str) -> None:
    async with played(tmp_path, (SPOT, POLISH)) as play:
        await play.press("v", "s")
        await play.type(typed)
        await play.press("a")
        assert play.typing
        assert play.sheet.says.startswith("A set-up has 1 to 200 characters")
        assert facts(play) == []


async def test_the_record_says_it_all(tmp_path: Path) -> None:
    async with played(tmp_path, JOB) as play:
        await play.press("v", "o")
        await play.type("84210")
        await play.press("v", "d", "space", "c", "esc")
        await play.press("v", "t", "space", "9", "8", "down", "1", "2", "1", "space", "esc")
        await play.press("e")
        paper = read(play)
        for said in ("Vehicle on arrival", "84210 km", "chip", "Paint readings", "98 to 121"):
            assert said in paper


async def test_a_judged_set_up_is_taken_back(tmp_path: Path) -> None:
    async with played(tmp_path, (SPOT, POLISH)) as play:
        await play.press("v", "s")
        await play.type("wool pad")
        await play.press("a")
        assert len(facts(play)) == 1
        await undone(play)
        assert play.glance.notices == ()


async def test_each_of_several_spots_has_its_set_up(tmp_path: Path) -> None:
    spots = Stage("Test spots", ("bonnet spot", "door spot"), SPOT.steps, trial=True)
    async with played(tmp_path, (spots, POLISH)) as play:
        await play.press("v", "s")
        assert play.spoken == ["bonnet spot (Test spots)", "door spot (Test spots)"]
        await play.press("down", "space")
        await play.type("wool pad")
        await play.press("a")
        assert facts(play) == [ev.TrialJudged("Test spots", "door spot", "wool pad", True)]
