"""What a demo session is made of: the script file, its steps, and where its files lie."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from cartclock.engine.trouble import PlanFault, Refused


class Opening(Struct, frozen=True, forbid_unknown_fields=True):
    """A job opened at the desk before work: no press is counted for it.

    Fields:
        vehicle: what it looks like.
        plan: a file of the session, or the name of a starter.
        body: body shape that the plan is turned to; "": the one it names.
        customer, phone, plate: private texts.
        promised: local time "YYYY-MM-DD HH:MM"; "" if none.
        price: agreed price, decimal text; "" if none.
    """

    vehicle: str
    plan: str = "plan.toml"
    body: str = ""
    customer: str = ""
    phone: str = ""
    plate: str = ""
    promised: str = ""
    price: str = ""


class Step(Struct, frozen=True, forbid_unknown_fields=True):
    """One step of a session; what is given happens in the order of the fields.

    Fields:
        say: a caption for the onlooker.
        open: a job opened at the desk.
        wall: somebody sets the wall clock by so much ("-1h").
        wind: time that passes ("12m"), or "opens": until the window in front of the next move.
        until: time that passes until the clock of the place shows "HH:MM", within a day.
        keys: keys pressed one after the other.
        type: text typed into an open line of text, ended by enter; not counted as presses.
        through: the large key, pressed as the plan goes, until this stage of the job in front
            is over; the last work of it stays in hand.
        layer: with `through`, only until this layer of the stage is over; 0: until all are.
        pace: how many times the planned minutes that takes.
        die: the laptop loses power for so long; a new boot, a new program.
    """

    say: str = ""
    open: Opening | None = None
    wall: str = ""
    wind: str = ""
    until: str = ""
    keys: tuple[str, ...] = ()
    type: str = ""
    through: str = ""
    layer: int = 0
    pace: float = 1.0
    die: str = ""


class Script(Struct, frozen=True, forbid_unknown_fields=True):
    """A whole session.

    Fields:
        zone: IANA zone of the place.
        starts: local time at which the program is started, "YYYY-MM-DD HH:MM".
        step: in order.
        rule_set: what judges the breaks.
    """

    zone: str
    starts: str
    step: tuple[Step, ...]
    rule_set: Literal["29 CFR 785", "none"] = "29 CFR 785"


def sessions() -> tuple[str, ...]:
    """Names of the demo sessions, in alphabetical order."""
    root = resources.files("cartclock.demo_sessions")
    return tuple(sorted(p.name for p in root.iterdir() if p.joinpath("steps.toml").is_file()))


def files_of(name: str) -> Path:
    """The folder of a session's files."""
    return Path(str(resources.files("cartclock.demo_sessions").joinpath(name)))


def file_text(name: str, file: str) -> str:
    """The text of a session's file. Raises `Refused` for a name that is no session."""
    if name not in sessions():
        raise Refused(f"There is no demo session {name}. There are: {', '.join(sessions())}.")
    return (
        resources.files("cartclock.demo_sessions").joinpath(name, file).read_text(encoding="utf-8")
    )


def read_script(name: str) -> Script:
    """A session's script. Raises `Refused` for a name that is none, `PlanFault` for a bad one."""
    text = file_text(name, "steps.toml")
    try:
        return msgspec.convert(tomllib.loads(text), Script)
    except (tomllib.TOMLDecodeError, msgspec.ValidationError) as why:
        raise PlanFault((f"{name}/steps.toml: {why}",)) from None
