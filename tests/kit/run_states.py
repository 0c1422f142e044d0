"""Every state that Run can be in: how a worker comes to it, and what it must say then."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import NamedTuple

from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.now.running import Field
from cartclock.engine.plan.plan import Stage, Wait, Work
from cartclock.engine.rules import rules
from tests.kit.plans import COAT, FALLOUT, GATED, POLISH
from tests.kit.stage import Play

# A film that leaves time to lay the next one, and then does not. Invented round numbers.
SLOW = replace(COAT, steps=(COAT.steps[0], Wait("flash", 240, 300, 900), *COAT.steps[2:]))


async def plain(play: Play) -> None:
    await play.press("space")
    await play.wind(95)


async def laid_for_long(play: Play) -> None:
    """A film is in hand for longer than planned, and must be ended before it closes."""
    await play.press("space")
    await play.wind(210)


async def late_in_hand(play: Play) -> None:
    """It closed before it was laid."""
    await play.press("space")
    await play.wind(337)


async def past_ten_minutes(play: Play) -> None:
    await play.press("space")
    await play.wind(758)


async def past_an_hour(play: Play) -> None:
    await play.press("space")
    await play.wind(3920)


async def one_window(play: Play) -> None:
    await plain(play)
    await play.choose("stand by")
    await play.press("space")
    await play.wind(25)


async def ready(play: Play) -> None:
    await one_window(play)
    await play.wind(70)


async def late(play: Play) -> None:
    await one_window(play)
    await play.wind(300)


async def just_changed(play: Play) -> None:
    """The second film in hand, until the line turns by itself from the third one to the first."""
    await play.press("space")
    await play.wind(90)
    await play.press("space")
    assert play.next_line == "SPACE  apply roof"
    for _ in range(240):
        await play.leap(1)
        if "roof" not in play.next_line:
            return
    raise AssertionError("the line never changed")


async def two_windows(play: Play) -> None:
    await work_and_window(play)
    await play.choose("finish:")
    await play.press("space")
    await play.wind(35)


async def three_windows(play: Play) -> None:
    await work_and_window(play)
    await play.choose("apply roof")
    await play.press("space")
    await play.wind(30)
    await play.choose("finish:")
    await play.press("space")
    await play.wind(5)


async def late_and_ready(play: Play) -> None:
    await work_and_window(play)
    await play.choose("finish:")
    await play.press("space")
    await play.wind(215)


async def work_and_window(play: Play) -> None:
    await plain(play)
    await play.choose("apply bonnet right")
    await play.press("space")
    await play.wind(40)


def _read(play: Play, reading: ev.ReadingTaken) -> None:
    play.bench.do(rules.note_shift, replace(reading, confirmed=True))
    play.app.repaint()


async def keep_wet(play: Play) -> None:
    _read(play, ev.ReadingTaken(air_c=33.0, rh=40.0, panel_c=38.0, place="outdoor shade"))
    await plain(play)
    await play.choose("finish")
    await play.press("space")
    await play.wind(25)


async def before_the_coat(play: Play) -> None:
    """The gate has a verdict, and it is not met."""
    _read(play, ev.ReadingTaken(air_c=16.0, rh=71.0, panel_c=13.0))
    await play.wind(45)


async def on_break(play: Play) -> None:
    await play.press("b", "m")
    await play.wind(312)


async def break_over(play: Play) -> None:
    await play.press("b", "r")
    await play.wind(1000)


async def break_and_late(play: Play) -> None:
    await plain(play)
    # The film that begins by it closes before the break is over.
    await play.press("b", "f", "r", "down", "space")
    await play.wind(400)


async def at_the_phone(play: Play) -> None:
    await play.press("c", "p")
    await play.wind(3700)


async def phone_over_film(play: Play) -> None:
    await play.press("space")
    await play.wind(20)
    # Half laid it is left only by whoever says so.
    await play.press("x", "p", "down", "down", "space")
    await play.wind(40)


async def no_work_here(play: Play) -> None:
    """Hotter than any work of this weight may be done in."""
    await plain(play)
    _read(play, ev.ReadingTaken(air_c=44.0, rh=60.0))
    await play.wind(5)


async def off(play: Play) -> None:
    await play.press("i", "o")


async def nothing(play: Play) -> None:
    await play.wind(20)


async def no_job(play: Play) -> None:
    """The day begins on Today, where a job is opened."""
    await play.press("escape")
    await play.wind(20)


# Letters that have no large form.
KANA = Stage(
    "コート", ("左ドア", "右ドア"), (Work("塗る", 1.5), Wait("flash", 60, 100, 300), Work("拭く"))
)


class Shown(NamedTuple):
    """A state of Run.

    Fields:
        reach: what the worker does to come to it.
        words: what it must say.
        fields: the grounds of its faces, the one in large in front.
        stages: of the job that is open; none: no job is.
    """

    reach: Callable[[Play], Awaitable[None]]
    words: tuple[str, ...]
    fields: tuple[Field, ...]
    stages: tuple[Stage, ...] = (COAT,)

    @property
    def jobs(self) -> tuple[tuple[Stage, ...], ...]:
        """The stages of each open job."""
        return (self.stages,) if self.stages else ()


STATES: dict[str, Shown] = {
    "plain": Shown(plain, ("bonnet left   APPLY", "planned 1:30", "stand by"), ("plain",)),
    "laid_for_long": Shown(
        laid_for_long, ("bonnet left   END IT down 1:30", "end it, then level"), ("ready",)
    ),
    "late_in_hand": Shown(
        late_in_hand, ("bonnet left   LATE up 0:37", "level all the same"), ("late",)
    ),
    "past_ten_minutes": Shown(past_ten_minutes, ("door   CUT up 12:38",), ("plain",), (POLISH,)),
    "past_an_hour": Shown(past_an_hour, ("door   CUT up 1:05:20",), ("plain",), (POLISH,)),
    "one_window": Shown(
        one_window,
        ("bonnet left   WAIT down 0:35", "until it opens, then level", "closes in 3:00"),
        ("wait",),
    ),
    "ready": Shown(
        ready,
        ("bonnet left   LEVEL down 1:50", "until it closes: begin now", "closes at 14:18"),
        ("ready",),
    ),
    "late": Shown(
        late, ("bonnet left   LATE up 2:00", "since it closed", "closed at 14:18"), ("late",)
    ),
    "just_changed": Shown(
        just_changed, ("bonnet right   APPLY", "CHANGED"), ("plain", "wait"), (SLOW,)
    ),
    "two_windows": Shown(
        two_windows,
        ("bonnet left   LEVEL down 0:10", "bonnet right"),
        ("ready", "wait"),
    ),
    "three_windows": Shown(
        three_windows, ("bonnet left   LEVEL", "bonnet right"), ("ready", "wait", "wait")
    ),
    "late_and_ready": Shown(
        late_and_ready, ("bonnet left   LATE", "bonnet right"), ("late", "ready")
    ),
    "work_and_window": Shown(
        work_and_window,
        ("bonnet right   APPLY", "bonnet left"),
        ("plain", "wait"),
    ),
    "keep_wet": Shown(keep_wet, ("left   KEEP WET down 1:35",), ("wait",), (FALLOUT,)),
    "before_the_coat": Shown(before_the_coat, ("NOTHING IN HAND",), ("plain",), (GATED,)),
    "on_break": Shown(on_break, ("meal   BREAK down 24:48", "of 30:00"), ("break",)),
    "break_over": Shown(break_over, ("BACK TO WORK    up 1:40", "it was 15:00"), ("back",)),
    "break_and_late": Shown(
        break_and_late, ("bonnet left   LATE", "rest   BREAK"), ("late", "break")
    ),
    "at_the_phone": Shown(at_the_phone, ("PHONE", "for bottle green estate"), ("plain",)),
    "phone_over_film": Shown(phone_over_film, ("PHONE", "bonnet left", "2:30"), ("plain", "wait")),
    "no_work_here": Shown(no_work_here, ("NOT HERE    up",), ("rest",), (POLISH,)),
    "no_large_form": Shown(plain, ("左ドア   塗る", "planned 1:30"), ("plain",), (KANA,)),
    "off": Shown(off, ("OFF THE CLOCK", "clock on"), ("off",)),
    "nothing": Shown(nothing, ("NOTHING IN HAND", "apply bonnet left"), ("plain",)),
    "no_job": Shown(no_job, ("NO JOB OPEN", "+ opens one"), ("plain",), ()),
}
