"""Scripts of demo sessions: what a bad one is told, and what chance is made of."""

from __future__ import annotations

from pathlib import Path

import pytest

from cartclock.demo_sessions import player, script, session
from cartclock.demo_sessions.player import key_name, seeded
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.store.log import Log
from cartclock.engine.store.plan_file.reader import starter
from cartclock.engine.trouble import PlanFault, Refused

HEAD = """zone = "Europe/Lisbon"
starts = "2026-04-18 08:00"
[[step]]
open = { plan = "maintenance_wash", vehicle = "grey box" }
[[step]]
keys = ["i", "space"]
[[step]]
"""


def written(monkeypatch: pytest.MonkeyPatch, steps: str, plan: str = "") -> None:
    """Lets every session have this script, and this plan instead of a starter."""

    def text(name: str, file: str) -> str:
        return steps if file == "steps.toml" else starter("maintenance_wash")

    monkeypatch.setattr(script, "file_text", text)
    monkeypatch.setattr(player, "file_text", text)
    if plan:
        monkeypatch.setattr(player, "starter", lambda name: plan)


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ("zone = ", "x/steps.toml: Invalid value"),
        ('zone = "UTC"\nstarts = "2026-04-18 08:00"', "missing required field `step`"),
        ('zone = "UTC"\nstarts = "2026-04-18 08:00"\n[[step]]\nkeyz = []', "`keyz`"),
    ],
)
def test_a_script_that_cannot_be_read(
    monkeypatch: pytest.MonkeyPatch, steps: str, says: str
) -> None:
    written(monkeypatch, steps)
    with pytest.raises(PlanFault) as fault:
        script.read_script("x")
    assert says in str(fault.value)


def test_a_session_that_is_none() -> None:
    with pytest.raises(Refused, match=r"There is no demo session x\. There are: "):
        script.read_script("x")


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ('through = "Coat"', "the job in front has no stage Coat"),
        ('until = "07:59"', "it is 08:00:04, past 07:59"),
        ('wind = "opens"', "no window lies in front of the next move"),
        ('type = "words"', "no line of text is open to type into"),
        ('keys = ["e"]\nthrough = "Wash"', "the large key wrote nothing in Wash"),
        (
            'through = "Wash"\n[[step]]\nkeys = ["space"]\n[[step]]\nthrough = "Wash"',
            "Wash is not what comes next",
        ),
    ],
)
def test_a_script_that_does_not_fit_the_screens(
    monkeypatch: pytest.MonkeyPatch, step: str, says: str
) -> None:
    written(monkeypatch, HEAD + step)
    with pytest.raises(PlanFault) as fault:
        session.play("x")
    assert says in str(fault.value)


def test_the_large_key_goes_through_a_stage_and_no_further(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    written(monkeypatch, HEAD + 'through = "Wheels and pre-wash"')
    played = session.play("x")
    # Clocking on takes two, the arrival one, wheels and pre-wash three: work, stand by, work.
    assert [key for _at_us, key in played.keys] == ["i", *["space"] * 5]
    assert "Wash: Not done: all of it\n" in played.record


POLISH = """format = 1
name = "Polish"
[[stage]]
name = "Polish"
sections = ["left side", "right side", "roof"]
[[stage.step]]
work = "polish"
minutes = 50
[[stage]]
name = "Wipe"
sections = ["whole car"]
[[stage.step]]
work = "wipe"
minutes = 5
"""


def test_the_large_key_takes_the_rests_that_are_called(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    reading = 'keys = ["r", "3", "6", "down", "1", "7", "space", "escape", "escape"]'
    written(monkeypatch, f'{HEAD}{reading}\nthrough = "Polish"', POLISH)
    session.play("x", folder=tmp_path)
    with Log.open(tmp_path / "log.db") as log:
        events = [(row.at_us, row.event) for row in log.all_rows()]
    calls = [(at_us, e) for at_us, e in events if isinstance(e, ev.RestCalled)]
    rests = [(at_us, e) for at_us, e in events if isinstance(e, ev.BreakTaken)]
    ended = [at_us for at_us, e in events if isinstance(e, ev.BreakEnded)]
    assert len(calls) >= 2
    press_us = player.PRESS_S * SECOND_US
    for (called_us, call), (rest_us, rest), end_us in zip(calls, rests, ended, strict=True):
        assert (rest.what, rest.planned_s) == ("heat", call.rest_s)
        # A line that has just become the rest takes no press; the next one counts.
        assert rest_us - called_us <= 2 * press_us
        assert end_us - rest_us == call.rest_s * SECOND_US + press_us
    # What a rest interrupted goes on for as long as it had left; the last of it stays in hand.
    begun = [(at_us, e) for at_us, e in events if isinstance(e, ev.WorkStarted)]
    over = [e for e in events if isinstance(e[1], ev.StepFinished | ev.WorkPutDown)]
    done = [e.sections for _at_us, e in over if isinstance(e, ev.StepFinished)]
    assert done == [("left side",), ("right side",)]
    assert begun[-1][1].sections == ("roof",)
    hands = {
        section: [
            end_us - at_us
            for (at_us, start), (end_us, _end) in zip(begun, over, strict=False)
            if start.sections == (section,)
        ]
        for section in ("left side", "right side")
    }
    for stints in hands.values():
        over_us = sum(stints) - 50 * 60 * SECOND_US
        assert len(stints) * press_us <= over_us <= 2 * len(stints) * press_us
    # Rests come between the sections, so none of them was broken off.
    assert sum(len(stints) for stints in hands.values()) == 2


def test_chance_is_the_same_each_time_and_differs_by_name() -> None:
    first, again, other = seeded("a"), seeded("a"), seeded("b")
    drawn = [first(length) for length in (16, 16, 40)]
    assert drawn == [again(length) for length in (16, 16, 40)]
    assert [len(piece) for piece in drawn] == [16, 16, 40]
    assert len({drawn[0], drawn[1], other(16)}) == 3


@pytest.mark.parametrize(
    ("key", "name"),
    [("a", "a"), ("A", "A"), ("7", "7"), (" ", "space"), ("?", "question_mark"), ("up", "up")],
)
def test_letters_have_the_names_of_their_keys(key: str, name: str) -> None:
    assert key_name(key) == name
