"""The second worker on the Run screen: one key, one line, and the list of who is on the clock."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec.structs import replace

from cartclock.engine.body.rest_words import pace_line
from cartclock.engine.body.watch import Watch, rest_told
from cartclock.engine.dates import clock_text
from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.shift import Break, Other, Shift
from cartclock.engine.facts.words import move_text, row_text
from cartclock.engine.now.at_hand import other_vehicle
from cartclock.engine.now.faces import Face, hands_face
from cartclock.engine.now.helper import helper_move
from cartclock.engine.now.key_line import CHANGED, KeyLine
from cartclock.engine.rules import rules
from cartclock.engine.trouble import Asks
from cartclock.tui.lists import clock
from cartclock.tui.lists.asked import Asked
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.lists.take_back import taken_back
from cartclock.tui.widgets.sheet import Line


def shift_on(cart: Cart) -> Shift | None:
    """The helper's shift while it is on."""
    helper = cart.moment.helper
    return None if helper is None else helper.on


def body(cart: Cart) -> Watch | None:
    """How the helper fares, by the readings of both; None off the clock."""
    helper = cart.moment.helper
    return None if helper is None else helper.watch


def call_rest(cart: Cart) -> None:
    """A rest that is due for the helper is told once."""
    found = body(cart)
    if found is not None and found.rest == "due" and found.call is not None:
        cart.bench.machine([Draft(found.call)], cart.helper)


def tell_rest(cart: Cart, found: Watch, worker: str) -> None:
    """A rest before the next piece is told when the press comes that would begin it."""
    shift = cart.bench.shift(worker)
    call = found.call if found.rest == "after the piece" else None
    if call is not None and shift is not None and not rest_told(shift, call.grade):
        cart.bench.machine([Draft(call)], worker)


def next_move(cart: Cart) -> Move | None:
    """What the helper's key takes up."""
    helper = cart.moment.helper
    return None if helper is None or helper.on is None else helper_move(helper.moves, cart.chosen)


def doing_text(cart: Cart) -> str:
    """What the helper is at, with its time, in few words."""
    shift, now = shift_on(cart), cart.moment
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


def line_text(cart: Cart, line: KeyLine, ago: str) -> str:
    """What the helper's key takes up and what the helper is at; "" off the clock."""
    shift, jobs = shift_on(cart), cart.moment.jobs
    if shift is None:
        return ""
    key = next(key for key in cart.keymap if key.id == "helper").face.upper()
    key = CHANGED if line.is_news(cart.moment.now_us) else key
    ago = f"  {ago} min ago" if ago else ""
    wanted = "nothing to take up" if line.move is None else move_text(line.move, jobs)
    where = other_vehicle(jobs, shift, line.move)
    where = f"{where}: " if where else ""
    return f"{key}{ago}  {cart.helper}: {where}{wanted}   {doing_text(cart)}"


def face(cart: Cart) -> Face | None:
    """What the helper's hands do; None if nothing."""
    shift, now = shift_on(cart), cart.moment
    if shift is None:
        return None
    usual = partial(cart.shop.usual, cart.helper)
    found = hands_face(now.jobs, shift, now.now_us, usual)
    if found is None:
        return None
    return replace(found, word=f"{cart.helper}: {found.word}", key=f"second/{found.key}")


def notices(cart: Cart, found: Watch | None) -> tuple[str, ...]:
    """What presses about the helper."""
    if found is None or not found.rest_now:
        return ()
    return (f"{cart.helper}: {pace_line(found.pace)}.",)


def reason(cart: Cart, move: Move | None) -> str:
    """Why the helper's key cannot work now; "" if it can."""
    if shift_on(cart) is None:
        return f"{cart.helper} is not on the clock; I clocks {cart.helper} on."
    return "" if move is not None else f"There is nothing that {cart.helper} could take up."


def tell(cart: Cart, told: Pressed) -> None:
    """Answers what a press of the helper did."""
    picked = cart.picked
    cart.told(told)
    # The first worker's pick is none of the helper's business.
    cart.picked = picked
    rows = [row for row in told.rows if row.kind != "ProductUsed"] or told.rows
    cart.say(f"{cart.helper}: {row_text(rows[-1], cart.bench.jobs)}.")


def open_who(screen: Host) -> None:
    """Who is clocked on or off; the helper's breaks are here too."""
    cart, shift = screen.cart, shift_on(screen.cart)
    own = cart.bench.shift()
    on = own is not None and own.on_clock

    def press(rule: Callable[..., rules.Drafts], *args: object) -> Callable[[], None]:
        def write() -> None:
            tell(cart, cart.bench.do_as(cart.helper, 0, rule, *args))

        return write

    def off() -> None:
        try:
            tell(cart, cart.bench.do_as(cart.helper, 0, rules.clock_off))
        except Asks as asks:
            cart.ask(Asked(asks.rule_id, str(asks), "clock off", worker=cart.helper))

    lines = [
        Line(
            f"{cart.bench.worker}: clock {'off' if on else 'on'}",
            lambda: clock.open_clock(screen),
        )
    ]
    if shift is None:
        lines.append(Line(f"{cart.helper}: clock on", lambda: clock_on(cart)))
    else:
        lines += [
            Line(f"{cart.helper}: clock off", off),
            Line(f"{cart.helper}: break, rest", press(rules.take_break, "rest", 15 * 60)),
            Line(f"{cart.helper}: break, meal", press(rules.take_break, "meal", 30 * 60)),
            Line(f"{cart.helper}: put down what is in hand", press(rules.put_down)),
        ]
    screen.sheet.open("Who?", lines)


def clock_on(cart: Cart) -> None:
    """The helper's shift begins where the first worker is."""
    bench = cart.bench
    own = bench.shift()
    place = "" if own is None else own.on.place
    worn = clock.clothing_choice(cart, bench.shift(cart.helper))
    on = clock.clocking_on(cart, cart.helper, place, worn.value)
    tell(cart, bench.do_as(cart.helper, 0, rules.clock_on, on))


def undo_lines(screen: Host) -> list[Line]:
    """On Log: the helper's newest press can be taken back by one line."""
    cart, bench = screen.cart, screen.cart.bench
    if not cart.helper or bench.newest_press(cart.helper) is None:
        return []

    def undo() -> None:
        told = bench.undo(cart.helper)
        cart.told(told)
        screen.say(taken_back(bench, told))

    return [Line(f"take back {cart.helper}'s newest press", undo)]
