"""The large key, pressed as the plan goes: work, windows and the rests that are called."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Protocol

from cartclock.engine.body.watch import AGAIN_US, SOON_AGAIN_US, newest_fact_us
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Hands
from cartclock.engine.films.before_coat import BEFORE_COAT
from cartclock.engine.now.fresh import due_before
from cartclock.engine.products.worn import wears_of, worn
from cartclock.engine.trouble import PlanFault
from cartclock.tui.widgets.sheet import Sheet

if TYPE_CHECKING:
    from textual.pilot import Pilot

    from cartclock.tui.app import CartClock

# Far more presses than any stage has: a script that never ends is a fault of its own.
MOST_PRESSES = 500
# How long somebody looks about with the page before a coat.
LOOKED_S = 28


class Presser(Protocol):
    """Who presses keys on a cart and lets time pass in between, as `demo_sessions.player` says."""

    @property
    def cart(self) -> CartClock:
        """The program, while it runs."""
        ...

    def fault(self, sentence: str) -> PlanFault:
        """What is wrong with the script, with the step it is wrong in."""
        ...

    async def press(self, key: str, pilot: Pilot[Any]) -> None:
        """One key."""
        ...

    async def wind(self, seconds: float, until_rest: bool = False) -> float:
        """Lets seconds pass; answers those that are left because a rest was called."""
        ...

    async def wind_to(self, move: Move) -> None:
        """Lets time pass until the window in front of a move opens."""
        ...


async def through(
    player: Presser, stage: str, pace: float, pilot: Pilot[Any], layer: int = 0
) -> None:
    """Presses the large key until a stage of the job in front is over.

    A rest that is called is taken at its length; then the work it interrupted goes on, as long
    as it had left. The last work of the stage stays in hand.

    Args:
        stage: how far.
        pace: how many times the planned minutes the work takes.
        layer: how far into the stage, as the layer that is over at the end; 0: all of them.

    Raises `PlanFault` if the stage is not what comes next, or if a press writes nothing.
    """
    bench = player.cart.bench
    first = next((move for move in player.cart.workplace.moves if move.act != "rest"), None)
    if (
        first is None
        or not first.job
        or _beyond(player, bench.jobs[first.job], first, stage, layer)
    ):
        raise player.fault(f"{stage} is not what comes next")
    # Of the work that a rest interrupted.
    left_s = 0.0
    told = False
    for _ in range(MOST_PRESSES):
        moves = player.cart.workplace.moves
        ahead = next((move for move in moves if move.act != "rest"), None)
        done = ahead is None or ahead.job != first.job or ahead.act == "close"
        if not left_s and (
            done or ahead is None or _beyond(player, bench.jobs[first.job], ahead, stage, layer)
        ):
            return
        move = moves[0]
        shift = bench.shift()
        if move.act == "stand by" and shift is not None and shift.state == "free":
            await player.wind_to(move)
            continue
        if await _change(player, move, pilot):
            continue
        worked = shift is not None and isinstance(shift.doing, Hands)
        rows = bench.log.head.seq
        await player.press("space", pilot)
        # A look may have fallen due while the key went down: then the press opened its list.
        look = player.cart.workplace.moves[0]
        if look.act == "look" and _asks(player.cart):
            # The list opens on "all of these are fine".
            await player.wind(round(look.minutes * 60))
            await player.press("space", pilot)
        asked = player.cart.sight.asked
        if asked is not None and asked.rule_id == BEFORE_COAT:
            # Doors, towels and lamp are looked at before the page is taken as read.
            await player.wind(LOOKED_S)
            await player.press("space", pilot)
        if bench.log.head.seq == rows:
            if told:
                raise player.fault(f"the large key wrote nothing in {stage}")
            # The line had become another under the finger: it is read, and pressed again.
            told = True
            continue
        told = False
        # Time went by while the key went down: a rest may have been called before it.
        match getattr(bench.shift(), "doing", None):
            case Break(planned_s=planned_s):
                # A rest that is due now puts down what is in hand, also where it was as good as
                # done; one before the next piece finishes it.
                fresh = [row.event for row in bench.rows if row.seq > rows]
                put_down = any(isinstance(event, ev.WorkPutDown) for event in fresh)
                left_s = (max(left_s, 1.0) if put_down else 0.0) if worked else left_s
                await player.wind(planned_s or 0)
            case Hands():
                seconds = left_s or round(move.minutes * 60 * pace)
                left_s = await player.wind(seconds, until_rest=True)
            case _ if move.act == "stand by":
                await player.wind_to(move)
    raise player.fault(f"{stage} never comes to an end")


async def _change(player: Presser, move: Move, pilot: Pilot[Any]) -> bool:
    """Takes fresh what has had its sections; True if anything had.

    Between two sections it is offered; while a film is in play it is said with A.
    """
    cart = player.cart
    shift, job = cart.bench.shift(), cart.workplace.moment.jobs.get(move.job)
    if shift is None or job is None or move.act not in ("take up", "change"):
        return False
    if move.act == "change":
        due = due_before(job, move, shift)
    else:
        stage = job.stage(move.stage)
        each = (worn(job, stage, wear, shift) for wear in wears_of(stage, (move.turn.step,)))
        due = tuple(one for one in each if one.due)
    if not due:
        return False
    # The letters of the lists: both, a pad, a towel.
    letter = "b" if len(due) > 1 else {"pad": "p", "towel": "w"}[due[0].wear.kind]
    for key in ("space" if move.act == "change" else "a", letter):
        await player.press(key, pilot)
    return True


def _asks(cart: CartClock) -> bool:
    """True while a list is open on the screen in front."""
    return any(sheet.is_open for sheet in cart.screen.query(Sheet))


def _beyond(player: Presser, job: Job, move: Move, stage: str, layer: int) -> bool:
    names = [one.name for one in job.stages]
    if stage not in names:
        raise player.fault(f"the job in front has no stage {stage}")
    later = names.index(move.stage) - names.index(stage)
    return later > 0 or (later == 0 and 0 < layer < move.turn.layer)


def call_in_s(cart: CartClock) -> float:
    """Whole seconds until the next rest is called as things stand, at least 1; infinite if none.

    The program on a real cart looks every second. A session winds further at once, but never
    past the second at which a rest falls due.
    """
    watch, shift = cart.workplace.body(), cart.bench.shift()
    if watch is None or shift is None or isinstance(shift.doing, Break):
        return math.inf
    now_us = cart.bench.now_us
    match watch.rest:
        case "due":
            return 1
        case "none":
            left_s = watch.pace.left_s
            return math.inf if left_s is None else max(1, left_s)
        case "overruled":
            again = SOON_AGAIN_US if watch.pace.grade == "soon" else AGAIN_US
            again_us = (newest_fact_us(shift, ev.RestOverruled) or now_us) + again
        case "after the film":
            again_us = cart.workplace.moment.until_us
        case "called":
            return math.inf
        case "after the piece":
            # It is called by the press that ends the piece, or once it is due now.
            left_s = watch.pace.left_s
            return math.inf if left_s is None else max(1, left_s)
    return max(1, -(-(again_us - now_us) // SECOND_US))
