"""A list that opens over the lower half of a screen; the clocks above it run on.

Every list of the program is one of these: lines to pick, lines whose value is turned or
typed, or one line of text. Nothing is written before a line is picked; esc writes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace
from textual.containers import Vertical
from textual.geometry import Size
from textual.reactive import Reactive
from textual.widgets import Input

from cartclock.engine.letters import inert, wrapped
from cartclock.engine.trouble import Refused
from cartclock.tui.widgets.entry import Entry
from cartclock.tui.widgets.hint import hint_parts, hint_rows
from cartclock.tui.widgets.keyrow import KeyItem
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.rows import Rows

PICK = frozenset({"space", "enter", "pagedown"})
BACK = frozenset({"escape", "backspace"})
# What a pick does, outside the list.
Do = Callable[[], object]
NO_LETTERS: Mapping[str, Do] = {}
TYPED = {"full_stop": ".", "comma": ".", "minus": "-"}
UNKNOWN = "No such key here; esc leaves the list."
# Frame, mark and letter of a line.
_MARGIN = 8
# So many lines stand before keys get more rows than two; our own judgement.
LINES_FIRST = 4


class Line(Struct, frozen=True):
    """One line of a sheet.

    Fields:
        text: what it says; a callable is asked at every repaint.
        pick: what happens when it is picked; None: picking does what the sheet's `done` does.
        hot: a letter that picks it at once; "" for none.
        turn: what left (-1) and right (+1) do to its value.
        type: takes a digit, "." or "-" typed on it; "" means wipe.
        stays: True if the sheet stays open after the pick.
        folds: True of a text to be read: it takes as many lines as it needs on this terminal, and
            blanks before it indent all of them.
    """

    text: str | Callable[[], str]
    pick: Do | None = None
    hot: str = ""
    turn: Callable[[int], None] | None = None
    type: Callable[[str], None] | None = None
    stays: bool = False
    folds: bool = False


class Sheet(Vertical):
    """The open list, or nothing."""

    DEFAULT_CSS = """
    Sheet { height: auto; background: $panel; color: $ink; padding: 0 1; }
    Sheet #sheet-title { text-style: bold; height: auto; max-height: 4; }
    Sheet #sheet-hint { color: $dim; height: auto; min-height: 1; }
    Sheet Input, Sheet Input:focus {
        height: 1; border: none; padding: 0; background: $surface; color: $ink;
    }
    """
    can_focus = False
    # The list takes its size from its screen and its lines; neither goes by what it was given.
    virtual_size = Reactive(Size(0, 0))

    def __init__(self, most: int = 10) -> None:
        super().__init__()
        self.display = False
        self._most = most
        self._title = self._hint = self._answer = ""
        self._keyed = False
        # As they were given, and with those unfolded that fold.
        self._given: tuple[Line, ...] = ()
        self._lines: tuple[Line, ...] = ()
        self._at = 0
        # The line on which a value is being typed.
        self._typed_at: int | None = None
        self._done: Do | None = None
        self._at_close: Do | None = None
        self._texted: Callable[[str], object] | None = None
        self._told: Callable[[str], str] | None = None
        # What the line of text began with, and why that was refused.
        self._start = self._why = ""
        self._letters: Mapping[str, Do] = NO_LETTERS
        self._goes_on = False
        self._until_read = ""
        self._again: Do | None = None
        # Behind the last line that was seen.
        self._seen = 0

    def _make(self) -> None:
        """Title, the lines that are shown, and a hint.

        They are made when a list is opened first: the first picture does not wait for them.
        """
        if self.children:
            return
        title = Plain("", id="sheet-title", fold=True)
        self.mount(title, Rows(id="sheet-lines"), Plain("", id="sheet-hint", fold=True))

    def _entry(self) -> Entry:
        """The line for text, made when one is typed into first."""
        for entry in self.query(Entry):
            return entry
        entry = Entry(id="sheet-input", select_on_focus=False)
        self.mount(entry, before="#sheet-hint")
        return entry

    @property
    def is_open(self) -> bool:
        """True while a list is shown."""
        return self.display

    @property
    def is_text(self) -> bool:
        """True while one line of text is typed into."""
        return self._texted is not None

    @property
    def title(self) -> str:
        """The open list's title."""
        return self._title

    @property
    def spoken(self) -> list[str]:
        """Every line as it reads now."""
        return [line.text() if callable(line.text) else line.text for line in self._lines]

    @property
    def at(self) -> int:
        """Index of the line that is chosen, of a list that was closed the one that was."""
        return self._at

    @property
    def keys(self) -> list[KeyItem]:
        """The keys of the open list, as the row of keys shows them."""
        found = []
        for part in hint_parts(self._said_hint):
            key, _between, label = part.partition(": " if ": " in part else " ")
            found.append(KeyItem(key, label))
        hot = [line.hot.upper() for line in self._lines if line.hot]
        return [*found, KeyItem(" ".join(hot), "a line at once")] if hot else found

    @property
    def keyed(self) -> bool:
        """True while a row of keys shows the keys of the list, and the list need not say them."""
        return self._keyed

    @keyed.setter
    def keyed(self, keyed: bool) -> None:
        if keyed is not self._keyed:
            self._keyed = keyed
            if self.is_open:
                self.paint()

    def open(
        self,
        title: str,
        lines: Sequence[Line],
        hint: str = "",
        done: Do | None = None,
        closed: Do | None = None,
        at: int = 0,
        letters: Mapping[str, Do] = NO_LETTERS,
        enter_goes_on: bool = False,
        until_read: str = "",
        again: Do | None = None,
    ) -> None:
        """Opens a list.

        Args:
            title: what is chosen.
            lines: at least one.
            hint: the keys and what they do, "KEYS: what   KEYS: what".
            done: what picking a line without its own `pick` does.
            closed: what esc does besides closing.
            at: index of the line that is chosen at first.
            letters: small letters that pick something no line says; the title tells of them.
            enter_goes_on: enter goes to the next line that has a value instead of picking.
            until_read: the hint until the last line was seen; the keys that pick turn the page
                till then. "": they pick at once.
            again: of a page to be read, what opens it once more: keys of the screen for which the
                page has no use work over it. None: they do not.
        """
        self._goes_on, self._until_read, self._seen = enter_goes_on, until_read, 0
        self._again = again
        self._title, self._given = title, tuple(lines)
        self._choose(at)
        self._lines = self._unfolded()
        self._done, self._at_close, self._texted, self._told = done, closed, None, None
        self._letters, self._answer = letters, ""
        self._make()
        self.query_one("#sheet-title", Plain).show(title)
        hint = hint or "up, down: choose   space: take it   esc: nothing is written"
        if not any(line.turn or line.type for line in lines):
            # No line has a value that could be turned.
            hint = "   ".join(part for part in hint_parts(hint) if not part.startswith("left, "))
        self._hint = hint
        self._hide_input()
        self.display = True
        self.paint()

    def open_text(
        self,
        title: str,
        texted: Callable[[str], object],
        start: str = "",
        closed: Do | None = None,
        hint: str = "",
        told: Callable[[str], str] | None = None,
        proposed: bool = False,
        why: str = "",
    ) -> None:
        """Opens one line of text; `texted` is to get it when enter is pressed (`entered`).

        Args:
            told: what the letters so far stand for, shown in place of the hint; "" for the hint.
            proposed: True if `start` was not just typed: a letter then takes its place.
            why: why `start` was refused, shown in place of the hint while it stands unchanged.
        """
        hint = hint or "enter: take it   esc: nothing is written"
        self.open(title, [], hint=hint, closed=closed)
        self._texted, self._told = texted, told
        self._start, self._why = start, why
        entry = self._entry()
        entry.begin(start, proposed)
        entry.display = True
        entry.focus()
        if why:
            self.say(why)

    def close(self) -> None:
        """Closes the list; nothing is written."""
        self.display = False
        self._given, self._lines, self._texted = (), (), None
        self._hide_input()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Shows what the letters so far stand for, or why they were refused."""
        if self._texted is None:
            return
        # The event may be of a text that another line of text has followed.
        text = event.input.value
        told = "" if self._told is None else self._told(text.strip())
        self._answer = self._why if self._why and text == self._start else told
        self.paint()

    def _hide_input(self) -> None:
        for entry in self.query(Entry):
            entry.display = False
            if entry.has_focus:
                self.screen.set_focus(None)

    def on_resize(self) -> None:
        """Another screen has room for other lines."""
        if not self.is_open:
            return
        before = len(self._lines)
        self._lines = self._unfolded()
        if before and len(self._lines) != before:
            # What was chosen and what was seen of a text are where they were in it.
            self._at = self._at * len(self._lines) // before
            self._seen = self._seen * len(self._lines) // before
        self.paint()

    def _unfolded(self) -> tuple[Line, ...]:
        """The lines there are on a terminal as wide as this one."""
        lines: list[Line] = []
        for line in self._given:
            if not line.folds or callable(line.text):
                lines.append(line)
                continue
            indent = " " * (len(line.text) - len(line.text.lstrip(" ")))
            width = max(20, self.app.size.width - _MARGIN - len(indent))
            rows = wrapped(inert(line.text.strip()), width)
            lines += [replace(line, text=f"{indent}{row}", folds=False) for row in rows]
        return tuple(lines)

    def paint(self) -> None:
        """Shows the lines around the chosen one; only what changed is repainted."""
        spoken = self.spoken
        unread = self._is_unread
        hint, first, most = self._window(len(spoken))
        if unread and not self._is_unread:
            # With the last line seen the keys that turned the page pick.
            hint, first, most = self._window(len(spoken))
        self.query_one("#sheet-title").styles.max_height = self._title_most
        lettered = any(line.hot for line in self._lines)
        self.query_one("#sheet-hint", Plain).show("\n".join(hint))
        rows = self.query_one("#sheet-lines", Rows)
        rows.styles.height = len(spoken[first : first + most])
        letters = [f"{line.hot.upper():<3}" if lettered else "" for line in self._lines]
        rows.show([a + b for a, b in zip(letters, spoken, strict=True)], self._at)

    def _window(self, count: int) -> tuple[list[str], int, int]:
        """Of so many lines: rows of the hint, the first line that is shown, and how many are."""
        rows_most = max(2, self._rows_most + 1 - min(count, LINES_FIRST))
        hint = self._hint_rows("", rows_most)
        most = max(2, min(self._most, self._rows_most + 1 - len(hint)))
        if count > most or self._is_unread:
            # Lines out of sight are told of.
            hint = self._hint_rows(f"{self._at + 1} of {count}", rows_most)
            most = max(2, min(self._most, self._rows_most + 1 - len(hint)))
        first = max(0, min(self._at - most // 2, count - most))
        self._seen = max(self._seen, min(first + most, count))
        return hint, first, most

    def point(self, y: int) -> bool:
        """Chooses the line in row `y` of the screen; True if that one was chosen already."""
        index = None if self.is_text else self.query_one("#sheet-lines", Rows).line_at(y)
        if index is None or index == self._at:
            return index is not None
        self._at, self._answer = index, ""
        self.paint()
        return False

    def _hint_rows(self, of: str, most: int) -> list[str]:
        """What was answered, else the keys where no row of keys has them."""
        width = max(self.app.size.width - 2, 2)
        if self._answer:
            return wrapped(inert(self._answer), width)
        if self._keyed:
            return [of]
        return hint_rows(self._said_hint, of, width, most, takes_line=self._done is None)

    @property
    def _title_most(self) -> int:
        """Rows for the title: on a very low screen two lines to pick come before a long one."""
        return max(1, min(4, self.app.size.height - 8))

    @property
    def _rows_most(self) -> int:
        """Rows for lines and the hint but for its first, which leave the clock above its digits
        whatever the title takes.
        """
        width, height = self.app.size
        title = min(self._title_most, len(wrapped(inert(self._title), width - 2)))
        return height - (11 if height > 15 else 6) - title

    @property
    def again(self) -> Do | None:
        """What opens the page that is read once more; None of a list that holds the keys."""
        return self._again if self.is_open else None

    @property
    def closed(self) -> Do:
        """What esc does besides closing."""
        return self._at_close or nothing

    @property
    def says(self) -> str:
        """What the open list answers; "" without an answer and of a list that is closed."""
        return self._answer if self.is_open else ""

    def say(self, sentence: str) -> None:
        """Answers in place of the keys, until the next one."""
        self._answer = sentence
        self.paint()

    def uses(self, key: str, character: str | None) -> bool:
        """Whether the open list has a use for a key."""
        letter = (character or "").lower()
        lettered = letter in self._letters or any(line.hot == letter for line in self._lines)
        return key in BACK | PICK | {"up", "down"} or (letter != "" and lettered)

    def take(self, key: str, character: str | None, fresh: bool) -> Do | None:
        """Gives a pressed key to the open list, and answers what is to be done for it.

        None if the list has no use for the key; `nothing` if it only moved or turned something
        in the list.

        fresh: False for a key that is held down or bounces: it moves and turns, but picks
            nothing, so that it does not answer the very list that it opened.
        """
        if not self.is_open:
            return None
        if self._texted is not None:
            return self._left() if key == "escape" else None
        self._answer = ""
        line = self._lines[self._at] if self._lines else None
        if key in BACK:
            if key == "escape" or line is None or line.type is None:
                return self._left()
            line.type("")
        elif key in ("up", "down"):
            step = 1 if key == "down" else -1
            self._choose((self._at + step) % max(1, len(self._lines)))
        elif key == "enter" and self._goes_on:
            self._choose(self._next_value)
        elif key in PICK:
            return self._picked(line) if line is not None and fresh else nothing
        elif line is not None and line.turn is not None and key in ("left", "right"):
            line.turn(1 if key == "right" else -1)
        else:
            return self._typed(TYPED.get(key, key), (character or "").lower(), fresh)
        self.paint()
        return nothing

    def _choose(self, at: int) -> None:
        """Another line; what is typed on it begins its value anew."""
        self._at, self._typed_at = at, None

    @property
    def _next_value(self) -> int:
        """The next line behind the chosen one that has a value; round again after the last."""
        many = len(self._lines)
        behind = [(self._at + step) % many for step in range(1, many + 1)]
        valued = (at for at in behind if self._lines[at].type or self._lines[at].turn)
        return next(valued, self._at)

    def _typed(self, typed: str, letter: str, fresh: bool) -> Do:
        line = self._lines[self._at] if self._lines else None
        if line is not None and line.type is not None and typed in "0123456789.-":
            if self._typed_at != self._at:
                # What stood there, entered before or just refused, is not added to.
                line.type("")
                self._typed_at = self._at
            line.type(typed)
            self.paint()
            return nothing
        for index, hot in enumerate(self._lines if fresh else ()):
            if hot.hot and letter == hot.hot.lower():
                self._at = index
                return self._picked(hot)
        pick = self._letters.get(letter) if fresh else None
        if pick is None:
            # A key that was let go of late has no meaning either, and need not be told so.
            self._answer = UNKNOWN if fresh else ""
            self.paint()
            return nothing
        self.close()
        return pick

    def _picked(self, line: Line) -> Do:
        pick = line.pick or self._done
        if pick is None:
            return nothing
        if self._is_unread:
            self._turn_page()
            return nothing
        if line.stays:
            pick()
            self.paint()
            return nothing
        self.close()
        return pick

    @property
    def _is_unread(self) -> bool:
        return bool(self._until_read) and self._seen < len(self._lines)

    @property
    def _said_hint(self) -> str:
        return self._until_read if self._is_unread else self._hint

    def _turn_page(self) -> None:
        """The lines behind those seen, as many as have room."""
        seen, rows = self._seen, self.query_one("#sheet-lines", Rows).size.height
        self._at = min(seen + rows // 2, len(self._lines) - 1)
        self.paint()

    def _left(self) -> Do:
        closed = self.closed
        self.close()
        return closed

    def entered(self, text: str) -> Do:
        """What is to be done with the text of the open line, which closes.

        Where the text is refused the line stands open again with it, to be mended, and says why.
        """
        texted = self._texted
        if texted is None:
            return nothing
        again = partial(
            self.open_text, self._title, texted, text, self.closed, self._hint, self._told
        )
        self.close()

        def take() -> None:
            try:
                texted(text.strip())
            except Refused as why:
                if not self.is_open:
                    again(why=str(why))
                raise

        return take


def nothing() -> None:
    """What is to be done outside a list for a key that stays in it."""
