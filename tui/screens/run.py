"""Run: what is in hand, which window hurts first, and what SPACE takes up next."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import ClassVar

import msgspec
from msgspec.structs import replace
from textual.app import ComposeResult

from cartclock.engine.after.dates import untouched_text
from cartclock.engine.desk.bench import Pressed
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.words import said_in
from cartclock.engine.films.flashing import seen_text
from cartclock.engine.hours.account import readings
from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import Glance
from cartclock.engine.now.moment import Moment
from cartclock.engine.rules import changes, choices, rules, typed
from cartclock.engine.rules.reasons import reasons_for
from cartclock.engine.rules.rest_in_wave import REST_QUESTIONS
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused, StoreFault
from cartclock.tui.face.run_picture import Told, run_picture
from cartclock.tui.face.signal import Signal
from cartclock.tui.lists import (
    before_coat,
    body,
    breaks,
    clock,
    first,
    fresh,
    gate,
    leaving,
    looks,
    mixing,
    note,
    other,
    products,
    reading,
    sections,
    take_back,
    vehicle,
    wet,
)
from cartclock.tui.lists.keys_taken import ask_when_closed
from cartclock.tui.lists.minutes import ask_minutes
from cartclock.tui.lists.titles import titled
from cartclock.tui.screens import helper
from cartclock.tui.screens.cart import CartScreen
from cartclock.tui.told import helper as second
from cartclock.tui.told.asked import Asked, asked_again
from cartclock.tui.told.in_view import watched
from cartclock.tui.told.sight import Sight
from cartclock.tui.widgets.painted import Painted
from cartclock.tui.widgets.sheet import Line, Sheet

# Over the line of free words.
WHY = "Why all the same? It goes into the record"
ASKED_HINT = "up, down: choose   space: take it   C: caller, this stays   esc: no"

# At the first clocking on.
TRIED = "Where something is due the screen turns round, as now."


class RunScreen(CartScreen):
    """The screen of the day."""

    called: ClassVar[str] = "run"
    advancing: ClassVar[frozenset[str]] = frozenset({"take_up", "take_back", "seen", "helper"})
    _turned = False

    def __init__(self) -> None:
        super().__init__()
        self._answered = ""
        self._signal = Signal()
        self._tried = False
        # Whose keys are asked about once it is closed; "" for nobody's.
        self._keys_of = ""
        # What the newest picture tells; None before there was one.
        self.told: Told | None = None

    def compose(self) -> ComposeResult:
        """One picture, and the list that opens below it."""
        yield Painted()
        yield Sheet()

    @property
    def sight(self) -> Sight:
        """What there is to tell."""
        return self.cart.sight

    @property
    def answered(self) -> str:
        """What the line that answers says."""
        return self._answered

    @answered.setter
    def answered(self, sentence: str) -> None:
        self._answered = sentence
        if self.told is not None:
            self._show(replace(self.told, answer=sentence, answer_turn=0))

    @property
    def next_line(self) -> str:
        """What the line of the large key says."""
        told = self.told
        return "" if told is None else f"{told.key}  {told.move}"

    def on_mount(self) -> None:
        """Shows the question that was open when the program ended, if there is one, and asks about
        a shift that nobody clocked off.
        """
        self._said_us = self.cart.workplace.moment.now_us
        self._answered = self.cart.workplace.woken
        self.paint()
        self._ask_what_stands()
        if not self.sheet.is_open:
            clock.ask_left_open(self)

    def on_screen_resume(self) -> None:
        """A question that another screen was opened over stands again."""
        self._stand_again()
        self._ask_what_stands()

    def _stand_again(self) -> None:
        """Nor is a question left that a key of another screen opened a list over."""
        super()._stand_again()
        if self.sight.asked is not None and self.app.screen is self:
            self._ask_what_stands()

    def _ask_what_stands(self) -> None:
        log = self.cart.bench.log
        asked = log.asked()
        if asked is None or self.sheet.is_open:
            return
        again = asked_again(asked)
        if again is None:
            # What it was about stands in the log.
            log.ask(None)
            return
        self._ask_again(again)

    @property
    def chosen(self) -> Move | None:
        """The move that SPACE takes up."""
        return self.cart.workplace.chosen

    def look(self) -> Glance:
        """The glance at this moment."""
        seen = self.sight.look(self.cart.with_laptop)
        self.cart.entitle(seen.faces)
        return seen

    def paint(self) -> None:
        """Shows what fits."""
        seen = self.look()
        told = self.sight.tell(
            seen, self._why_not(), self._answered, Instant(self._said_us), self.sheet.is_open
        )
        self._turned = self._is_turned(self.cart.workplace.moment, seen.faces[0])
        self._show(told)
        super().paint()

    def _show(self, told: Told) -> None:
        self.told = told
        self.part("Painted", Painted).show(partial(run_picture, told), self._turned)

    def _is_turned(self, now: Moment, face: Face) -> bool:
        """Whether the picture is turned round, as the signal that is seen."""
        turned = self._signal.turned(face, now.now_us)
        shift = now.me.on
        if shift is not None and not self._tried:
            self._tried = True
            rows = self.cart.bench.rows
            first = sum(row.kind == "ClockedOn" for row in rows) == 1
            if first and now.now_us - shift.on_us < SECOND_US and self.cart.signals:
                # It is tried once, so that whoever sees it first knows it.
                self._signal.show(now.now_us)
                self.say(f"{self._answered} {TRIED}".strip())
        return turned and self.cart.signals

    def paint_keys(self) -> None:
        """The picture has the keys of the occasion; a list says its own."""

    def reasons(self) -> dict[str, str]:
        """Why a key cannot work now."""
        return self.sight.reasons()

    # The large keys.

    def press_take_up(self) -> None:
        """Takes up the chosen move."""
        shift = self.cart.bench.shift()
        if shift is None or not shift.on_clock:
            clock.open_clock(self)
            return
        line = self.sight.line
        self.sight.line = None if line is None else line.told()
        choices.not_news(line, self.cart.workplace.moment.now_us)
        # What the line named when it was last painted: time may have made another move the best.
        move = choices.some(None if line is None else line.move, choices.NO_MOVE)
        ago_us = int(self.sight.ago or 0) * MINUTE_US
        self.sight.ago = ""
        # What was picked with up and down was meant.
        if move.act == "close" and self.cart.workplace.picked is None:
            self._ask_close(move, ago_us)
        else:
            self.take_up(move, {}, ago_us)

    def press_helper(self) -> None:
        """The helper takes up what the helper's line named."""
        line = self.sight.second
        self.sight.second = None if line is None else line.told()
        choices.not_news(line, self.cart.workplace.moment.now_us)
        ago_us, self.sight.ago = int(self.sight.ago or 0) * MINUTE_US, ""
        if line is not None and line.move is not None:
            self.take_up(line.move, {}, ago_us, self.cart.workplace.helper)

    def take_up(self, move: Move, over: dict[str, str], ago_us: int = 0, worker: str = "") -> None:
        """Takes up a move, for the first worker if no other is named; a question opens a list."""
        bench = self.cart.bench
        if move.act == "look":
            # Looking ends what is in hand; what was seen is a press of its own.
            shift = bench.shift(worker or bench.worker)
            if shift is not None and shift.state in ("hands", "break", "other"):
                self._end_by(move, ago_us, worker)
            looks.open_look(self, move, self._pressing(worker))
            return
        if move.act == "change":
            # As with looking: what was worn is laid aside with nothing in hand.
            shift = bench.shift(worker or bench.worker)
            if shift is not None and shift.state in ("hands", "break", "other"):
                self._end_by(move, ago_us, worker)
            go_on = partial(self.take_up, worker=worker)
            fresh.open_change(self, move, worker, self._pressing(worker), go_on)
            return
        watch = second.body(self.cart.workplace) if worker else self.cart.workplace.body()
        # What was taken up before the rest was called overrules nothing.
        called = False
        if watch is not None and watch.rest_next and not ago_us:
            # A rest before the next piece ends what is in hand; one that is due now breaks it off.
            called = watch.rest_now or move.act != "rest"
            helper.tell_rest(self.cart, watch, worker or bench.worker)
        try:
            told = bench.do_as(
                worker or bench.worker,
                ago_us,
                rules.take_up,
                move,
                over,
                rest_called=called,
                pace=None if watch is None or ago_us else watch.pace,
                before_coat=self.cart.settings.reminders.before_coat and not ago_us,
            )
            self._tell(told, worker)
        except Asks as asks:
            at_us = bench.now_us - ago_us if ago_us else 0
            asked = Asked(
                asks.rule_id, str(asks), "take up", move=move, at_us=Instant(at_us), worker=worker
            )
            # A press may raise two questions; the reason for the first stands with the second.
            self.ask(msgspec.structs.replace(asked, over=over))

    def _pressing(self, worker: str) -> looks.Write:
        """What makes the presses of a worker, "" for the first, and says what was written."""

        def write(rule: Callable[..., rules.Drafts], *args: object) -> None:
            bench = self.cart.bench
            self._tell(bench.do_as(worker or bench.worker, 0, rule, *args), worker)

        return write

    def _ask_close(self, move: Move, ago_us: int) -> None:
        """The question behind the last stage: handing over is no step of the work."""
        job = self.cart.workplace.moment.jobs[move.job]
        vehicle, said = job.opened.vehicle, "hand over and close"
        # In the cold a cure goes by the readings of every day of the job.
        bench = self.cart.bench
        taken = readings(bench.shifts[one] for one in job.shifts if one in bench.shifts)
        untouched = untouched_text(job, taken, bench.now_us, self.cart.settings.temperature)
        lines = [
            Line(
                f"{said}; {untouched}" if untouched else said,
                partial(self._hand_over, move, ago_us),
                folds=True,
            ),
            Line("not yet", lambda: self.say("")),
            Line(
                "hand over, and say who took the keys", partial(self._close, move, ago_us), hot="k"
            ),
        ]
        self.sheet.open(titled(self, vehicle, "hand it over and close the job?"), lines)

    def _hand_over(self, move: Move, ago_us: int) -> None:
        """Closes the job, and offers what it taught."""
        self.take_up(move, {}, ago_us)
        ask_minutes(self, move.job)

    def _close(self, move: Move, ago_us: int) -> None:
        """Closes the job, and asks who took the keys as soon as it is closed."""
        self._keys_of = move.job
        try:
            self.take_up(move, {}, ago_us)
        except (Refused, StoreFault):
            self._keys_of = ""
            raise
        self._keys_of = ask_when_closed(self, move.job)

    def _end_by(self, move: Move, ago_us: int, worker: str) -> None:
        """Ends what is in hand by a move that takes nothing up."""
        bench = self.cart.bench
        told = bench.do_as(worker or bench.worker, ago_us, rules.take_up, move, {})
        self._tell(told, worker)

    def _tell(self, told: Pressed, worker: str) -> None:
        """Says what was written; worker: the helper, "" for the first worker."""
        if worker:
            helper.tell(self.cart, told)
        else:
            self.cart.told(told)

    def press_minutes(self, key: str) -> None:
        """Digits before SPACE: minutes ago."""
        digits = next(k for k in self.cart.workplace.keymap if k.id == "minutes").keys
        self.sight.ago = (self.sight.ago + str(digits.index(key)))[-3:].lstrip("0")
        self.say(
            f"SPACE now means {self.sight.ago} min ago; esc forgets it." if self.sight.ago else ""
        )

    def press_back(self) -> None:
        """Forgets typed minutes and the chosen move."""
        self.sight.ago, self.cart.workplace.picked = "", None
        self.say("")

    def press_take_back(self) -> None:
        """Takes back the newest press; what stands in the way is offered."""
        try:
            told = self.cart.bench.undo()
        except Refused as why:
            if why.standing:
                take_back.offer_cascade(self, why)
                return
            raise
        self.cart.told(told)
        self.say(take_back.taken_back(self.cart.bench, told, self.cart.settings.temperature))

    def press_up(self) -> None:
        """The move above."""
        self.cart.workplace.pick(-1)

    def press_down(self) -> None:
        """The move below."""
        self.cart.workplace.pick(1)

    def press_put_down(self) -> None:
        """Puts down what is in hand."""
        self.cart.write(rules.put_down)

    def press_seen(self) -> None:
        """The film of the first open window not seen yet was seen ready."""
        bench = self.cart.bench
        open_now = watched(self.cart.workplace.moment)
        job, window = next(one for one in open_now if one[1].seen_us is None)
        said = seen_text(
            job, window.stage, window.section, bench.shift(), bench.now_us, bench.own()
        )
        self.cart.write(rules.see, job.id, window.stage, window.section)
        if said:
            self.say(f"{window.section}: {said}")

    # Lists.

    def press_break(self) -> None:
        """Breaks."""
        breaks.open_breaks(self)

    def press_other_work(self) -> None:
        """Other work."""
        other.open_other(self)

    def press_reading(self) -> None:
        """A reading."""
        reading.open_reading(self)

    def press_drink(self) -> None:
        """A drink."""
        body.open_drinks(self)

    def press_unwell(self) -> None:
        """Signs of being unwell."""
        body.open_signs(self)

    def press_well(self) -> None:
        """Says that one is well."""
        body.open_well(self)

    def press_caller(self) -> None:
        """What to tell a caller."""
        self.cart.show("caller")

    def press_note(self) -> None:
        """A note."""
        note.open_note(self)

    def press_amount(self) -> None:
        """What was used."""
        products.open_amounts(self)

    def press_vehicle(self) -> None:
        """The vehicle as it came, and its paint."""
        vehicle.open_vehicle(self)

    def press_mix(self) -> None:
        """What is to be mixed."""
        mixing.open_mix(self)

    def press_leave_out(self) -> None:
        """Leaves out what is in hand or chosen."""
        sections.open_skip(self, self.chosen)

    def press_do_again(self) -> None:
        """Opens a finished section again."""
        sections.open_redo(self, self.chosen)

    def press_cut_in_two(self) -> None:
        """Cuts what is left in two."""
        sections.open_split(self, self.chosen)

    def press_add(self) -> None:
        """Adds a section, a stage, or somebody who helps."""
        sections.open_add(self, self.chosen, helper.guest_lines(self))

    def press_look(self) -> None:
        """The checks that are due."""
        looks.open_looks(self, self._pressing)

    def press_water(self) -> None:
        """What water got on."""
        wet.open_water(self)

    def press_clock(self) -> None:
        """Clocks on or off; with a helper the list asks who."""
        if self.cart.workplace.helper:
            helper.open_who(self)
        else:
            clock.open_clock(self)

    def press_answer(self) -> None:
        """The questions about today."""
        clock.open_questions(self)

    # Questions.

    def ask(self, asked: Asked) -> None:
        """Puts a question and keeps it, so that a restart asks it again."""
        asked = replace(asked, keys=self._keys_of != "")
        self.cart.bench.log.ask(msgspec.json.encode(asked).decode())
        self._ask_again(asked)

    def _settled(self) -> None:
        self.sight.asked = None
        self.cart.bench.log.ask(None)

    def _ask_again(self, asked: Asked) -> None:
        if self.sight.asked is None:
            self.sight.asked_us = self.cart.workplace.moment.now_us
        self.sight.asked = asked
        if asked.keys and asked.move is not None:
            self._keys_of = asked.move.job

        def leave() -> None:
            self._settled()
            self._keys_of = ""
            if asked.rule_id in REST_QUESTIONS and not asked.worker:
                # What was picked past the rest is not gone on with: SPACE names the best again.
                self.cart.workplace.picked = None
            self.say("Left as it was.")

        def go_on(over: dict[str, str]) -> None:
            self._settled()
            try:
                self._again(asked, over)
                self._keys_of = ask_when_closed(self, self._keys_of)
                job = asked.job if asked.move is None else asked.move.job
                if job and not asked.keys:
                    ask_minutes(self, job)
            except (Refused, StoreFault) as why:
                self.say(str(why))
            self.paint()

        def take(reason: str) -> None:
            go_on({**asked.over, asked.rule_id: reason})

        def in_words(text: str) -> None:
            if text:
                take(typed.note(text))
            else:
                self._ask_again(asked)

        def own_words() -> None:
            # The question stands until the words are there.
            self.sheet.open_text(WHY, in_words, closed=partial(self._ask_again, asked))

        if before_coat.is_page(asked):
            again = partial(go_on, asked.over)
            stand = partial(self._ask_again, asked)
            before_coat.open_page(self, asked, leave, again, stand)
            self.paint()
            return
        lines = [Line("no, leave it as it is", leave)]
        if asked.press != "fill in":
            # A reading taken first says nothing of what is laid.
            lines += gate.instead_lines(self, asked.rule_id, leave)
        lines += looks.instead_lines(self, asked, leave, self._pressing)
        lines += leaving.instead_lines(self, asked, leave, partial(self._tell, worker=asked.worker))
        taken = partial(self.take_up, over={}, worker=asked.worker)
        lines += first.instead_lines(self, asked, leave, taken)
        lines += [Line(f"yes: {said}", partial(take, said)) for said in reasons_for(asked.rule_id)]
        lines.append(Line("yes, in my own words ...", own_words))
        letters = {"c": self.press_caller}
        asks = said_in(asked.sentence, self.cart.settings.temperature)
        self.sheet.open(asks, lines, ASKED_HINT, closed=leave, letters=letters)
        self.paint()

    def _again(self, asked: Asked, over: dict[str, str]) -> None:
        if asked.press == "take up" and asked.move is not None:
            ago_us = self.cart.bench.now_us - asked.at_us if asked.at_us else 0
            self.take_up(asked.move, over, ago_us, asked.worker)
            return
        if asked.press in ("break", "other work"):
            leaving.leave_for(self.cart, asked, over, partial(self._tell, worker=asked.worker))
            return
        try:
            if asked.press == "clock off" and asked.worker:
                told = clock.told_of_next_day(self.cart, asked.worker)
                helper.tell(
                    self.cart,
                    self.cart.bench.do_as(asked.worker, 0, rules.clock_off, over, told=told),
                )
            elif asked.press == "clock off":
                clock.go_on_off(self, over)
            elif asked.press == "fill in" and asked.move is not None:
                of = asked.move
                self.cart.write(
                    changes.fill_in,
                    of.job,
                    of.stage,
                    of.sections,
                    asked.at_us,
                    asked.until_us,
                    over,
                )
            else:
                self.cart.write(rules.close_job, asked.job, over)
        except Asks as asks:
            again = msgspec.structs.replace(
                asked, rule_id=asks.rule_id, sentence=str(asks), over=over
            )
            self.ask(again)
