"""What one look at the cart must tell: the word, the clock, the place, what comes next.

Time left is computed from the marks, never counted down. Nothing here draws; the Run screen,
the tests and the caller's answer read the same glance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.handover import handover_notices
from cartclock.engine.body.rest_words import RULE_WORDS, left_minutes
from cartclock.engine.body.watch import Watch, body_notices, body_remarks
from cartclock.engine.dates import clock_text
from cartclock.engine.facts.in_play import in_play
from cartclock.engine.facts.job import Job, any_open
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US, Window, work_of
from cartclock.engine.facts.shift import Break, Free, Hands, Other, Shift
from cartclock.engine.facts.words import move_text, place_text
from cartclock.engine.films import film_advice
from cartclock.engine.films.cure import look_sentences, look_states
from cartclock.engine.films.film_advice import cut_hint, keep_wet
from cartclock.engine.films.flashing import NO_OWN, Own
from cartclock.engine.films.gate import gate_notices, pressing
from cartclock.engine.films.undone import listed, undone
from cartclock.engine.films.wet import rain_sentences
from cartclock.engine.hours.usual import UsualOf, against, no_usual, on_it_us, place_in_stage
from cartclock.engine.now.at_hand import other_vehicle
from cartclock.engine.plan.plan import Wait
from cartclock.engine.products.chemistry import meeting_notices
from cartclock.engine.times import Instant
from cartclock.engine.vehicle.vehicle import set_up_notice

# Seconds after which an "I am well" that is due rings again, by its loudness; 0: once. From this
# loudness on it fills the screen. Our own judgement.
RING_AGAIN_S = (0, 60, 20, 5)
FILLS_FROM = 2

Field = Literal["plain", "wait", "ready", "late", "rest", "break", "back", "off", "ask"]


class Face(Struct, frozen=True):
    """One clock with its word.

    Fields:
        word: what the hands do, in capitals.
        clock: the digits, "" for none; a leading "+" means over the mark.
        where: the section or the kind.
        under: one line on what the digits mean.
        field: how the ground is painted; the word says the same.
        key: what this face belongs to, so that a screen can tell a new state from a tick.
    """

    word: str
    clock: str
    where: str
    under: str
    field: Field
    key: str


class Glance(Struct, frozen=True):
    """Everything the Run screen says.

    Fields:
        head: vehicle; without one, how many jobs are open.
        place: stage in hand and how much of it is done, "" if no stage is.
        on_the_clock: time since clocking on, "" when off.
        faces: one or two, the first one belongs to the hands.
        next_line: what SPACE does.
        next_vehicle: where it does so, if not at the vehicle at hand; "" at that one.
        windows: the other running windows, by their next mark.
        notices: lines of advice, the most urgent first.
    """

    head: str
    place: str
    on_the_clock: str
    faces: tuple[Face, ...]
    next_line: str
    next_vehicle: str
    windows: tuple[str, ...]
    notices: tuple[str, ...]


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


EXAMPLE_TIMES = "example times"
"""Behind what is said of a window whose numbers are the starter's and not the pack's."""


def film_face(film: Film, now_us: Instant, hot: bool = False) -> Face:
    """The clock of a running window: to `opens` while it waits, to `closes` while it is ready,
    and how long it is over when it is late. While a film is to be looked at it runs to the mark
    by which it is to be worked.

    hot: True if a remover dries fast here.
    """
    face = _film_face(film, now_us, hot)
    step = film.job.stage(film.first.stage).steps[film.first.turn.step - 1]
    example = isinstance(step, Wait) and step.example
    return replace(face, under=f"{face.under}, {EXAMPLE_TIMES}") if example else face


def _film_face(film: Film, now_us: Instant, hot: bool) -> Face:
    window = film.first
    work = film.job.work(window.stage, window.turn)
    state = window.state(now_us)
    looks = window.to_look_at(now_us)
    key, field = film_state(film, now_us)
    closes = span_text(window.closes_us - now_us)
    if state == "LATE":
        under = f"closed {span_text(now_us - window.closes_us)} ago"
        return Face(f"LATE: {work.say.upper()}", closes, film.where, under, field, key)
    if state == "WAIT":
        opens = span_text(window.opens_us - now_us)
        under = f"{work.say} opens {opens}, closes {closes}"
        if window.off_by_us is not None:
            expect = _expected(window, now_us)
            under = f"look {opens}, {expect}closes {closes}"
        elif hot and window.kind == "dwell":
            under = f"KEEP WET, opens {opens}, closes {closes}"
        return Face("WAIT", opens, film.where, under, field, key)
    many = 1 if work.over == "all" else len(film.windows)
    begin_by_us = max(window.opens_us, window.closes_us - round(work.minutes * many * MINUTE_US))
    if window.off_by_us is not None:
        # A film that must be off by then does not wait for its close.
        mark = "off by" if window.off_by_us <= begin_by_us else "begin"
        begin_by_us = min(window.off_by_us, begin_by_us)
        if looks:
            left_us = max(0, begin_by_us - now_us)
            under = f"{mark} {span_text(left_us)}, closes {closes}"
            under = f"{_expected(window, now_us)}{under}"
            return Face("LOOK", span_text(left_us), film.where, under, field, key)
    by = f"by {span_text(begin_by_us - now_us)}" if begin_by_us > now_us else "now"
    under = f"begin {by}, closes {closes}"
    if hot and window.kind == "dwell":
        under = f"{work.say} early, closes {closes}"
    return Face(work.say.upper(), closes, film.where, under, field, key)


def _expected(window: Window, now_us: Instant) -> str:
    due_us = window.expected_us
    if due_us is None or due_us <= now_us:
        return ""
    return f"expect {span_text(due_us - now_us)}, "


def hands_face(
    jobs: Mapping[str, Job],
    shift: Shift,
    now_us: Instant,
    usual: UsualOf = no_usual,
    rest: str = "",
) -> Face | None:
    """The time on what is in hand against the worker's usual; None if nothing is in hand.

    rest: when the next rest is due, in few words; "" if nothing is known.
    """
    hands = shift.doing
    if not isinstance(hands, Hands):
        return None
    job = jobs[hands.job]
    stage = job.stage(hands.stage)
    word, seconds = against(stage, hands, usual)
    word += ":" if word == "yours" else ""
    said = f"{word} {clock_text(seconds)}" if seconds else "no time planned"
    under = [said, place_in_stage(job, hands), rest]
    return Face(
        work_of(stage, hands.turn).say.upper(),
        span_text(on_it_us(job, hands, shift, now_us)),
        place_text(job, hands.stage, hands.sections),
        ", ".join(part for part in under if part),
        "plain",
        _hands_key(hands),
    )


def _hands_key(hands: Hands) -> str:
    return f"hands/{hands.job}/{hands.stage}/{hands.sections}/{hands.turn}"


def rest_text(watch: Watch | None) -> str:
    """When the next rest is due, in few words; "" if none is within the hour."""
    if watch is None or watch.pace.left_s is None or watch.rest == "overruled":
        return ""
    rest = f"{watch.pace.rest_minutes} min rest" if watch.pace.rest_s else "rest"
    if watch.rest == "after the film":
        return f"after this film {rest}"
    if watch.rest == "after the piece" and not watch.pace.in_the_piece:
        return f"then {rest}"
    minutes = left_minutes(watch.pace)
    return f"rest in {minutes} min" if minutes else "rest is due"


def _doing_state(shift: Shift, now_us: Instant) -> tuple[str, Field] | None:
    """Key and field of the clock of what is done; None if nothing is."""
    match shift.doing:
        case Hands() as hands:
            return _hands_key(hands), "plain"
        case Break(_what, planned_s):
            key = f"break/{shift.since_us}"
            if planned_s is not None and shift.since_us + planned_s * SECOND_US <= now_us:
                return f"{key}/over", "ready"
            return key, "break"
        case Other():
            return f"other/{shift.since_us}", "plain"
        case Free() | None:
            return None


def _doing_face(
    jobs: Mapping[str, Job],
    shift: Shift,
    now_us: Instant,
    usual: UsualOf = no_usual,
    rest: str = "",
) -> Face | None:
    spent_us = now_us - shift.since_us
    state = _doing_state(shift, now_us)
    if state is None:
        return None
    key, field = state
    match shift.doing:
        case Hands():
            return hands_face(jobs, shift, now_us, usual, rest)
        case Break(what, planned_s):
            if planned_s is None:
                return Face("BREAK", span_text(spent_us), what, "no end planned", field, key)
            left_us = planned_s * SECOND_US - spent_us
            planned = f"{clock_text(planned_s)} planned"
            if field == "break":
                return Face("BREAK", span_text(left_us), what, planned, field, key)
            # Not on the ground of a film that is ready: from afar that is another matter.
            return Face("BACK TO WORK", span_text(left_us), what, planned, "back", key)
        case Other(what, job_id):
            job = jobs.get(job_id)
            whose = job.opened.vehicle if job is not None else "the cart"
            return Face(
                what.upper(),
                span_text(spent_us),
                f"for {whose}",
                "other work",
                field,
                key,
            )
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


def most_urgent(faces: Sequence[Face]) -> list[Face]:
    """The faces with the one that hurts first in front."""
    order: tuple[Field, ...] = (
        "late", "rest", "ready", "ask", "back", "break", "plain", "wait", "off",
    )  # fmt: skip
    rank = {field: at for at, field in enumerate(order)}
    return sorted(faces, key=lambda face: rank[face.field])


def states(
    jobs: Mapping[str, Job], shift: Shift | None, now_us: Instant, watch: Watch | None = None
) -> tuple[tuple[str, Field], ...]:
    """Key and field of every clock that runs and every look that waits, so that each can ring."""
    found = [film_state(film, now_us) for film in running_films(jobs, now_us)]
    if shift is not None and shift.on_clock:
        doing = _doing_state(shift, now_us)
        found += [] if doing is None else [doing]
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


def _rest_face(watch: Watch, now_us: Instant) -> Face:
    """The rest that is called: how long it must be, since when, and by which rule. Its ground is
    its own: red is for a film that is late.
    """
    pace = watch.pace
    ago = "" if watch.called_us is None else f"called {span_text(now_us - watch.called_us)} ago, "
    if pace.no_work_time:
        what = pace.eased or "a cooler place or a cooler hour"
        under = f"{ago}{what}, screening estimate"
        return Face("NOT HERE", "", "no work time here", under, "rest", "rest")
    rest = span_text(pace.rest_minutes * MINUTE_US)
    where = "where it is cool"
    rule = RULE_WORDS.get(pace.rule, pace.rule)
    if pace.grade == "soon":
        under = f"before the next piece, {ago}{rule}, screening estimate"
        return Face("REST SOON", rest, where, under, "rest", "rest/soon")
    return Face("REST NOW", rest, where, f"{ago}{rule}, screening estimate", "rest", "rest")


def _well_face(watch: Watch) -> Face:
    over = span_text(-watch.check_in.overdue_s * SECOND_US)
    return Face("ARE YOU WELL?", over, "press J", "this program calls nobody", "late", "well")


class StandingPart(Struct, frozen=True):
    """What of a glance stands still between two marks: everything but clocks.

    Fields:
        head, place, next_line, next_vehicle: as in `Glance`.
        hot: True if a remover dries fast here.
        met: which products must not meet on what is in hand or next.
        of_films: what is to be known of the films that run or come next.
        gate: what the gate of a coat says, and whether it says more than that all is met.
        looks: the checks that are due; looks_missed: those that are late.
        rain: what rain will reach; handover: which vehicles must not go out yet.
        set_up: the set-up that was accepted; "" if none.
        also_left: what SPACE passes over while a film of a later stage is in play; "" if nothing.
        wet: the sections with a film in play.
    """

    head: str
    place: str
    next_line: str
    next_vehicle: str
    hot: bool
    met: tuple[str, ...]
    of_films: tuple[str, ...]
    gate: tuple[tuple[str, ...], bool]
    looks: tuple[str, ...]
    looks_missed: tuple[str, ...]
    rain: tuple[str, ...]
    handover: tuple[str, ...]
    set_up: str
    also_left: str
    wet: tuple[str, ...]


def standing_part(
    jobs: Mapping[str, Job],
    shift: Shift | None,
    now_us: Instant,
    chosen: Move | None,
    own: Own = NO_OWN,
) -> StandingPart:
    """What of a glance need not be reckoned anew each second; the arguments of `glance`."""
    on = None if shift is None or not shift.on_clock else shift
    head, place = _head(jobs, shift, chosen)
    hands = shift.doing if shift is not None and isinstance(shift.doing, Hands) else None
    return StandingPart(
        head=head,
        place=place,
        next_line=_next_line(jobs, on, chosen),
        next_vehicle="" if on is None else other_vehicle(jobs, on, chosen),
        hot=keep_wet(shift, now_us) != "",
        met=() if on is None else tuple(meeting_notices(jobs, hands, chosen, now_us)),
        of_films=film_advice.film_notices(jobs, shift, now_us, chosen, own),
        gate=_gate(jobs, shift, now_us, chosen),
        looks=tuple(look_sentences(jobs, now_us)),
        looks_missed=tuple(look_sentences(jobs, now_us, late=True)),
        rain=tuple(rain_sentences(jobs, shift, now_us)),
        handover=tuple(handover_notices(jobs, now_us)),
        set_up=set_up_notice(jobs, hands, chosen),
        also_left=_also_left(jobs, now_us),
        wet=tuple(section.name for job in jobs.values() for section in in_play(job, now_us)),
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
    faces: list[Face] = []
    on = shift if shift is not None and shift.on_clock else None
    if on is None:
        faces.append(Face("OFF THE CLOCK", "", "", _begin_text(jobs), "off", "off"))
    else:
        doing = _doing_face(jobs, on, now_us, usual, rest_text(watch))
        if doing is not None:
            faces.append(doing)
    shown = open_films[: 2 - len(faces)]
    faces += [film_face(film, now_us, stands.hot) for film in shown]
    if not faces and shift is not None:
        open_job = any_open(jobs.values())
        faces.append(
            Face(
                "NOTHING IN HAND",
                span_text(now_us - shift.since_us),
                "",
                "SPACE takes up what comes next" if open_job else "no job is open",
                "plain",
                "free",
            )
        )
    alarm = None if watch is None else _alarm(watch, open_films, now_us)
    if alarm is not None:
        faces, shown = [alarm], []
    others = tuple(_film_line(film, now_us) for film in open_films[len(shown) :])
    return Glance(
        head=stands.head,
        place=stands.place,
        on_the_clock="" if on is None else clock_text((now_us - on.on_us) // SECOND_US),
        faces=tuple(faces),
        next_line=stands.next_line,
        next_vehicle=stands.next_vehicle,
        windows=others,
        notices=_notices(open_films, questions, watch, stands, news),
    )


def _begin_text(jobs: Mapping[str, Job]) -> str:
    """How the day begins."""
    if any_open(jobs.values()):
        return "SPACE clocks you on"
    return "T, then +, opens a job; SPACE clocks you on"


def _alarm(watch: Watch, open_films: Sequence[Film], now_us: Instant) -> Face | None:
    """What fills the screen: a rest that is called, or nobody having said for long to be well.

    Never between two wipes: while a film runs its clock stays.
    """
    if watch.check_in.overdue and watch.check_in.loudness >= FILLS_FROM:
        running = any(film.first.state(now_us) != "LATE" for film in open_films)
        return None if running else _well_face(watch)
    return _rest_face(watch, now_us) if watch.rest_now else None


def _next_line(jobs: Mapping[str, Job], shift: Shift | None, chosen: Move | None) -> str:
    if shift is None:
        return "clock on"
    if chosen is None:
        return "nothing to take up; T, then +, opens a job"
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


def _film_line(film: Film, now_us: Instant) -> str:
    face = film_face(film, now_us)
    return f"{face.where}: {face.word.lower()} {face.clock}"


def _head(jobs: Mapping[str, Job], shift: Shift | None, chosen: Move | None) -> tuple[str, str]:
    job_id, stage_name = "", ""
    if shift is not None and isinstance(shift.doing, Hands):
        job_id, stage_name = shift.doing.job, shift.doing.stage
    elif chosen is not None:
        job_id, stage_name = chosen.job, chosen.stage
    job = jobs.get(job_id)
    if job is None:
        count = sum(job.state == "open" for job in jobs.values())
        said = f"{count} open job{'' if count == 1 else 's'}" if count else "no open job"
        return said, ""
    if stage_name not in job.order:
        return job.opened.vehicle, ""
    place = [stage.name for stage in job.stages].index(stage_name) + 1
    said = progress_text(job, stage_name)
    return job.opened.vehicle, f"{stage_name} {place}/{len(job.stages)}   {said}"


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
    found += [*stands.looks, *stands.rain]
    # What can wait waits until no film is in play.
    found += () if stands.wet else stands.handover
    found += [stands.also_left] if stands.also_left else []
    # What is worth knowing for the work in hand or next, below what hurts.
    found += [stands.set_up] if stands.set_up else []
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
