"""What the pages say, as data: words and figures of Run, and nothing that names a person.

Only what is named here leaves the cart: no vehicle, no note, no advice, no name of who works, for
in any of these somebody may have written a name or a plate.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import local
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.now.faces import Face, TimeTape, WorkTape
from cartclock.engine.now.moment import Moment
from cartclock.engine.now.next_rest import next_rest
from cartclock.engine.times import Instant
from cartclock.tui.face.lettering import forms
from cartclock.tui.face.run_picture import Told
from cartclock.tui.face.tape import scale_end
from cartclock.tui.told.run import ready_text

ESTIMATE = "screening estimate"


class Strip(Struct, frozen=True):
    """A tape in shares of its length.

    Fields:
        gone: how much is behind us, 0 to 1; rate: how much more of it each second.
        marks: where it is cut. opens, shuts: between which it is open; the same if it never is.
        words: what stands under it where, the most needed first.
    """

    gone: float
    rate: float
    marks: tuple[float, ...]
    opens: float
    shuts: float
    words: tuple[tuple[float, str], ...]


class Matter(Struct, frozen=True):
    """One matter that runs.

    Fields:
        field: how its ground is painted.
        names: what stands in the largest letters, from whole to shortest.
        word: what the hands do; "" if the largest letters say it.
        digits: as Run shows them; seconds: the same as a length, -1 for none.
        runs: which way they run.
        under: what they run to; aside: what is to be known of them.
        second: a second figure behind what it is.
        strip: its tape; None: there is none.
    """

    field: str
    names: tuple[str, ...]
    word: str
    digits: str
    seconds: int
    runs: str
    under: str
    aside: str
    second: tuple[str, str]
    strip: Strip | None


class CartPage(Struct, frozen=True):
    """Everything the page for phone and tablet says.

    Fields:
        at: time of day, by which the page says since when it has heard nothing.
        ready: when the job in view should be ready; stage: which, and how much of it is done.
        rest: when the next rest comes; heat: why, as a screening estimate.
        matters: what runs, the one that hurts first in front; at least one.
    """

    at: str
    ready: str
    stage: str
    rest: str
    heat: str
    matters: tuple[Matter, ...]


class CustomerPage(Struct, frozen=True):
    """Everything the customer's page says.

    Fields:
        at: time of day, as of `CartPage`.
        stage: which is worked on; place: its number and of how many, "" for none.
        ready: when it should be ready; "" if that is not known.
    """

    at: str
    stage: str
    place: str
    ready: str


class LostPage(Struct, frozen=True):
    """The cart is not heard.

    Fields:
        lost: time of day since when; "" if it was never heard.
    """

    lost: str


def cart_page(now: Moment, told: Told, faces: tuple[Face, ...], zone: str) -> CartPage:
    """The page for phone and tablet.

    Args:
        told: what Run says at that moment.
        faces: what runs; not those of a helper, who is called by name in them.
        zone: of the time of day.
    """
    at = f"{local(now.now_us, zone):%H:%M}"
    watch, heat = now.me.watch, told.heat[0] if told.heat else ""
    if watch is not None and heat and not watch.pace.why_none and ESTIMATE not in heat:
        heat = f"{heat}; {ESTIMATE}"
    return CartPage(
        at=at,
        ready=told.ready,
        stage=told.stage,
        rest=next_rest(watch).text,
        heat=heat,
        matters=tuple(_matter(face, now.now_us, at) for face in faces),
    )


def _matter(face: Face, now_us: Instant, at: str) -> Matter:
    if face.key.startswith("other/"):
        # It says for which vehicle.
        face = replace(face, under="other work")
    elif face.key == "ask":
        # Since when is known at the cart alone.
        face = replace(face, clock="", under="a question waits at the cart")
    elif face.key in ("off", "no job"):
        face = replace(face, clock=at, under="")
    return Matter(
        field=face.field,
        names=forms(face.large) or (face.large,),
        word=face.beside,
        digits=face.clock,
        seconds=_seconds(face.clock) if face.runs else -1,
        runs=face.runs,
        under=face.under,
        aside=face.aside,
        second=face.second,
        strip=_strip(face.tape, now_us),
    )


def _seconds(clock: str) -> int:
    """The length that a clock shows; -1 for none."""
    seconds = 0
    for part in clock.lstrip("+").split(":"):
        if not part.isdecimal():
            return -1
        seconds = 60 * seconds + int(part)
    return seconds


def _strip(tape: TimeTape | WorkTape | None, now_us: Instant) -> Strip | None:
    if tape is None:
        return None
    if isinstance(tape, WorkTape):
        marks = () if tape.cut is None else (tape.cut,)
        return Strip(tape.done, 0.0, marks, 1.0, 1.0, ((0.0, tape.left), (1.0, tape.right)))
    last_us = tape.marks[-1][0]
    whole_us = scale_end(tape.start_us, last_us, now_us) - tape.start_us

    def share(at_us: int) -> float:
        return round((at_us - tape.start_us) / whole_us, 5)

    words = [(share(at_us), word) for at_us, word in tape.marks if word]
    coming = [(share(at_us), word) for at_us, word in tape.marks if word and at_us > now_us][:1]
    ranked = [*coming, *(one for one in reversed(words) if one not in coming)]
    if tape.begun:
        ranked.append((0.0, tape.begun))
    opens_us = last_us if tape.opens_us is None else tape.opens_us
    shuts_us = last_us if tape.shuts_us is None else tape.shuts_us
    return Strip(
        share(now_us),
        SECOND_US / whole_us,
        tuple(share(at_us) for at_us, _word in tape.marks),
        share(opens_us),
        share(shuts_us),
        tuple(ranked),
    )


def customer_page(now: Moment, job: Job | None, zone: str) -> CustomerPage:
    """The page of one job.

    job: None if it is closed.
    """
    at = f"{local(now.now_us, zone):%H:%M}"
    if job is None or job.state != "open":
        return CustomerPage(at, "Finished", "", "")
    name = _stage(job, now.me.shift)
    if not name:
        return CustomerPage(at, "The work is done", "", "")
    names = [stage.name for stage in job.stages]
    place = f"stage {names.index(name) + 1} of {len(names)}"
    return CustomerPage(at, name, place, ready_text(job, now.ahead, now.now_us, zone))


def _stage(job: Job, shift: Shift | None) -> str:
    """The stage in hand, else that of a film that runs, else the first with work left; "" if none
    has any.
    """
    if shift is not None and isinstance(shift.doing, Hands) and shift.doing.job == job.id:
        return shift.doing.stage
    if job.films:
        return job.films[0].stage
    left = (stage.name for stage in job.stages if not all(s.over for s in job.of(stage.name)))
    return next(left, "")


def standing(page: CartPage | CustomerPage | LostPage) -> object:
    """What of a page does not run on from second to second, to be compared."""
    if not isinstance(page, CartPage):
        return page if isinstance(page, LostPage) else (page.stage, page.place, page.ready)
    matters = [(one.field, one.names, one.word, one.under, one.runs) for one in page.matters]
    return page.ready, page.stage, page.rest, matters
