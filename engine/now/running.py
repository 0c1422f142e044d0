"""What runs at this instant, and in which state: films, hands, breaks, rests, signs of life.

Each state has a key, so that an alarm and a screen can tell a new state from a second that went by.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.body.watch import Watch
from cartclock.engine.dates import clock_text
from cartclock.engine.facts.in_play import ends_film, film_closes_us, lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Window
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.cure import look_states
from cartclock.engine.now.calling import call_states
from cartclock.engine.now.put_down import PutDown, put_down_films
from cartclock.engine.plan.plan import Work
from cartclock.engine.times import Instant

# Seconds after which an "I am well" that is due rings again, by its loudness; 0: once. From this
# loudness on it fills the screen. Our own judgement.
RING_AGAIN_S = (0, 60, 20, 5)
FILLS_FROM = 2

Field = Literal["plain", "wait", "ready", "late", "soon", "rest", "break", "back", "off", "ask"]
"""How the ground of a state is painted; its word says the same."""


def span_text(length_us: int) -> str:
    """A length as a clock, whole seconds, "+" in front if it is over (negative)."""
    seconds = -(-length_us // SECOND_US)
    return clock_text(seconds) if seconds >= 0 else f"+{clock_text(-length_us // SECOND_US)}"


class Film(Struct, frozen=True):
    """Windows that opened together and are taken up together: one film, one clock."""

    job: Job
    windows: tuple[Window, ...]

    @property
    def first(self) -> Window:
        """The window that stands for all of them."""
        return self.windows[0]

    @property
    def where(self) -> str:
        """The sections in few words."""
        return place_text(self.job, self.first.stage, tuple(w.section for w in self.windows))


def film_state(film: Film, now_us: Instant) -> tuple[str, Field]:
    """Key and field of the clock of a running window."""
    job, window = film.job, film.first
    state = window.state(now_us)
    named = "LOOK" if window.to_look_at(now_us) else state
    key = f"{job.id}/{window.stage}/{window.section}/{window.turn}/{named}"
    fields: dict[str, Field] = {"LATE": "late", "WAIT": "wait", "READY": "ready"}
    return key, fields[state]


def put_down_state(film: PutDown, now_us: Instant) -> tuple[str, Field]:
    """Key and field of the clock of a film that was put down.

    It calls from when it must be begun anew: whoever put it down knows of it till then.
    """
    one = film.first
    late, presses = now_us >= film.closes_us, now_us >= film.begin_us
    named = "LATE" if late else "READY" if presses else "WAIT"
    key = f"put down/{film.job.id}/{one.stage}/{one.name}/{one.turn}/{named}"
    return key, "late" if late else "ready" if presses else "wait"


class InHand(Struct, frozen=True):
    """A film that is in hand: it is laid, or ended.

    Fields:
        job, hands: whose and what.
        first_us: its first touch.
        long_us: from when on it is longer in hand than planned.
        begin_us: when the work that ends it must be begun so that it is done by the close.
        closes_us: when it closes, by the plan.
        say: what ends it, "level".
        laid: True while it is laid; False while it is ended.
    """

    job: Job
    hands: Hands
    first_us: Instant
    long_us: Instant
    begin_us: Instant
    closes_us: Instant
    say: str
    laid: bool

    @property
    def where(self) -> str:
        """The sections in few words."""
        return place_text(self.job, self.hands.stage, self.hands.sections)

    def state(self, now_us: Instant) -> Field:
        """Plain while all goes as planned. A film that is laid for too long is ready for what ends
        it, and late from its close on; to one that is ended nothing more can be done.
        """
        if not self.laid or now_us < min(self.closes_us, max(self.begin_us, self.long_us)):
            return "plain"
        return "ready" if now_us < self.closes_us else "late"


def film_in_hand(jobs: Mapping[str, Job], shift: Shift | None) -> InHand | None:
    """The film that a worker has in hand; None if what is in hand is none."""
    hands = None if shift is None else shift.doing
    if not isinstance(hands, Hands):
        return None
    job = jobs[hands.job]
    stage, turn = job.stage(hands.stage), hands.turn
    laid = lays_film(stage, turn.step)
    if not (laid or ends_film(stage, turn.step)):
        return None
    held = [job.sections[stage.name, name] for name in hands.sections]
    touched = [(one.name, one.first_us) for one in held if one.first_us is not None]
    found = (film_closes_us(job, stage, name, turn, first_us) for name, first_us in touched)
    closes_us = min((at_us for at_us in found if at_us is not None), default=None)
    if closes_us is None:
        return None
    first_us = min(first_us for _name, first_us in touched)
    work = job.work(stage.name, turn)
    ends = job.work(stage.name, replace(turn, step=turn.step + 2)) if laid else work

    def takes_us(what: Work) -> int:
        return round(stage.minutes_of(what, hands.sections) * MINUTE_US)

    return InHand(
        job,
        hands,
        first_us,
        Instant(first_us + takes_us(work)),
        Instant(closes_us - takes_us(ends)),
        closes_us,
        ends.say,
        laid,
    )


def hands_state(film: InHand | None, hands: Hands, now_us: Instant) -> tuple[str, Field]:
    """Key and field of the clock of what is in hand."""
    field: Field = "plain" if film is None else film.state(now_us)
    key = f"hands/{hands.job}/{hands.stage}/{hands.sections}/{hands.turn}"
    return key if field == "plain" else f"{key}/{field}", field


def break_end_us(shift: Shift, planned_s: int, watch: Watch | None) -> Instant:
    """When the break that is taken is over: as planned, or later where the heat asks for more."""
    planned_us = Instant(shift.since_us + planned_s * SECOND_US)
    until_us = None if watch is None else watch.pace.rest_until_us
    return planned_us if until_us is None else max(planned_us, until_us)


def doing_state(
    jobs: Mapping[str, Job], shift: Shift, now_us: Instant, watch: Watch | None = None
) -> tuple[str, Field] | None:
    """Key and field of the clock of what is done; None if nothing is.

    watch: how the worker fares; None: a break ends as planned.
    """
    match shift.doing:
        case Hands() as hands:
            return hands_state(film_in_hand(jobs, shift), hands, now_us)
        case Break(_what, planned_s):
            key = f"break/{shift.since_us}"
            if planned_s is not None and break_end_us(shift, planned_s, watch) <= now_us:
                return f"{key}/over", "ready"
            return key, "break"
        case Other():
            return f"other/{shift.since_us}", "plain"
        case Free() | None:
            return None


def running(jobs: Mapping[str, Job], now_us: Instant) -> list[tuple[Job, Window]]:
    """Dwell and flash windows of all open jobs, the one whose next mark hurts first in front."""
    found = [(job, window) for job in jobs.values() if job.state == "open" for window in job.films]
    rank = {"LATE": 0, "READY": 1, "WAIT": 2}

    def hurts(pair: tuple[Job, Window]) -> tuple[int, int, str]:
        state = pair[1].state(now_us)
        mark_us = pair[1].opens_us if state == "WAIT" else pair[1].closes_us
        return rank[state], mark_us, pair[1].section

    return sorted(found, key=hurts)


def running_films(jobs: Mapping[str, Job], now_us: Instant) -> list[Film]:
    """The running windows by film, the one whose next mark hurts first in front."""
    together: dict[tuple[object, ...], list[Window]] = {}
    for job, window in running(jobs, now_us):
        alike = (window.stage, window.turn, window.first_us, window.last_us, window.marks)
        together.setdefault((job.id, *alike), []).append(window)
    return [Film(jobs[str(key[0])], tuple(windows)) for key, windows in together.items()]


def states(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, watch: Watch | None = None
) -> tuple[tuple[str, Field], ...]:
    """Key and field of every clock that runs and every look that waits, so that each can ring."""
    found = [film_state(film, now_us) for film in running_films(jobs, now_us)]
    found += [put_down_state(film, now_us) for film in put_down_films(jobs, now_us)]
    if shift is not None and shift.on_clock:
        doing = doing_state(jobs, shift, now_us, watch)
        found += [] if doing is None else [doing]
        # Off the clock nobody is at the cart to be called to the phone.
        found += [(key, "ready") for key in call_states(jobs, now_us)]
    if watch is not None:
        found += _body_states(watch)
    return (*found, *look_states(jobs, now_us))


def _body_states(watch: Watch) -> list[tuple[str, Field]]:
    found: list[tuple[str, Field]] = []
    if watch.rest_now:
        # A rest before the next piece rings once; one that is due now rings on.
        soon = watch.pace.grade == "soon"
        found.append(("rest/soon" if soon else "rest", "rest"))
    if watch.drink_rings:
        found.append((f"drink/{watch.water.due_us}", "ready"))
    if watch.check_in.overdue:
        # A new key rings anew: the longer it is overdue, the more often.
        every_s = RING_AGAIN_S[watch.check_in.loudness]
        ring = watch.check_in.overdue_s // every_s if every_s else 0
        found.append((f"well/{watch.check_in.due_us}/{watch.check_in.loudness}/{ring}", "late"))
    return found
