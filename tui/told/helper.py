"""What there is to tell of the second worker on Run: hands, body, and what their key takes up."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace

from cartclock.engine.body.rest_words import pace_line
from cartclock.engine.body.watch import Watch
from cartclock.engine.dates import clock_text, hours_text
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.shift import Break, Other, Shift
from cartclock.engine.facts.words import move_text
from cartclock.engine.now.at_hand import other_vehicle
from cartclock.engine.now.faces import Face, hands_face
from cartclock.engine.now.helper import helper_move, stay_over
from cartclock.engine.now.key_line import CHANGED, KeyLine
from cartclock.engine.now.moves import wait_line
from cartclock.tui.keys import HELPER
from cartclock.tui.told.workplace import Workplace


def shift_on(at: Workplace) -> Shift | None:
    """The helper's shift while it is on."""
    helper = at.moment.helper
    return None if helper is None else helper.on


def body(at: Workplace) -> Watch | None:
    """How the helper fares, by the readings of both; None off the clock."""
    helper = at.moment.helper
    return None if helper is None else helper.watch


def next_move(at: Workplace) -> Move | None:
    """What the helper's key takes up."""
    helper = at.moment.helper
    return None if helper is None or helper.on is None else helper_move(helper.moves, at.chosen)


def doing_text(at: Workplace) -> str:
    """What the helper is at, with its time, in few words."""
    shift, now = shift_on(at), at.moment
    if shift is None:
        return ""
    face = hands_face(now.jobs, shift, now.now_us)
    if face is not None:
        return f"now {face.word.lower()} {face.where} {face.clock}"
    spent = clock_text((now.now_us - shift.since_us) / 1e6)
    match shift.doing:
        case Break(what):
            return f"now on a break ({what}) {spent}"
        case Other(what):
            return f"now {what} {spent}"
        case _:
            return f"now free {spent}"


def line_text(at: Workplace, line: KeyLine, ago: str) -> str:
    """What the helper's key takes up and what the helper is at; "" off the clock."""
    shift, jobs = shift_on(at), at.moment.jobs
    if shift is None:
        return ""
    key = next((key for key in at.keymap if key.id == "helper"), HELPER).face.upper()
    key = CHANGED if line.is_news(at.moment.now_us) else key
    ago = f"  {ago} min ago" if ago else ""
    wanted = "nothing to take up"
    if line.move is not None:
        waits = line.move.act == "stand by" and shift.state == "free"
        now_us = at.moment.now_us
        wanted = wait_line(jobs, line.move, now_us) if waits else move_text(line.move, jobs)
    where = other_vehicle(jobs, shift, line.move)
    where = f"{where}: " if where else ""
    return f"{key}{ago}  {at.helper}: {where}{wanted}   {doing_text(at)}"


def face(at: Workplace) -> Face | None:
    """What the helper's hands do; None if nothing."""
    shift, now = shift_on(at), at.moment
    if shift is None:
        return None
    usual = partial(at.shop.usual, at.helper)
    found = hands_face(now.jobs, shift, now.now_us, usual)
    if found is None:
        return None
    return replace(found, word=f"{at.helper}: {found.word}", key=f"second/{found.key}")


def notices(at: Workplace, found: Watch | None) -> tuple[str, ...]:
    """What presses about the helper."""
    said = []
    if found is not None and found.rest_now:
        said.append(f"{at.helper}: {pace_line(found.pace)}.")
    shift = shift_on(at)
    if shift is not None and stay_over(shift, at.moment.now_us):
        said.append(
            f"{at.helper} came for {hours_text(shift.on.planned_s or 0)}: I clocks {at.helper} off."
        )
    return tuple(said)


def reason(at: Workplace, move: Move | None) -> str:
    """Why the helper's key cannot work now; "" if it can."""
    if shift_on(at) is None:
        return f"{at.helper} is not on the clock; I clocks {at.helper} on."
    return "" if move is not None else f"There is nothing that {at.helper} could take up."
