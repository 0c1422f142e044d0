"""What the second worker does on the Run screen, and the list of who is on the clock."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec.structs import replace

from cartclock.engine.body.watch import Watch, rest_told
from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts.rows import Draft
from cartclock.engine.facts.shift_events import BreakKind
from cartclock.engine.facts.words import row_text
from cartclock.engine.rules import rules, typed
from cartclock.tui.lists import clock
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.lists.leaving import leave_for
from cartclock.tui.lists.take_back import taken_back
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.helper import body, shift_on
from cartclock.tui.widgets.sheet import Line


def call_rest(cart: Cart) -> None:
    """A rest that is due for the helper is told once."""
    found = body(cart.workplace)
    if found is not None and found.rest == "due" and found.call is not None:
        cart.bench.machine([Draft(found.call)], cart.workplace.helper)


def tell_rest(cart: Cart, found: Watch, worker: str) -> None:
    """A rest before the next piece is told when the press comes that would begin it."""
    shift = cart.bench.shift(worker)
    call = found.call if found.rest == "after the piece" else None
    if call is not None and shift is not None and not rest_told(shift, call.grade):
        cart.bench.machine([Draft(call)], worker)


def tell(cart: Cart, told: Pressed) -> None:
    """Answers what a press of the helper did."""
    picked = cart.workplace.picked
    cart.told(told)
    # The first worker's pick is none of the helper's business.
    cart.workplace.picked = picked
    rows = [row for row in told.rows if row.kind != "ProductUsed"] or told.rows
    # Of somebody who only helped the workplace knows no name once they are off.
    said = row_text(rows[-1], cart.bench.jobs, unit=cart.settings.temperature)
    cart.say(f"{rows[-1].worker}: {said}.")


def _write(
    cart: Cart, helper: str, rule: Callable[..., rules.Drafts], *args: object, **facts: object
) -> None:
    """A press of the helper, answered; also when they are off the clock by it."""
    tell(cart, cart.bench.do_as(helper, 0, rule, *args, **facts))


def open_who(screen: Host) -> None:
    """Who is clocked on or off; the helper's breaks are here too."""
    cart, shift = screen.cart, shift_on(screen.cart.workplace)
    own = cart.bench.shift()
    on = own is not None and own.on_clock

    def press(rule: Callable[..., rules.Drafts], *args: object) -> Callable[[], None]:
        def write() -> None:
            tell(cart, cart.bench.do_as(cart.workplace.helper, 0, rule, *args))

        return write

    ending = clock.Ending(cart.workplace.helper, partial(_write, cart, cart.workplace.helper))
    off = partial(clock.offer_off, screen, ending)

    # As the first worker's breaks: what has had its minutes is finished, if no film begins by that.
    toggle = Toggle(
        cart.bench,
        finish=shift is not None and rules.minutes_over(cart.bench.scene(cart.workplace.helper)),
        worker=cart.workplace.helper,
    )

    def rest(what: BreakKind, minutes: int) -> Callable[[], None]:
        def take() -> None:
            asked = Asked(
                "", "", "break", worker=cart.workplace.helper,
                rest=what, planned_s=minutes * 60, finish=toggle.finish,
            )  # fmt: skip
            leave_for(cart, asked, tell=partial(tell, cart))

        return take

    lines = [
        Line(
            f"{cart.bench.worker}: clock {'off' if on else 'on'}",
            lambda: clock.open_clock(screen),
        )
    ]
    if shift is None:
        lines.append(Line(f"{cart.workplace.helper}: clock on", lambda: clock_on(cart)))
    else:
        lines += [
            Line(f"{cart.workplace.helper}: clock off", off),
            Line(f"{cart.workplace.helper}: break, rest", rest("rest", 15)),
            Line(f"{cart.workplace.helper}: break, meal", rest("meal", 30)),
            *toggle.lines(),
            Line(f"{cart.workplace.helper}: put down what is in hand", press(rules.put_down)),
        ]
    screen.sheet.open("Who?", lines)


def clock_on(cart: Cart) -> None:
    """The helper's shift begins where the first worker is."""
    bench = cart.bench
    own = bench.shift()
    place = "" if own is None else own.on.place
    worn = clock.clothing_choice(cart, bench.shift(cart.workplace.helper))
    on = clock.clocking_on(cart, cart.workplace.helper, place, worn.value)
    tell(cart, bench.do_as(cart.workplace.helper, 0, rules.clock_on, on))


# How long somebody stays who only helps, in minutes: common practice, no source.
STAYS = ((20, "for 20 min"), (60, "for an hour"), (None, "until I clock them off"))


def guest_lines(screen: Host) -> list[Line]:
    """Somebody helps for a while whom the settings do not name; nothing where two are at it."""
    cart, bench = screen.cart, screen.cart.bench
    own = bench.shift()
    if cart.workplace.helper or own is None or not own.on_clock:
        return []

    def stay(name: str, minutes: int | None) -> Callable[[], None]:
        def come() -> None:
            worn = clock.clothing_choice(cart, bench.shift(name))
            on = clock.clocking_on(cart, name, own.on.place, worn.value)
            planned_s = None if minutes is None else minutes * 60
            told = bench.do_as(name, 0, rules.clock_on, replace(on, planned_s=planned_s))
            tell(cart, told)

        return come

    def named(text: str) -> None:
        name = typed.helper_name(text, bench.worker)
        lines = [Line(said, stay(name, minutes)) for minutes, said in STAYS]
        screen.sheet.open(f"{name} helps", lines)

    def ask() -> None:
        if cart.workplace.no_guest:
            screen.say(cart.workplace.no_guest)
            return
        screen.sheet.open_text("Who helps? The name stays in the log", named)

    return [Line("somebody who helps for a while", ask, hot="h")]


def undo_lines(screen: Host) -> list[Line]:
    """On Log: the helper's newest press can be taken back by one line."""
    cart, bench = screen.cart, screen.cart.bench
    if not cart.workplace.helper or bench.newest_press(cart.workplace.helper) is None:
        return []

    def undo() -> None:
        told = bench.undo(cart.workplace.helper)
        cart.told(told)
        screen.say(taken_back(bench, told, screen.cart.settings.temperature))

    return [Line(f"take back {cart.workplace.helper}'s newest press", undo)]
