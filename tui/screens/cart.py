"""What every screen of the cart does alike: keys by id, lists, one line that answers.

A key is looked up in the registry for the screen it was pressed on and given to the method
`press_ID`. What cannot be done now answers with a sentence; it never does nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import ClassVar, TypeVar, cast

from msgspec import Struct
from textual import events, on
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Input

from cartclock.engine.facts.in_play import film_in_play
from cartclock.engine.facts.shift import Doing
from cartclock.engine.now.moment import Moment
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused, StoreFault
from cartclock.tui.keys import MINUTES, meaning, on_screen
from cartclock.tui.screens.program import Program
from cartclock.tui.told.run import SAID_US
from cartclock.tui.widgets.keyrow import KeyItem, KeyRow
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.sheet import Do, Line, Sheet

W = TypeVar("W", bound=Widget)
# Columns and rows under which a screen says less; our own judgement.
NARROW = 60
LOW = 16
TINY = 8
# Keys that a page to be read holds: what they step through comes behind it.
HELD = frozenset({"take_up", "take_back", "helper", "choose", "mark", MINUTES})
# Lines for the keys, from so many rows of the screen on; our own judgement.
KEY_LINES = ((36, 4), (24, 3), (0, 2))


class _Behind(Struct, frozen=True):
    """A page to be read over which a key was pressed.

    Fields:
        again, closed: what opens it once more, and what leaves it.
        at: what the worker did then, and since when; None off the clock.
        answered: what the line that answers said.
    """

    again: Do
    closed: Do
    at: tuple[Doing | None, Instant] | None
    answered: str


class CartScreen(Screen[None]):
    """A screen of the cart.

    Class fields:
        called: its name in the key registry.
    """

    called: ClassVar[str] = ""
    # The keys belong to the screen; only an open line of text takes the focus.
    AUTO_FOCUS = ""
    BINDINGS: ClassVar = []
    _said_us = 0
    _painted_for = (0, 0)
    # The theme in which its parts were styled.
    _styled_for = ""
    # The moment of which a key was last asked why it cannot work, and the answer: a press waits for
    # no reckoning of what the screen says already.
    _reasons: tuple[Moment, Mapping[str, str]] | None = None
    # Why keys cannot work, and the keys as they are shown by that.
    _keys: tuple[Mapping[str, str], list[KeyItem]] | None = None
    _behind: _Behind | None = None

    def __init__(self) -> None:
        super().__init__()
        self._known: dict[tuple[str, type[Widget]], Widget] = {}

    @property
    def cart(self) -> Program:
        """The app, as its screens see it."""
        return cast(Program, self.app)

    def part(self, which: str, of: type[W]) -> W:
        """The part of the screen that a selector names; looked for once, because the screen is
        walked through for each.
        """
        known = self._known.get((which, of))
        if known is None or not known.is_attached:
            known = self._known[which, of] = self.query_one(which, of)
        return cast(W, known)

    @property
    def sheet(self) -> Sheet:
        """The screen's list."""
        return self.part("Sheet", Sheet)

    @property
    def columns(self) -> int:
        """Cells across the screen."""
        return self.app.size.width

    def _answer(self, do: Callable[[], object]) -> None:
        """Does what a key asks for, and shows what came of it, or why it cannot be."""
        before, refused = self.cart.workplace.moment, ""
        picked, at, seq = self.cart.workplace.picked, self._at(), self.cart.bench.log.head.seq
        try:
            do()
        except (Refused, Asks, StoreFault) as why:
            refused = str(why)
        if (
            self.cart.workplace.picked is None
            and self.cart.bench.log.head.seq != seq
            and self._at() == at
        ):
            # What was only written down leaves the move that was picked, and with it the vehicle.
            self.cart.workplace.picked = picked
        if self.cart.workplace.moment is before:
            # What wrote nothing took time all the same.
            self.cart.workplace.look_again()
        self._reasons = None
        if refused and self.sheet.says != refused:
            # The press may have gone to another screen before it was refused.
            self.cart.say(refused)
        self._stand_again()
        self.paint()

    def _stand_again(self) -> None:
        """The page over which a key was pressed is read on, unless the worker is at something else
        by that key.
        """
        if self._behind is None or self.sheet.is_open or self.app.screen is not self:
            return
        behind, self._behind = self._behind, None
        said = "" if self.answered == behind.answered else self.answered
        (behind.again if self._at() == behind.at else behind.closed)()
        if said:
            # On a low screen the page takes the room of the line that answers.
            self.answered = said
            if self.sheet.is_open:
                self.sheet.say(said)
        self.paint()

    def _at(self) -> tuple[Doing | None, Instant] | None:
        """What the worker does, and since when; None off the clock."""
        shift = self.cart.bench.shift()
        return None if shift is None or not shift.on_clock else (shift.doing, shift.since_us)

    def say(self, sentence: str) -> None:
        """Answers in the notice line, as soon as there is one."""
        if not self.is_mounted:
            # The key behind the one that called this screen came before its parts were made.
            self.call_later(self.say, sentence)
            return
        self._said_us = self.cart.workplace.moment.now_us
        self.answered = sentence

    def hush(self) -> None:
        """Takes the answer out of the notice line: another screen was in front since."""
        if self.is_mounted:
            self.answered = ""

    @property
    def answered(self) -> str:
        """What the line that answers says."""
        return self.part("#notice", Plain).text

    @answered.setter
    def answered(self, sentence: str) -> None:
        self.part("#notice", Plain).show(sentence)

    @property
    def said_long_ago(self) -> bool:
        """True if the answer in the notice line has been read or was never given."""
        return self.cart.workplace.moment.now_us - self._said_us > SAID_US

    def paint(self) -> None:
        """Shows what is so now; called at every tick and after every press."""
        self.cart.ring()
        if self._painted_for not in ((0, 0), self.app.size):
            # The library keeps how it divided an earlier screen of this size; what the parts say
            # has changed since.
            for part in self.walk_children():
                part.refresh(repaint=False, layout=True)
        self._painted_for = self.app.size
        self.set_class(self.app.size.height < TINY, "tiny")
        self.paint_keys()

    def on_resize(self) -> None:
        """Another size has room for other things; a second is long to look at the wrong ones."""
        if self.is_mounted and self.is_current and self._painted_for != self.app.size:
            self.paint()

    @on(events.ScreenResume)
    def _keep_styles(self, event: events.ScreenResume) -> None:
        """Nothing that a style goes by but the theme changes while another screen is in front:
        the library need not style every part anew.
        """
        event.refresh_styles = self._styled_for not in ("", self.app.theme)
        self._styled_for = self.app.theme
        self._stand_again()

    def _compositor_refresh(self) -> None:
        """Draws, but not within a batch: the library throws that picture away."""
        if not self.app._batch_count:
            super()._compositor_refresh()

    def paint_keys(self) -> None:
        """Shows the keys of this screen, those that cannot work now greyed; with a list open
        those of the list, because no other is taken.
        """
        row, sheet = self.part("KeyRow", KeyRow), self.sheet
        sheet.keyed = row.display
        if sheet.is_open:
            row.show(sheet.keys, 2)
            return
        reasons = self._why_not()
        if self._keys is None or self._keys[0] != reasons:
            items = [
                KeyItem.of(key, reasons.get(key.id, ""))
                for key in on_screen(self.cart.workplace.keymap, self.called)
                if key.label
                # The key of the screen that one is on leads nowhere.
                and key.id != self.called
                and (hasattr(self, f"press_{key.id}") or key.id in reasons or key.id == MINUTES)
            ]
            self._keys = (reasons, items)
        height = self.app.size.height
        lines = next(lines for rows, lines in KEY_LINES if height >= rows)
        row.show(self._keys[1], lines)

    def _why_not(self) -> Mapping[str, str]:
        """The reasons at this moment: a key does what the screen says of it."""
        now = self.cart.workplace.moment
        if self._reasons is None or self._reasons[0] is not now:
            self._reasons = (now, self.reasons())
        return self._reasons[1]

    def reasons(self) -> dict[str, str]:
        """Key id -> why it cannot work now; ids not named can."""
        return {}

    def on_key(self, event: events.Key) -> None:
        """Looks the key up and presses it."""
        sheet = self.sheet
        key_id = meaning(self.cart.workplace.keymap, self.called, event.key)
        beside = sheet.again is not None and key_id is not None and key_id not in HELD
        if beside and not sheet.uses(event.key, event.character):
            event.stop()
            event.prevent_default()
            self.press(key_id or "", event.key)
            return
        if sheet.is_open:
            # A letter of a line of text is not a press of a key.
            fresh = not sheet.is_text and self.cart.counts(event.key)
            do = sheet.take(event.key, event.character, fresh)
            if do is not None:
                event.stop()
                event.prevent_default()
                self._answer(do)
            return
        event.stop()
        event.prevent_default()
        if key_id is None:
            self.say("That key has no meaning here; ? shows the keys.")
            return
        if key_id == MINUTES:
            self.press_minutes(event.key)
            self.paint()
            return
        self.press(key_id, event.key)

    def on_click(self, event: events.Click) -> None:
        """A click chooses the line under it; one on the chosen line presses it, as SPACE does."""
        event.stop()
        sheet = self.sheet
        if not sheet.is_open:
            self.point(event.screen_y)
        elif sheet.point(event.screen_y):
            do = sheet.take("space", " ", self.cart.counts("click"))
            if do is not None:
                self._answer(do)

    def point(self, y: int) -> None:
        """A click in row `y` of the screen, with no list over it; screens of lines say more."""

    def press(self, key_id: str, key: str = "") -> None:
        """Does what a key of this screen does, or says why it cannot be.

        key: the one that was pressed; "" where it was chosen on Help.
        """
        if not self.is_mounted:
            # Help may call a screen and press its key before its parts are made.
            self.call_later(self.press, key_id, key)
            return
        again = self.sheet.again
        if self.sheet.is_open and (again is None or key_id in HELD):
            # A question that stood here comes first.
            return
        say = self.say if again is None else self.sheet.say
        press: Callable[[], None] | None = getattr(self, f"press_{key_id}", None)
        if press is None:
            say("That key has no meaning here; ? shows the keys.")
            return
        reason = self._why_not().get(key_id, "")
        if reason:
            say(reason)
            return
        fresh = not key or self.cart.counts(key)
        if key_id in self.advancing and not fresh:
            return
        if again is not None:
            self._behind = _Behind(again, self.sheet.closed, self._at(), self.answered)
            self.sheet.close()
        self._answer(press)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter on the line of text of the list."""
        if self.sheet.is_text and self.cart.counts("enter"):
            self._answer(self.sheet.entered(event.value))
        else:
            self.paint()

    # Keys that take a step in the work: a key that is held down or bounces counts once.
    advancing: ClassVar[frozenset[str]] = frozenset()

    def press_minutes(self, key: str) -> None:
        """A digit; screens that take a time say otherwise."""
        self.say("Digits mean minutes ago, before SPACE on the Run screen.")

    def press_back(self) -> None:
        """Back to the screen this one was called from."""
        self.cart.back()

    def press_quit(self) -> None:
        """Leaves the program; asks first while a film runs or somebody is on the clock."""
        now = self.cart.workplace.moment
        if now.me.on is None and not film_in_play(now.jobs.values(), now.now_us):
            self.cart.exit()
            return
        title = "Leave the program? The log is on disk, time and films run on, and nothing rings."
        lines = [Line("stay", self.paint), Line("leave", self.cart.exit, hot="q")]
        self.sheet.open(title, lines)
        self.paint()

    def press_today(self) -> None:
        """To Today."""
        self.cart.show("today")

    def press_run(self) -> None:
        """To Run."""
        self.cart.show("run")

    def press_plan(self) -> None:
        """To Plan."""
        self.cart.show("plan")

    def press_log(self) -> None:
        """To Log."""
        self.cart.show("log")

    def press_record(self) -> None:
        """To the record of the job in view."""
        self.cart.record_of = ""
        self.cart.show("record")

    def press_products(self) -> None:
        """To Products."""
        self.cart.show("products")

    def press_theme(self) -> None:
        """From the dark ground to the light one, and back."""
        self.cart.turn_theme()

    def press_history(self) -> None:
        """To History."""
        self.cart.show("history")

    def press_tomorrow(self) -> None:
        """To Tomorrow."""
        self.cart.show("tomorrow")

    def press_estimate(self) -> None:
        """To Estimate."""
        self.cart.show("estimate")

    def press_charts(self) -> None:
        """To Charts."""
        self.cart.show("charts")

    def press_outlook(self) -> None:
        """To Outlook."""
        self.cart.show("outlook")

    def press_help(self) -> None:
        """To Help."""
        self.cart.show("help")
