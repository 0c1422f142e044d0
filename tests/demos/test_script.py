"""Scripts of demo sessions: what a bad one is told, and what chance is made of."""

from __future__ import annotations

import pytest

from demo_sessions import player, script, session
from demo_sessions.player import key_name, seeded
from engine.store.plan_file import starter
from engine.trouble import PlanFault, Refused

HEAD = """zone = "Europe/Lisbon"
starts = "2026-04-18 08:00"
[[step]]
open = { plan = "maintenance_wash", vehicle = "grey box" }
[[step]]
keys = ["i", "space"]
[[step]]
"""


def written(monkeypatch: pytest.MonkeyPatch, steps: str) -> None:
    """Lets every session have this script."""

    def text(name: str, file: str) -> str:
        return steps if file == "steps.toml" else starter("maintenance_wash")

    monkeypatch.setattr(script, "file_text", text)
    monkeypatch.setattr(player, "file_text", text)


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
        ('keys = ["?"]\nthrough = "Wash"', "the large key wrote nothing in Wash"),
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
    assert "Wash\n  Not done: all of it\n" in played.record


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
