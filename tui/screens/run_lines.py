"""The lines of the Run screen: which there are, what each says, and which give way to which.

`ROWS` is read from top to bottom, as the lines stand on the screen. Each has a rank: the lower,
the longer it keeps its place. `fitting` goes through them by rank and asks each whether there is
room beside those that are there already. A painter shows what it answers and decides nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from msgspec import Struct

from cartclock.engine.body.rest_words import pace_line, short_pace_line
from cartclock.engine.body.watch import (
    TemperatureUnit,
    climate_lines,
    drink_text,
)
from cartclock.engine.films.film_advice import WATCH
from cartclock.engine.letters import cells, cropped, inert, wrapped
from cartclock.engine.now.glance import Face, Glance, most_urgent
from cartclock.engine.now.key_line import CHANGED
from cartclock.engine.now.moment import Moment
from cartclock.engine.times import Instant
from cartclock.tui.screens import room
from cartclock.tui.screens.cart import LOW, NARROW, SAID_US

# Each of several notices stands for so long. Our own judgement.
NOTICE_US = 8_000_000
# Cells of a vehicle's name by which it is still known. Our own judgement.
_NAMED = 8
# After so long an answer gives way to the asking to watch a film. Our own judgement.
WATCH_US = 4_000_000


class Room(Struct, frozen=True):
    """The room there is.

    Fields:
        width, height: cells and rows of the screen.
        listed: True while a list is open.
    """

    width: int
    height: int
    listed: bool = False

    @property
    def narrow(self) -> bool:
        """One clock beside the words, not two."""
        return self.width < NARROW

    @property
    def low(self) -> bool:
        """Few rows: one line for each thing that is said."""
        return self.height < LOW

    @property
    def roomy(self) -> bool:
        """Rows to spare for what else could be said."""
        return self.height >= room.ROOMY


class Said(Struct, frozen=True):
    """What is to be said.

    Fields:
        now: the moment.
        seen: the glance of it.
        at: which of the moves is chosen.
        beside: the clock of the helper's hands; None if there is no half of a screen for it.
        news: True while what SPACE takes up became another by itself and SPACE does not count.
        helps: what the helper's key takes up and what the helper is at; "" off the clock.
        ago: minutes typed before SPACE; "" for none.
        answer: what the line that answers says; `answered_us`: since when.
        unit: of temperatures.
    """

    now: Moment
    seen: Glance
    at: int
    beside: Face | None
    news: bool
    helps: str
    ago: str
    answer: str
    answered_us: Instant
    unit: TemperatureUnit

    @property
    def read(self) -> bool:
        """True if the answer has been read or was never given."""
        return self.now.now_us - self.answered_us > SAID_US

    @property
    def turn(self) -> int:
        """Counts up while what is to be said takes turns."""
        return self.now.now_us // NOTICE_US


Shown = Mapping[str, str]
"""Id of each line that is shown -> its text."""


class Row(Struct, frozen=True):
    """One line of the screen, or one part of it that is no text.

    Fields:
        id: of the widget.
        rank: of several that have no room together the lowest stays.
        text: what it says; "" also for the parts that are no text.
        fits: whether it is shown, given what of lower rank is.
        block: the line it shares with its neighbours in the table; "": one of its own.
        right: True if it stands at the right edge of its block.
        fold: True if a long text takes more lines rather than losing its end.
        kind: "text", or what stands there instead.
    """

    id: str
    rank: int
    text: Callable[[Said, Room], str]
    fits: Callable[[Said, Room, Shown, str], bool]
    block: str = ""
    right: bool = False
    fold: bool = False
    kind: Literal["text", "faces", "list", "keys"] = "text"


def clocks(said: Said, space: Room) -> tuple[Face, ...]:
    """The clocks, the first ones shown: one on a narrow screen, else two."""
    # Where one clock has room it is the one that hurts first.
    if space.narrow:
        return tuple(most_urgent(said.seen.faces))
    return said.seen.faces if said.beside is None else (*said.seen.faces, said.beside)


def _always(said: Said, space: Room, shown: Shown, text: str) -> bool:
    return True


def _not_under_a_low_list(said: Said, space: Room, shown: Shown, text: str) -> bool:
    # A list on a small screen takes the room of everything but the clock.
    return not (space.low and space.listed)


def _nothing(said: Said, space: Room) -> str:
    return ""


def _head(said: Said, space: Room) -> str:
    seen = said.seen
    if space.narrow or not seen.place:
        return seen.place or seen.head
    # How far the stage is comes before the end of a long name; a cell of edge on three sides.
    beside = cells(seen.place) + len("   ") + cells(_on_the_clock(said, space)) + 3
    left = space.width - beside
    return seen.place if left < _NAMED else f"{cropped(seen.head, left)}   {seen.place}"


def _on_the_clock(said: Said, space: Room) -> str:
    on = said.seen.on_the_clock
    return f"{on} on the clock" if on and not space.narrow else on


def _next(said: Said, space: Room) -> str:
    # Where the key does not count its name gives way to why.
    key = CHANGED if said.news else "SPACE"
    ago = f"  {said.ago} min ago" if said.ago else ""
    return f"{key}{ago}  {said.seen.next_line}"


def _whose(said: Said, space: Room) -> str:
    name = inert(said.seen.next_vehicle)
    return cropped(name[:1].upper() + name[1:], space.width // 3)


def _whose_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    return bool(text) and _not_under_a_low_list(said, space, shown, text)


def _of(said: Said, space: Room) -> str:
    moves = said.now.me.moves
    return f"up, down: {said.at + 1} of {len(moves)}" if moves else ""


def _of_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    return bool(text) and _crowded(space, shown) and not (space.narrow or space.low)


def _crowded(space: Room, shown: Shown) -> bool:
    """Whether what stands around the clock leaves no row for a list of moves."""
    return not space.roomy and bool(shown.keys() & {"windows", "second", "climate"})


def _second_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    if not text or space.listed:
        return False
    # A small screen has one line for what the helper takes up and what is to be said.
    answers = not said.read or (bool(said.seen.notices) and said.turn % 2 == 1)
    return not (space.low and "windows" in shown and answers)


def _moves(said: Said, space: Room) -> str:
    now = said.now
    return "\n".join(room.move_lines(now.me.moves, said.at, now.jobs, now.now_us, space.height))


def _moves_fit(said: Said, space: Room, shown: Shown, text: str) -> bool:
    small = space.narrow or space.low or space.listed
    return bool(text) and not small and not _crowded(space, shown)


def _pace(said: Said, space: Room) -> str:
    watch = said.now.me.watch
    if watch is None:
        return ""
    if space.narrow:
        drink = drink_text(watch.water, short=True)
        return short_pace_line(watch.pace, space.width - 2 - (len(drink) + 1 if drink else 0))
    drink = drink_text(watch.water)
    return pace_line(watch.pace, min(78, space.width - 2) - (len(drink) + 1 if drink else 0))


def _drink(said: Said, space: Room) -> str:
    watch = said.now.me.watch
    return "" if watch is None else drink_text(watch.water, space.narrow)


def _pace_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    return said.now.me.watch is not None and not (space.low and space.listed)


def _climate(said: Said, space: Room) -> str:
    watch = said.now.me.watch
    return "" if watch is None else "\n".join(climate_lines(watch, said.unit))


def _climate_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    # Of the lines around the clock this one goes first: the large word needs its rows.
    small = space.narrow or space.low or space.listed
    return bool(text) and not small and (space.roomy or "windows" not in shown)


def _windows(said: Said, space: Room) -> str:
    hidden = clocks(said, space)[1:] if space.narrow else ()
    lines = [f"{face.where}: {face.word.lower()} {face.clock}" for face in hidden]
    return "\n".join(room.window_lines([*lines, *said.seen.windows], space.width - 2, space.height))


def _without_a_list(said: Said, space: Room, shown: Shown, text: str) -> bool:
    return bool(text) and not space.listed


def _notices(said: Said, space: Room) -> str:
    news = room.notice_lines(said.seen.notices, space.width - 2) if space.roomy else []
    return "\n".join(news)


def _notice(said: Said, space: Room) -> str:
    """What was answered; once that was read, the notices in turn."""
    notices = said.seen.notices
    # A film to be watched may be ready before the last answer would have made room.
    if not space.roomy and WATCH in notices and said.now.now_us - said.answered_us > WATCH_US:
        return WATCH
    if not said.read:
        return said.answer
    if space.roomy:
        return ""
    rows = 1 if space.low else room.NOTICE_ROWS
    pages = room.notice_pages(notices, space.width - 2, rows)
    if len(pages) < 2:
        return "".join(pages) if pages or space.low else said.answer
    # The most urgent ones; the others take turns with them, so that each is read.
    at = 0 if said.turn % 2 == 0 else 1 + said.turn // 2 % (len(pages) - 1)
    one = f"{pages[at]} ({at + 1} of {len(pages)})"
    # The count is left out where it would take a line of its own.
    return one if len(wrapped(one, max(space.width - 2, 2))) <= rows else pages[at]


def _notice_fits(said: Said, space: Room, shown: Shown, text: str) -> bool:
    if space.low and space.listed:
        return False
    return not (space.low and "windows" in shown and "second" in shown)


ROWS: tuple[Row, ...] = (
    Row("head", 1, _head, _always, "head"),
    Row("on-clock", 1, _on_the_clock, _always, "head", right=True),
    Row("faces", 0, _nothing, _always, kind="faces"),
    Row("whose", 2, _whose, _whose_fits, "taking"),
    Row("next", 2, _next, _not_under_a_low_list, "taking"),
    Row("of", 8, _of, _of_fits, "taking", right=True),
    Row("second", 4, lambda said, _space: said.helps, _second_fits),
    Row("moves", 8, _moves, _moves_fit),
    Row("pace-left", 6, _pace, _pace_fits, "pace"),
    Row("pace-drink", 6, _drink, _pace_fits, "pace", right=True),
    Row("climate", 7, _climate, _climate_fits),
    Row("windows", 3, _windows, _without_a_list),
    Row("list", 0, _nothing, _always, kind="list"),
    Row("notices", 9, _notices, _without_a_list),
    Row("notice", 5, _notice, _notice_fits, fold=True),
    Row("keys", 2, _nothing, _not_under_a_low_list, kind="keys"),
)
"""From top to bottom, as the lines stand on the screen."""


def fitting(said: Said, space: Room, rows: tuple[Row, ...] = ROWS) -> dict[str, str]:
    """The lines of the table that fit: id -> text, the lowest rank first."""
    shown: dict[str, str] = {}
    for row in sorted(rows, key=lambda row: row.rank):
        text = row.text(said, space)
        if row.fits(said, space, shown, text):
            shown[row.id] = text
    return shown


def classes(said: Said, space: Room, shown: Shown) -> dict[str, dict[str, bool]]:
    """What the style of a line has to know: its id -> each of its classes, and whether.

    They stand on the line whose look they change: what holds of a screen has every part of it
    styled anew.
    """
    return {
        # The line that answers has two rows, so that the digits stay where they are.
        "notice": {
            "steady": not (space.low or space.listed),
            "crowded": space.low and "windows" in shown,
        },
        "next": {"news": said.news},
        "windows": {"roomy": space.roomy, "low": space.low},
    }
