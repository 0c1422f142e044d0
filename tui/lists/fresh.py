"""The lists about pads and towels: a fresh one between two sections, or by hand at any time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from cartclock.engine.facts.move import Move
from cartclock.engine.facts.words import move_text, sections_text
from cartclock.engine.now.fresh import due_before
from cartclock.engine.now.moment import Hand
from cartclock.engine.products.worn import WORN, Worn
from cartclock.engine.rules.fresh import take_fresh
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.titles import of_job
from cartclock.tui.widgets.sheet import Line

# Makes one press by a rule and its facts.
Writes = Callable[..., object]

HINT = "up, down: choose   space: take it   esc: later"


def open_change(
    host: Host,
    move: Move,
    worker: str,
    press: Writes,
    go_on: Callable[[Move, dict[str, str]], None],
) -> None:
    """What was offered before the next section: go on with what is in use, or take it fresh.

    Args:
        worker: whose it is, "" for the first.
        press: makes the press of that worker.
        go_on: takes up a move for that worker, with what is overruled by it.
    """
    now = host.cart.workplace.moment
    hand: Hand | None = now.helper if worker else now.me
    job = now.jobs.get(move.job)
    if hand is None or hand.on is None or job is None:
        return
    due = due_before(job, move, hand.on)
    behind = next((one for one in hand.moves if one.act == "take up" and _is_for(one, move)), None)
    lines = []
    if behind is not None:
        # What is chosen first writes nothing that was not done.
        said = f"go on with this one: {move_text(behind, now.jobs)}"
        why = f"went on after {', '.join(one.text for one in due)}"
        lines.append(Line(said, partial(go_on, behind, {WORN: why})))
    if len(due) > 1:
        lines.append(Line("both fresh", partial(_take, press, move.job, due), hot="b"))
    lines += fresh_lines(press, move.job, due)
    host.sheet.open(of_job(host, job, move.say), lines, HINT)


def _is_for(one: Move, change: Move) -> bool:
    return (one.job, one.stage, one.sections, one.turn) == (
        change.job, change.stage, change.sections, change.turn
    )  # fmt: skip


def fresh_lines(press: Writes, job_id: str, found: Sequence[Worn]) -> list[Line]:
    """A line for each that takes a fresh one; the first pad and the first towel have a letter."""
    letters = {"pad": "p", "towel": "w"}
    several = len({one.stage for one in found}) > 1
    return [
        Line(
            f"fresh {one.wear.name} after {sections_text(one.sections)}"
            f"{f' ({one.stage})' if several else ''}",
            partial(_take, press, job_id, (one,)),
            hot=letters.pop(one.wear.kind, ""),
        )
        for one in found
    ]


def _take(press: Writes, job_id: str, taken: Sequence[Worn]) -> None:
    stage = taken[0].stage
    press(take_fresh, job_id, stage, tuple((one.wear.kind, one.wear.name) for one in taken))
