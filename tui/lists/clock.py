"""The lists of the clock: clocking on, the read-back of the day, clocking off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, get_args

from msgspec import Struct

from cartclock.engine.ahead.promises import PromiseAsked
from cartclock.engine.body.surroundings import Surroundings
from cartclock.engine.dates import clock_text, hours_text, local, spoken, spoken_near
from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.shift import Shift
from cartclock.engine.facts.shift_events import GapAnswer, OtherKind
from cartclock.engine.figures.limits import CLOTHING_C
from cartclock.engine.hours.account import left_open_us
from cartclock.engine.hours.questions import Question
from cartclock.engine.now.be_here_by import be_here_by
from cartclock.engine.press import Press
from cartclock.engine.rules import choices, rules
from cartclock.engine.rules.typed_time import read_in_full, time_ahead, time_then
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused
from cartclock.tui.lists.host import Cart, Host
from cartclock.tui.lists.promise import ask_promise
from cartclock.tui.lists.reminders import open_reminders
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import spoken_clock, zone_of
from cartclock.tui.told.reasons import open_questions as count_open
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Choice


def open_clock(host: Host) -> None:
    """Clocks on at the last place, or reads the day back and clocks off."""
    bench, settings = host.cart.bench, host.cart.settings
    shift = bench.shift()
    if shift is None or not shift.on_clock:
        place = shift.on.place if shift is not None else ""

        clothing = clothing_choice(host.cart, shift)

        def clock_on(place: str) -> None:
            on = clocking_on(host.cart, bench.worker, place, clothing.value)
            host.cart.write(rules.clock_on, on)
            open_reminders(host)

        lines = [Line(f"clock on{' at ' + place if place else ''}", lambda: clock_on(place))]
        lines.append(
            Line(
                "clock on somewhere else",
                lambda: host.sheet.open_text("Place", clock_on, place, proposed=True),
                hot="e",
            )
        )
        lines.append(Line(clothing.text, turn=clothing.turn))
        host.sheet.open(f"Off the clock. Breaks are judged by: {settings.rule_set}", lines)
        return
    if ask_left_open(host):
        return
    try:
        rules.clock_off(bench.scene())
    except Asks as asks:
        # A film that is in play cannot wait; all else can be answered behind it.
        host.cart.ask(Asked(asks.rule_id, str(asks), "clock off"))
        return
    go_on_off(host)


def go_on_off(host: Host, over: Mapping[str, str] = rules.NO_REASONS) -> None:
    """Goes on clocking the first worker off, behind what could not wait.

    over: reasons given already.
    """
    cart = host.cart

    def write(rule: Callable[..., rules.Drafts], *facts: Any, **more: Any) -> None:
        if rule is rules.clock_off:
            more = {"over": over, **more}
        cart.write(rule, *facts, **more)

    offer_off(host, Ending(cart.bench.worker, write))


class Ending(Struct, frozen=True):
    """Whose shift is spoken of.

    Fields:
        worker: of whom.
        write: makes a press of theirs by a rule and its facts, and answers it.
    """

    worker: str
    write: Callable[..., object]


def offer_off(host: Host, of: Ending) -> None:
    """Reads back what is open about a shift, and clocks off."""
    if host.cart.bench.questions(of.worker):
        open_questions(host, of, then_off=True)
    else:
        _offer_off(host, of)


NOBODY_CLOCKED_OFF = "nobody clocked off"


def ask_left_open(host: Host) -> bool:
    """Asks about a shift that nobody clocked off, and says if there is one.

    It is over with its last press unless the worker says that it goes on.
    """
    bench = host.cart.bench
    shift, now_us = bench.shift(), bench.now_us
    last_us = None if shift is None else left_open_us(shift, now_us)
    if shift is None or last_us is None:
        return False
    zone = zone_of(bench)
    said = spoken(last_us, zone)

    def off() -> None:
        # Nobody can say any more who minds a film of that time.
        over = {"window_open": NOBODY_CLOCKED_OFF}
        ago_us = bench.now_us - last_us
        host.cart.told(bench.do_as(bench.worker, ago_us, rules.clock_off, over=over))
        host.say(f"Clocked off {said}.")

    host.sheet.open(
        f"Nobody clocked off. On the clock since {spoken(shift.on_us, zone)}, last press {said}.",
        [
            Line("that was the end: clock off then", off, hot="o"),
            Line("the shift goes on", lambda: host.say("Still on the clock.")),
        ],
    )
    return True


def clocking_on(cart: Cart, worker: str, place: str, clothing: str) -> ev.ClockedOn:
    """The event with what the settings say of the place and the log of the days before."""
    settings = cart.settings
    used = cart.shop.acclimatization(worker, cart.bench.now_us, settings.zone)
    latitude, longitude = settings.place or (None, None)
    return ev.ClockedOn(
        place=place,
        rule_set=settings.rule_set,
        zone=settings.zone,
        acclimatization=used.word,
        because=used.sentence if used.source else "",
        clothing=clothing,
        latitude=latitude,
        longitude=longitude,
    )


def clothing_choice(cart: Cart, shift: Shift | None) -> Choice:
    """What is worn: what was worn last, or what the settings say."""
    worn = cart.settings.clothing
    if shift is not None:
        worn = Surroundings(shift).clothing(cart.bench.now_us)
    return Choice("clothing", tuple(CLOTHING_C), worn)


def _offer_off(host: Host, of: Ending, asked: Iterable[Question] = ()) -> None:
    """Clocks off, and asks what only the end of the shift makes a question of.

    asked: what was put before, answered or not.
    """
    bench = host.cart.bench
    shift = bench.shift(of.worker)
    on_us = bench.now_us - shift.on_us if shift is not None else 0
    helper = "" if of.worker == bench.worker else of.worker

    told = told_of_next_day(host.cart, helper)

    def off() -> None:
        try:
            of.write(rules.clock_off, told=told)
        except Asks as asks:
            # Behind the pages before: what came into play meanwhile.
            host.cart.ask(Asked(asks.rule_id, str(asks), "clock off", worker=helper))
            return
        if _not_put(bench, of, asked):
            open_questions(host, of, asked=asked)

    if helper and not told:
        # Chosen by name already.
        off()
        return
    on_the_clock = f"On the clock for {hours_text(on_us / 1e6)}."
    if helper:
        on_the_clock = f"{helper}: {on_the_clock[:1].lower()}{on_the_clock[1:]}"
    if told:
        # Read first: what must not stand overnight is of no use to whoever has gone home.
        lines = [Line(sentence, folds=True) for sentence in told]
        host.sheet.open(
            f"{on_the_clock} Before you go:",
            lines,
            "up, down: read on   space: clock off   O: at once   esc: stay on",
            done=off,
            letters={"o": off},
            until_read="up, down: a line   space: read on   O: clock off   esc: stay on",
        )
        return
    host.sheet.open(
        on_the_clock,
        [
            Line("clock off", off, hot="o"),
            Line("stay on", lambda: host.say("")),
        ],
    )


def told_of_next_day(cart: Cart, helper: str = "") -> tuple[str, ...]:
    """What is to be said before a shift ends.

    helper: whose it is, "" for the first worker. Whoever leaves while the other stays on the clock
    is told what is theirs alone.
    """
    now = cart.workplace.moment
    mine, theirs = now.me.on, None if now.helper is None else now.helper.on
    shift, other = (theirs, mine) if helper else (mine, theirs)
    if shift is None:
        return ()
    stays = helper != "" and other is not None
    return be_here_by(now.jobs, shift, cart.workplace.stock, now.now_us, stays, now.ahead)


GAP_WORDS: tuple[GapAnswer, ...] = (
    "as it stood",
    "not known",
    "rest",
    "meal",
    "heat",
    "away",
    "off",
    *get_args(OtherKind),
)


def _ask_time(host: Host, far: str = "") -> None:
    """The clocks could not agree over a boot: the worker says what time it is.

    far: what was said before that lies far ahead; the same once more is what is meant.
    """
    bench, zone = host.cart.bench, host.cart.settings.zone

    def said(text: str) -> None:
        # The log is never later than now, so an earlier hour is one of tomorrow.
        at_us = time_ahead(text, bench.now_us, zone, rolls=True)
        if text != far and bench.is_far(at_us):
            _ask_time(host, text)
            return
        host.cart.told(bench.say_time(at_us))

    title = "Time not known. What time is it? HH:MM or YYYY-MM-DD HH:MM"
    if far:
        title = f"{read_in_full(far, bench.now_us, zone, rolls=True)} is far ahead. Is it so?"
    wall_us = bench.clock.read().wall_us
    # What the laptop says may well be right: enter takes it.
    wall = f"{local(wall_us, zone):%Y-%m-%d %H:%M}" if bench.is_far(wall_us) else ""
    host.sheet.open_text(title, said, far or wall, proposed=not far)


def time_lines(host: Host, rows: list[Row]) -> list[Line]:
    """Says that the time was wrong when a press was made, and with it all that hangs on it.

    rows: of the press, as written.
    """
    bench, zone = host.cart.bench, host.cart.settings.zone
    made = rows[0]

    def put(right_us: Instant, also: tuple[Press, ...] = ()) -> None:
        try:
            host.cart.told(bench.correct_time(made.press, right_us, zone, also))
        except Refused as why:
            more = why.standing
            if not more:
                raise
            leave = Line("leave it", lambda: host.say("Left as it was."))
            with_it = Line(f"strike {len(more)} with it", lambda: put(right_us, more))
            host.sheet.open(str(why), [leave, with_it])

    def ask(far: str = "") -> None:
        """far: what was said before that lies far ahead; the same once more is what is meant."""

        def said(text: str) -> None:
            right_us = time_then(text, made.entered_us, zone)
            if text != far and bench.is_far(bench.now_us + right_us - made.entered_us):
                ask(text)
                return
            put(right_us)

        shown = far or f"{local(made.entered_us, zone):%Y-%m-%d %H:%M}"
        title = "When was this really pressed? All since that start of the laptop goes with it"
        if far:
            title = f"{spoken(time_then(far, made.entered_us, zone), zone)} is far ahead. Is it so?"
        host.sheet.open_text(title, said, shown, proposed=not far)

    if made.press.origin != bench.log.origin or isinstance(made.event, ev.TimeCorrected):
        return []
    return [Line("the time was wrong from here on", ask)]


def _not_put(bench: Bench, of: Ending, asked: Iterable[Question]) -> list[Question]:
    """The open questions about other stretches than those put before."""
    return _but(bench.questions(of.worker), asked)


def _but(questions: Iterable[Question], asked: Iterable[Question]) -> list[Question]:
    """Those about other stretches than these."""
    before = {(question.from_us, question.to_us) for question in asked}
    return [one for one in questions if (one.from_us, one.to_us) not in before]


def open_questions(
    host: Host,
    of: Ending | None = None,
    then_off: bool = False,
    asked: Iterable[Question] = (),
) -> None:
    """The open questions one after the other, the longest first, behind them those about earlier
    shifts, which are put by G alone, and promises; each may be left open.

    of: whose shift is asked about; None: the first worker's.
    then_off: True to offer clocking off behind the last of them.
    asked: what was put before and is not put again.
    """
    bench = host.cart.bench
    if bench.time_unsure:
        _ask_time(host)
        return
    of = of or Ending(bench.worker, host.cart.write)
    helped = of.worker != bench.worker
    put_already = list(asked)
    put_promises: list[PromiseAsked] = []
    parts: list[Question] = []
    # Questions about earlier shifts, and of which each is.
    of_shift: dict[Question, str] = {}
    hint = ""
    if then_off:
        hint = "up, down: choose   space: take it   I: clock off, all later   esc: stay on"

    def following() -> None:
        if parts:
            put(parts.pop(0))
            return
        left = _not_put(bench, of, put_already)
        if not left and not then_off and not helped:
            of_shift.update({one.question: one.shift for one in bench.put_off()})
            left = _but(of_shift, put_already)
        host.paint()
        if left:
            put_already.append(left[0])
            put(left[0])
        elif then_off:
            _offer_off(host, of, put_already)
        elif helped or not ask_promise(host, put_promises, following):
            still = count_open(host.cart.workplace)
            open_yet = f"{still} question{'' if still == 1 else 's'} left open."
            host.say(open_yet if still else "No more questions about today.")

    def put(question: Question) -> None:
        length = clock_text((question.to_us - question.from_us) / 1e6)
        title = f"{of.worker}, " if helped else ""
        began = spoken_clock(bench, question.from_us)
        if question in of_shift:
            began = spoken_near(question.from_us, bench.now_us, zone_of(bench))
        title += f"{began}-{spoken_clock(bench, question.to_us)} ({length}), {question.was}: "
        more = [
            Line("first one thing, then another", lambda: part(question)),
            Line("answer later", following),
        ]
        if then_off:
            more.insert(1, Line("answer all later, clock off", all_later, hot="i"))
        if question.kind == "break":
            title += "does it count as work?"
            words = [("yes, it counts", True), ("no, I was free of all work", False)]
            if question.guess == "does not count":
                words.reverse()
            lines = [Line(said, judge(question, counted)) for said, counted in words]
        else:
            title += "what was it?"
            first = question.guess
            ordered = [first, *(word for word in GAP_WORDS if word != first)]
            lines = [Line(str(word), tell(question, word)) for word in ordered]
        host.sheet.open(title, [*lines, *more], hint, closed=leave)

    def part(question: Question) -> None:
        def at(text: str) -> None:
            parts[:0] = choices.one_then_another(question, text, zone_of(bench))
            if question in of_shift:
                of_shift.update(dict.fromkeys(parts[:2], of_shift[question]))
            put_already.extend(parts)
            following()

        ends = [spoken_clock(bench, at_us) for at_us in (question.from_us, question.to_us)]
        host.sheet.open_text(
            f"{'-'.join(ends)}: when did the second begin? HH:MM", at, closed=leave
        )

    def all_later() -> None:
        put_already.extend(_not_put(bench, of, put_already))
        _offer_off(host, of, put_already)

    def leave() -> None:
        again = "I" if helped else "G"
        on = f"{of.worker} is" if helped else "You are"
        still = f" {on} still on the clock." if then_off else ""
        host.say(f"The questions stay; {again} asks them again.{still}")
        host.paint()

    def answer(question: Question, rule: Callable[..., rules.Drafts], *facts: Any) -> None:
        shift = of_shift.get(question, "")
        if shift:
            host.cart.told(bench.answer(shift, rule, *facts))
        else:
            of.write(rule, *facts)

    # A refused answer ends the asking, so that the sentence that says why is read.
    def judge(question: Question, counted: bool) -> Callable[[], None]:
        def write() -> None:
            answer(question, rules.judge_break, question.from_us, counted)
            following()

        return write

    def tell(question: Question, was: Any) -> Callable[[], None]:
        def write() -> None:
            answer(question, rules.judge_gap, question.from_us, question.to_us, was)
            following()

        return write

    if not helped:
        known = bench.questions() or bench.put_off() or host.cart.workplace.moment.promises
        choices.some(known, choices.NO_QUESTION)
    following()
