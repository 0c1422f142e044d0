"""What one look at the cart must tell: the word, the clock, the place, what comes next.

Time left is computed from the marks, never counted down. Nothing here draws; the Run screen,
the tests and the caller's answer read the same glance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cartclock.engine.ahead.foreseen import Foresight, by_the_plan
from cartclock.engine.ahead.handover import handover_notices
from cartclock.engine.body.watch import Watch, body_notices, body_remarks
from cartclock.engine.dates import clock_text
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job, any_open
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Break, Hands, Shift
from cartclock.engine.facts.words import move_text, place_text
from cartclock.engine.films import film_advice
from cartclock.engine.films.cure import look_sentences
from cartclock.engine.films.film_advice import cut_hint, keep_wet
from cartclock.engine.films.flashing import NO_OWN, Own
from cartclock.engine.films.gate import gate_notices, pressing
from cartclock.engine.films.recoat import recoat_sentences
from cartclock.engine.films.undone import listed, undone
from cartclock.engine.films.wet import rain_sentences
from cartclock.engine.hours.usual import InStage, UsualOf, in_stage, no_usual
from cartclock.engine.now.at_hand import other_vehicle
from cartclock.engine.now.calling import call_sentences
from cartclock.engine.now.faces import (
    Face,
    doing_face,
    film_face,
    most_urgent,
    put_down_face,
    rest_face,
    well_face,
)
from cartclock.engine.now.moves import wait_line
from cartclock.engine.now.next_rest import next_rest
from cartclock.engine.now.put_down import PutDown, put_down_films
from cartclock.engine.now.running import FILLS_FROM, Film, running_films, span_text
from cartclock.engine.products.chemistry import meeting_notices
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import set_up_notice


class Glance(Struct, frozen=True):
    """Everything the Run screen says.

    Fields:
        head: vehicle; without one, how many jobs are open.
        stage: in hand or next, with its number; "" if none is. count: how much of it is done.
        on_the_clock: time since clocking on, "" when off.
        faces: all that runs, the one that hurts first in front; at least one.
        next_line: what SPACE does.
        next_vehicle: where it does so, if not at the vehicle at hand; "" at that one.
        notices: lines of advice, the most urgent first.
    """

    head: str
    stage: str
    count: str
    on_the_clock: str
    faces: tuple[Face, ...]
    next_line: str
    next_vehicle: str
    notices: tuple[str, ...]

    @property
    def place(self) -> str:
        """The stage and how much of it is done."""
        return f"{self.stage}   {self.count}" if self.stage else ""


class StandingPart(Struct, frozen=True):
    """What of a glance stands still between two marks: everything but clocks.

    Fields:
        head, stage, count, next_line, next_vehicle: as in `Glance`.
        among: what is in hand among the sections of its stage; None if nothing is.
        hot: True if a remover dries fast here.
        met: which products must not meet on what is in hand or next.
        of_films: what is to be known of the films that run or come next.
        gate: what the gate of a coat says, and whether it says more than that all is met.
        looks: the checks that are due; looks_missed: those that are late.
        rain: what rain will reach; handover: which vehicles must not go out yet.
        calls: who is to be called back now; calls_ahead: and later.
        set_up: the set-up that was accepted; "" if none.
        recoat: by when an open layer must be on: what presses, and what is only to be known.
        also_left: what SPACE passes over while a film of a later stage is in play; "" if nothing.
        wet: the sections with a film in play; put_down: those films that nobody has in hand.
    """

    head: str
    stage: str
    count: str
    next_line: str
    next_vehicle: str
    among: InStage | None
    hot: bool
    met: tuple[str, ...]
    of_films: tuple[str, ...]
    gate: tuple[tuple[str, ...], bool]
    looks: tuple[str, ...]
    looks_missed: tuple[str, ...]
    rain: tuple[str, ...]
    handover: tuple[str, ...]
    calls: tuple[str, ...]
    calls_ahead: tuple[str, ...]
    set_up: str
    recoat: tuple[tuple[str, ...], tuple[str, ...]]
    also_left: str
    wet: tuple[str, ...]
    put_down: tuple[PutDown, ...]


def standing_part(
    jobs: Mapping[str, Job],
    shift: Shift | None,
    now_us: Instant,
    chosen: Move | None,
    own: Own = NO_OWN,
    ahead: Foresight | None = None,
) -> StandingPart:
    """What of a glance need not be reckoned anew each second; the arguments of `glance`.

    ahead: what is ahead of the worker; None: by the plan only.
    """
    on = None if shift is None or not shift.on_clock else shift
    ahead = ahead or by_the_plan(jobs, shift)
    head, stage, count = _head(jobs, shift, chosen)
    hands = shift.doing if shift is not None and isinstance(shift.doing, Hands) else None
    return StandingPart(
        head=head,
        stage=stage,
        count=count,
        next_line=_next_line(jobs, on, chosen, now_us),
        next_vehicle="" if on is None else other_vehicle(jobs, on, chosen),
        among=in_stage(jobs[hands.job], hands) if hands and hands.job in jobs else None,
        hot=keep_wet(shift, now_us) != "",
        met=() if on is None else tuple(meeting_notices(jobs, hands, chosen, now_us)),
        of_films=film_advice.film_notices(jobs, shift, now_us, chosen, own),
        gate=_gate(jobs, shift, now_us, chosen),
        looks=tuple(look_sentences(jobs, now_us)),
        looks_missed=tuple(look_sentences(jobs, now_us, late=True)),
        rain=tuple(rain_sentences(jobs, shift, now_us)),
        handover=handover_notices(jobs, ahead, now_us),
        calls=tuple(call_sentences(jobs, now_us, due=True)),
        calls_ahead=tuple(call_sentences(jobs, now_us, due=False)),
        set_up=set_up_notice(jobs, hands, chosen),
        recoat=((), ()) if on is None else recoat_sentences(jobs, now_us, ahead.factors),
        also_left=_also_left(jobs, now_us),
        wet=tuple(section.name for job in jobs.values() for section in in_play(job, now_us)),
        put_down=tuple(put_down_films(jobs, now_us)),
    )


def glance(
    jobs: Mapping[str, Job],
    shift: Shift | None,
    now_us: Instant,
    chosen: Move | None,
    questions: int = 0,
    watch: Watch | None = None,
    news: Sequence[str] = (),
    own: Own = NO_OWN,
    usual: UsualOf = no_usual,
    stands: StandingPart | None = None,
) -> Glance:
    """One look at the cart.

    Args:
        jobs: open jobs by id.
        shift: the worker's shift, None if there never was one.
        chosen: the move the large key would take up.
        questions: how many questions about today are open.
        watch: how the worker fares; None off the clock.
        news: sentences from outside the log, told before the questions.
        own: the worker's watched sections, by product.
        usual: what a step usually takes the worker.
        stands: what `standing_part` says of the same; None: it is asked.
    """
    stands = stands or standing_part(jobs, shift, now_us, chosen, own)
    open_films = running_films(jobs, now_us)
    on = shift if shift is not None and shift.on_clock else None
    return Glance(
        head=stands.head,
        stage=stands.stage,
        count=stands.count,
        on_the_clock="" if on is None else clock_text((now_us - on.on_us) // SECOND_US),
        faces=tuple(_faces(jobs, shift, now_us, open_films, watch, usual, stands)),
        next_line=stands.next_line,
        next_vehicle=stands.next_vehicle,
        notices=_notices(open_films, questions, watch, stands, news),
    )


def _faces(
    jobs: Mapping[str, Job],
    shift: Shift | None,
    now_us: Instant,
    open_films: Sequence[Film],
    watch: Watch | None,
    usual: UsualOf,
    stands: StandingPart,
) -> list[Face]:
    """What runs, the one that hurts first in front; an alarm comes before all of it."""
    films = [film_face(film, now_us, stands.hot) for film in open_films]
    films += [put_down_face(film, now_us) for film in stands.put_down]
    zone = "" if shift is None else shift.on.zone
    alarm = None if watch is None else _alarm(watch, open_films, now_us, zone)
    if alarm is not None:
        return [alarm, *most_urgent(films)]
    if shift is None or not shift.on_clock:
        return most_urgent([*films, Face("OFF THE CLOCK", "", "", _begin_text(jobs), "off", "off")])
    doing = doing_face(jobs, shift, now_us, usual, next_rest(watch).figure, stands.among, watch)
    found = [*films] if doing is None else [*films, doing]
    if watch is not None and watch.rest_now and not watch.pace.no_work_time:
        found.append(rest_face(watch, now_us, zone))
    return most_urgent(found) if found else [_free_face(jobs, shift, now_us, watch)]


def _free_face(jobs: Mapping[str, Job], shift: Shift, now_us: Instant, watch: Watch | None) -> Face:
    """Hands without work."""
    if not any_open(jobs.values()):
        return Face(
            "NO JOB OPEN", "", "", "T shows what waits; there + opens one", "plain", "no job"
        )
    return Face(
        "NOTHING IN HAND",
        span_text(now_us - shift.since_us),
        "",
        "since nothing is in hand",
        "plain",
        "free",
        "up",
        next_rest(watch).figure,
    )


def _begin_text(jobs: Mapping[str, Job]) -> str:
    """How the day begins."""
    if any_open(jobs.values()):
        return "SPACE clocks you on"
    return "T, then +, opens a job; SPACE clocks you on"


def _alarm(watch: Watch, open_films: Sequence[Film], now_us: Instant, zone: str) -> Face | None:
    """What fills the screen: a rest that is called, or nobody having said for long to be well.

    Never between two wipes: while a film runs its clock stays.
    """
    if watch.check_in.overdue and watch.check_in.loudness >= FILLS_FROM:
        running = any(film.first.state(now_us) != "LATE" for film in open_films)
        return None if running else well_face(watch)
    soon = watch.pace.grade == "soon" and not watch.pace.no_work_time
    return rest_face(watch, now_us, zone) if watch.rest_now and not soon else None


def _next_line(
    jobs: Mapping[str, Job], shift: Shift | None, chosen: Move | None, now_us: Instant
) -> str:
    if shift is None:
        return "clock on"
    if chosen is None:
        return "nothing: T, then +, opens a job"
    if chosen.act == "stand by" and shift.state == "free" and chosen.opens_us is not None:
        # There is nothing to press for: whoever has free hands stands by already.
        return wait_line(jobs, chosen, now_us)
    if chosen.act != "end":
        return move_text(chosen, jobs)
    match shift.doing:
        case Hands(job_id, stage, sections, turn):
            job = jobs[job_id]
            say = job.work(stage, turn).say
            return f"finish: {say} {place_text(job, stage, sections)}"
        case Break():
            return "end the break, nothing in hand"
        case _:
            return "end this, nothing in hand"


def _head(
    jobs: Mapping[str, Job], shift: Shift | None, chosen: Move | None
) -> tuple[str, str, str]:
    """Vehicle, stage and how much of it is done."""
    job_id, stage_name = "", ""
    if shift is not None and isinstance(shift.doing, Hands):
        job_id, stage_name = shift.doing.job, shift.doing.stage
    elif chosen is not None:
        job_id, stage_name = chosen.job, chosen.stage
    job = jobs.get(job_id)
    if job is None:
        count = sum(job.state == "open" for job in jobs.values())
        said = f"{count} open job{'' if count == 1 else 's'}" if count else "no open job"
        return said, "", ""
    if stage_name not in job.order:
        return job.opened.vehicle, "", ""
    place = [stage.name for stage in job.stages].index(stage_name) + 1
    stage = f"{stage_name} {place}/{len(job.stages)}"
    return job.opened.vehicle, stage, progress_text(job, stage_name)


def _notices(
    open_films: Sequence[Film],
    questions: int,
    watch: Watch | None,
    stands: StandingPart,
    news: Sequence[str],
) -> tuple[str, ...]:
    found = [*stands.met]
    for film in open_films:
        if film.first.too_big:
            too_big = f"{film.where} closes before it opens: too big at this pace."
            found.append(f"{too_big} {cut_hint(film.job, film.first.stage)}".rstrip())
    found += stands.of_films
    if watch is not None:
        found += body_notices(watch, stands.wet)
    said, presses = stands.gate
    found += said if presses else ()
    recoat, later = stands.recoat
    found += [*recoat, *stands.looks, *stands.rain]
    # What can wait waits until no film is in play.
    found += () if stands.wet else (*stands.handover, *stands.calls)
    found += [stands.also_left] if stands.also_left else []
    # What is worth knowing for the work in hand or next, below what hurts.
    found += [stands.set_up] if stands.set_up else []
    found += later
    found += () if stands.wet else stands.calls_ahead
    found += news
    found += () if stands.wet else stands.looks_missed
    if questions and not stands.wet:
        found.append(f"{questions} question{'' if questions == 1 else 's'} about today (G)")
    found += () if presses else said
    if watch is not None:
        found += body_remarks(watch)
    return tuple(found)


def _also_left(jobs: Mapping[str, Job], now_us: Instant) -> str:
    """What is left in front of the stages with a film in play; "" if nothing is."""
    said = []
    for job in jobs.values():
        films = in_play(job, now_us)
        for one in undone(job, films[-1].stage) if films else ():
            left = [s for s in one.sections if s.state not in ("in hand", "waiting")]
            if len(left) == 1:
                said.append(f"{job.work(one.stage, left[0].turn).say} {left[0].name}")
            elif left:
                said.append(f"{one.stage} {len(left)}")
    return f"Also left: {listed(said)}." if said else ""


def _gate(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, chosen: Move | None
) -> tuple[tuple[str, ...], bool]:
    """What the gate of a coat says, and whether it says more than that all is met."""
    doing = None if shift is None else shift.doing
    job_id = doing.job if isinstance(doing, Hands) else "" if chosen is None else chosen.job
    job = jobs.get(job_id)
    if job is None:
        return (), False
    stage = "" if chosen is None or chosen.job != job_id else chosen.stage
    return gate_notices(job, shift, now_us, stage), pressing(job, shift, now_us, stage)
