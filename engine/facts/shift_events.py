"""What a shift is made of: the hours, the breaks, the heat and the clocks."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from cartclock.engine.facts.sealed import Words
from cartclock.engine.times import Instant, Length

BreakKind = Literal["rest", "meal", "heat", "away"]
OtherKind = Literal[
    "customer",
    "phone",
    "water and mixing",
    "moving the car",
    "pads and towels",
    "fetching",
    "photos",
    "driving",
    "setting up",
]
GapAnswer = Literal["as it stood", "not known", "off"] | BreakKind | OtherKind
ReadingPlace = Literal["indoors", "outdoor shade", "cloud", "sun"]
AirMovement = Literal["still", "not said", "fan", "windy"]
CallGrade = Literal["soon", "now", "not here"]


class ClockedOn(Struct, frozen=True):
    """A worker began a shift.

    Fields:
        place: where, in the worker's own words; "" if not said.
        rule_set: which rule set judges the breaks ("29 CFR 785", "none").
        zone: IANA time zone of the place.
        acclimatization: "acclimatized", "not acclimatized" or "" if not answered.
        because: the reason for it.
        clothing: what is worn, a key of `engine.figures.limits.CLOTHING_C`.
        latitude, longitude: of the place, degrees, north and east positive; None if not settled.
        planned_s: how long somebody who only helps means to stay, seconds; None if not said.
    """

    place: str = ""
    rule_set: str = "29 CFR 785"
    zone: str = "UTC"
    acclimatization: str = ""
    because: str = ""
    clothing: str = "work clothes"
    latitude: float | None = None
    longitude: float | None = None
    planned_s: int | None = None


class ClockedOff(Struct, frozen=True):
    """The shift ended. `over` holds the reason for each rule overruled.

    Fields:
        told: what was said then of the next day, a sentence each.
    """

    over: dict[str, Words] = {}
    told: tuple[str, ...] = ()


class BreakTaken(Struct, frozen=True):
    """Hands rest.

    Fields:
        planned_s: intended length in seconds; None if open.
        over: the reason for each rule overruled.
    """

    what: BreakKind
    planned_s: int | None = None
    over: dict[str, Words] = {}


class BreakEnded(Struct, frozen=True):
    """Back at the cart."""


class OtherWorkStarted(Struct, frozen=True):
    """Work beside the vehicle.

    Fields:
        job: whose job it serves; "" if nobody's in particular.
        over: the reason for each rule overruled.
    """

    what: OtherKind
    job: str = ""
    over: dict[str, Words] = {}


class OtherWorkAssigned(Struct, frozen=True):
    """The other work that is on serves another job, from its beginning; "": nobody's."""

    job: str


class OtherWorkEnded(Struct, frozen=True):
    """The other work ended."""


class ReadingTaken(Struct, frozen=True):
    """The climate at the car.

    Fields:
        air_c, panel_c, globe_c, wbgt_c: degrees C; None if not measured.
        rh: percent; None if not measured.
        place: where the instruments stood.
        moving: how the air moves; "not said": as it mostly does at such a place.
        rain_at_us: when rain is expected, job time; None if not.
        confirmed: True if figures of it looked odd, and the worker was asked and kept them.
    """

    air_c: float | None = None
    rh: float | None = None
    panel_c: float | None = None
    globe_c: float | None = None
    wbgt_c: float | None = None
    place: ReadingPlace = "indoors"
    moving: AirMovement = "still"
    rain_at_us: Instant | None = None
    confirmed: bool = False


class ClothingSaid(Struct, frozen=True):
    """What is worn from here on: a key of `engine.figures.limits.CLOTHING_C`."""

    clothing: str


class RoofSaid(Struct, frozen=True):
    """Whether the roof or the door indoors is hot to the hand."""

    hot: bool


class DayExpected(Struct, frozen=True):
    """What the forecast says for today: the lowest and highest air temperature in C.

    Fields:
        low_c, high_c: -30 to 60 C, the low not above the high.
    """

    low_c: float
    high_c: float


class DrinkTaken(Struct, frozen=True):
    """A drink of `ml` millilitres, > 0."""

    ml: int


class FeltUnwell(Struct, frozen=True):
    """The worker named these signs."""

    signs: tuple[Words, ...]


class CheckedIn(Struct, frozen=True):
    """A lone worker says "I am well"; the next time is due after `every_s` seconds (0: no more)."""

    every_s: int


class HotDaysSaid(Struct, frozen=True):
    """The worker said on how many of the last 14 days the work was in the heat, 0 to 14.

    Fields:
        days: the answer.
        acclimatization, because: what it came to with the log's own days; as in `ClockedOn`.
    """

    days: int
    acclimatization: str = ""
    because: str = ""


class CautionsRead(Struct, frozen=True):
    """The worker read what is to be minded of products that are new on this cart.

    Fields:
        products: their names, at least one.
    """

    products: tuple[str, ...]


class RestOverruled(Struct, frozen=True):
    """A rest that was called is not taken now; the reason is the worker's own."""

    why: Words


class BreakJudged(Struct, frozen=True):
    """The worker said whether the break that holds the instant `within_us` counts as work."""

    within_us: Instant
    counted: bool


class GapJudged(Struct, frozen=True):
    """The worker said what a stretch of time was; a later answer covers an earlier one."""

    from_us: Instant
    to_us: Instant
    was: GapAnswer


class ClockJudged(Struct, frozen=True):
    """The clocks could not tell the time and the worker did; the row's time is the answer."""


class GapFound(Struct, frozen=True):
    """Found by the machine: the program did not run between these two job times."""

    from_us: Instant
    to_us: Instant


class ClockStepped(Struct, frozen=True):
    """Found by the machine: the wall clock was set by `by_us` microseconds within one boot."""

    by_us: Length


class RestCalled(Struct, frozen=True):
    """Told by the machine: a rest of `rest_s` seconds, by the rule named.

    Fields:
        grade: "soon": before the next piece is begun; "now": the limit or the table is reached;
            "not here": no rest here makes work of it.
    """

    rule: str
    rest_s: int
    grade: CallGrade = "now"
