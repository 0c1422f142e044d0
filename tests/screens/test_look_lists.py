"""Second looks on the screen: SPACE offers them, one list answers, closing a job asks.

CARTCLOCK_GOLDENS=write writes the goldens anew; see `tests.kit.stage.compare`.
"""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.turn import Turn
from cartclock.engine.plan.plan import Gap
from cartclock.engine.rules import rules
from tests.kit.stage import SMALL, Play, compare_sizes, played
from tests.screens.test_wet_lists import COAT, lay, pick, sealing

TWO = replace(COAT, layers=2, gap=Gap(3600, 7200, 86400))


async def test_no_check_is_due_and_the_key_says_when_one_is(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await play.press("z")
        assert play.notice == "No look is due."
        await lay(play, 1)
        # The last touch was 14:15:2x, twenty minutes before.
        await play.press("z")
        assert play.sheet.title.startswith(
            "Bottle green estate: No look is due; the next one opens"
        )
        assert play.spoken[0].startswith("something on bonnet left, laid ")
        await play.press("escape")
        assert not play.sheet.is_open
        assert play.odd() == []


async def test_a_due_check_is_a_notice_that_names_the_key_and_rings_once(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 1)
        await play.wind(1100)
        bells = play.app.bells
        assert "Look again" not in play.text
        await play.wind(100)
        assert "Look again (Z): light over bonnet left, laid 20 min ago." in play.text
        assert play.app.bells == bells + 1
        for seconds in (60, 1200, 3600):
            await play.wind(seconds)
        assert ", late." in play.notice
        assert play.app.bells == bells + 1


async def test_space_offers_a_due_look_and_two_presses_answer_all_of_it(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.wind(1260)
        assert play.next_line == "SPACE  look over all 3"
        before = play.kinds
        await play.press("space")
        assert play.kinds == before
        assert play.sheet.title == "Bottle green estate: look over all 3 (Coat), light over it"
        assert play.spoken[0] == "all of these are fine: all 3"
        assert play.spoken[1].startswith("something on bonnet left, laid 2")
        assert play.spoken[-1] == "not looked at, because ..."
        await compare_sizes("list_look", play)
        await play.press("space")
        assert play.kinds == [*before, "SectionChecked"]
        assert play.bench.rows[-1].event == ev.SectionChecked("Coat", COAT.sections, "fine")
        assert "look over" not in play.next_line
        await play.press("backspace")
        assert play.next_line == "SPACE  look over all 3"
        assert play.odd() == []


async def test_what_is_found_late_on_a_film_that_was_fine_can_still_be_said(
    tmp_path: Path,
) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 3)
        await play.wind(1500)
        await play.press("space", "space")
        assert play.bench.rows[-1].event == ev.SectionChecked("Coat", COAT.sections, "fine")
        await play.wind(3600)
        await play.press("z")
        assert play.sheet.title == "Bottle green estate: No look is due. What was seen, and where?"
        await pick(play, "something on bonnet left")
        await pick(play, "high spot")
        assert play.sheet.title.startswith("high spot on bonnet left (Coat)")
        await pick(play, "nothing")
        found = ev.SectionChecked("Coat", ("bonnet left",), "high spot")
        assert play.bench.rows[-1].event == found
        assert play.odd() == []


async def test_a_look_taken_up_by_space_ends_what_is_in_hand(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await play.press("space")
        await play.wind(120)
        await play.press("space")
        await play.wind(1300)
        assert play.next_line == "SPACE  look over bonnet left"
        await play.press("space")
        assert play.kinds[-2:] == ["StepFinished", "ProductUsed"]
        assert play.sheet.is_open
        await play.press("esc")
        assert play.kinds[-1] == "ProductUsed"


async def found(play: Play, word: str, place: str) -> None:
    """Opens the list of what is done about something on one section."""
    await play.press("z")
    await pick(play, place)
    await pick(play, word)


async def test_what_was_found_brings_its_remedy_as_the_next_work(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.wind(1320)
        await play.press("z")
        await pick(play, "bonnet right")
        assert play.spoken == ["high spot", "missed place", "smear", "hologram", "lint"]
        await pick(play, "high spot")
        assert play.sheet.title == "high spot on bonnet right (Coat): what is done?"
        assert play.spoken == [
            "re-wet and level",
            "polish out, wipe, coat again",
            "nothing: it is noted and stays",
        ]
        await compare_sizes("list_look_remedy", play)
        before = play.kinds
        await play.press("space")
        assert play.kinds == [*before, "SectionChecked", "SectionReopened"]
        assert play.bench.rows[-1].press == play.bench.rows[-2].press
        # What is left to be looked at comes first, then the remedy.
        await play.press("space", "space")
        assert play.next_line == "SPACE  lay bonnet right; high spot: re-wet and level"
        await play.press("backspace", "backspace")
        assert play.odd() == []


async def test_the_remedy_goes_by_the_age_at_the_pick(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 1)
        await play.wind(1795)
        await found(play, "high spot", "something on bonnet left")
        assert play.spoken[0] == "re-wet and level"
        await play.wind(10)
        assert play.spoken[0] == "polish out, wipe, coat again"
        await play.press("space")
        assert play.bench.rows[-2].event == ev.SectionChecked(
            "Coat", ("bonnet left",), "high spot", "polish out, wipe, coat again"
        )


async def test_in_layer_two_it_is_this_layer_only_or_all(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(TWO)) as play:
        await lay(play)
        assert "layer 2 of 2: 0/3" in play.text
        await play.wind(3600)
        assert play.next_line == "SPACE  look over all 3, layer 1 of 2"
        await play.press("space")
        assert play.sheet.title.endswith("it can be seen until layer 2 covers it")
        await play.press("space")
        await lay(play)
        await play.wind(4000)
        await found(play, "hologram", "roof")
        assert play.spoken == [
            "polish out, wipe, coat again: this layer only",
            "polish out, wipe, coat again: all 2 layers",
            "nothing: it is noted and stays",
        ]
        await play.press("space")
        (job,) = play.bench.jobs.values()
        assert job.sections["Coat", "roof"].turn == Turn(2, 2, 0)
        assert play.odd() == []


async def test_not_looked_at_is_said_with_a_reason_and_asks_no_more(tmp_path: Path) -> None:
    async with played(tmp_path, sealing(), size=SMALL) as play:
        await lay(play)
        await play.wind(1300)
        await play.press("space", "up", "space")
        assert play.spoken[0] == "no time for it"
        await play.press("space")
        assert play.bench.rows[-1].event == ev.SectionChecked(
            "Coat", COAT.sections, "not looked at", "no time for it"
        )
        assert "look over" not in play.next_line


async def test_closing_asks_what_nobody_looked_at_and_looking_answers(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.press("t", "space", "down", "space")
        assert play.sheet.title == (
            "2 panels were not looked at again: bonnet, roof. Close the job all the same?"
        )
        assert play.spoken[:2] == ["no, leave it as it is", "no, look at them now"]
        await compare_sizes("ask_not_looked", play)
        await play.press("down", "space")
        assert play.spoken[0] == "all of these are fine: all 3"
        await play.press("space")
        assert play.bench.log.asked() is None
        await play.press("t", "space", "down", "space")
        assert play.kinds[-1] == "JobClosed"


async def test_closing_without_a_look_takes_a_reason_into_the_log(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play)
        await play.press("t", "space", "down", "space", "down", "down", "space")
        assert play.bench.rows[-1].event == ev.JobClosed({"not_looked": "no time for it"})


async def test_a_check_that_was_answered_meanwhile_writes_nothing(tmp_path: Path) -> None:
    async with played(tmp_path, sealing()) as play:
        await lay(play, 1)
        await play.wind(1300)
        await play.press("z")
        (job,) = play.bench.jobs.values()
        play.bench.do(rules.close_job, job.id, {"unfinished": "said", "not_looked": "said"})
        before = play.kinds
        await play.press("space")
        assert play.notice == "That job is not open."
        assert play.kinds == before
