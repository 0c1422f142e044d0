"""What a worker may do: each rule returns the events of one press.

A rule is given the scene and the facts of the press and returns its drafts, or raises
`Refused` (it cannot be) or `Asks` (it may be, if said again with a reason). The same call
greys a key and says why. While a film is in play nothing is asked about the work that can
wait; only leaving the film, or ending the day or the job, may be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.after.handover import early
from cartclock.engine.body.pace import Pace
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.in_force import reading_in_force
from cartclock.engine.facts.in_play import film_runs, in_play, lays_film
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import MINUTE_US, Draft
from cartclock.engine.facts.section import SECOND_US, Section, next_turn, wait_after
from cartclock.engine.facts.shift import Break, Free, Hands, Other
from cartclock.engine.facts.shift_events import BreakKind, GapAnswer, OtherKind
from cartclock.engine.facts.turn import Turn
from cartclock.engine.figures.air import TemperatureUnit
from cartclock.engine.figures.measured import BREAK_MINUTES, PACK
from cartclock.engine.films import gate
from cartclock.engine.films.before_coat import ALL_THERE, BEFORE_COAT, layer_called, page_due
from cartclock.engine.films.cure import looks
from cartclock.engine.films.flashing import opening_marks
from cartclock.engine.films.undone import UNDONE, undone_question
from cartclock.engine.films.waves import PLANNED, wave_since_us
from cartclock.engine.hours.partition import partition
from cartclock.engine.hours.usual import against, no_usual, on_it_us
from cartclock.engine.now.easing import eases
from cartclock.engine.now.moves import finishing, wait_line
from cartclock.engine.now.scene import Scene
from cartclock.engine.plan.plan import Stage, Work
from cartclock.engine.products.reminders import first_use_question, first_used, known_to
from cartclock.engine.rules import readings
from cartclock.engine.rules.film_left import FILM_LEFT, film_left_question
from cartclock.engine.rules.rest_in_wave import REST_DUE, REST_IN_WAVE, rest_question
from cartclock.engine.rules.typed import refuse_price
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks, Refused

Drafts = tuple[Draft, ...]
NO_REASONS: Mapping[str, str] = {}


def _ask(over: Mapping[str, str], rule_id: str, sentence: str) -> None:
    if rule_id not in over:
        raise Asks(rule_id, sentence)


def _end(scene: Scene, finish: bool) -> list[Draft]:
    """Ends what the worker is at: finished or put down, break over, other work over."""
    shift = scene.on
    match shift.doing:
        case Hands() as hands if finish:
            job = scene.job(hands.job)
            marks = opening_marks(job, hands, shift, scene.now_us, scene.own)
            drafts = [Draft(finishing(job, hands, marks=marks), job.id)]
            amounts = _amounts(job, hands)
            if amounts:
                used = ev.ProductUsed(hands.stage, hands.sections, hands.turn, amounts)
                drafts.append(Draft(used, job.id))
            return drafts
        case Hands(job_id, stage, sections, turn):
            return [Draft(ev.WorkPutDown(stage, sections, turn), job_id)]
        case Break():
            return [Draft(ev.BreakEnded())]
        case Other():
            return [Draft(ev.OtherWorkEnded())]
        case Free() | None:
            return []


def minutes_over(scene: Scene) -> bool:
    """True if what is in hand has had its planned minutes and no film begins behind it."""
    hands = scene.on.doing
    if not isinstance(hands, Hands) or _begins_film(scene):
        return False
    job = scene.job(hands.job)
    stage = job.stage(hands.stage)
    _word, planned_s = against(stage, hands, no_usual)
    return 0 < planned_s * SECOND_US <= on_it_us(job, hands, scene.on, scene.now_us)


def _begins_film(scene: Scene) -> bool:
    """True if finishing what is in hand begins a dwell or flash."""
    hands = scene.on.doing
    if not isinstance(hands, Hands):
        return False
    return lays_film(scene.job(hands.job).stage(hands.stage), hands.turn.step)


def _amounts(job: Job, hands: Hands) -> dict[str, float]:
    begun = any(
        (s.stage, s.turn.layer, s.turn.step) == (hands.stage, hands.turn.layer, hands.turn.step)
        for s in job.stints
    )
    work = job.work(hands.stage, hands.turn)
    return amounts_of(work, len(hands.sections), begun)


def amounts_of(work: Work, sections: int, begun: bool) -> dict[str, float]:
    """What a work step takes on so many sections, by product id.

    `begun` is False for the first press of that step in the stage, which takes the priming.
    """
    amounts = {}
    for use in work.uses:
        amount = use.amount * sections
        if use.first is not None and not begun:
            amount += use.first - use.amount
        amounts[use.product] = amount
    return amounts


def clock_on(scene: Scene, on: ev.ClockedOn) -> Drafts:
    """The shift begins."""
    if scene.shift is not None and scene.shift.on_clock:
        raise Refused("You are on the clock already.")
    return (Draft(on),)


def clock_off(
    scene: Scene, over: Mapping[str, str] = NO_REASONS, told: tuple[str, ...] = ()
) -> Drafts:
    """The shift ends; what is in hand is put down. Asks while a film is in play on one of its
    jobs, unless another worker has it in hand.

    told: what was said of the next day (`engine.now.be_here_by`).
    """
    drafts = _end(scene, finish=False)
    wet = [
        section.name
        for job in scene.jobs.values()
        if job.id in scene.on.jobs
        for section in in_play(job, scene.now_us)
        if section.worker in ("", scene.worker)
    ]
    if wet:
        names = ", ".join(wet[:3]) + (f" and {len(wet) - 3} more" if len(wet) > 3 else "")
        _ask(over, "window_open", f"A film is still in play on {names}. Clock off all the same?")
    return (*drafts, Draft(ev.ClockedOff(dict(over), told)))


def open_job(scene: Scene, job_id: str, opened: ev.JobOpened) -> Drafts:
    """A job begins to exist; nobody need be on the clock."""
    if job_id in scene.jobs:
        raise Refused("That job is open already.")
    if not opened.plan.stages:
        raise Refused("The plan has no stages.")
    refuse_price(opened.price)
    return (Draft(opened, job_id),)


def take_up(
    scene: Scene,
    move: Move,
    over: Mapping[str, str] = NO_REASONS,
    finish: bool = True,
    rest_called: bool = False,
    pace: Pace | None = None,
    before_coat: bool = False,
) -> Drafts:
    """Takes up a move and ends what was in hand (`finish` False: puts it down instead).

    `rest_called`: a rest was called for; work then asks for a reason, which is written down, and
    the rest itself puts down what is in hand unless its planned minutes are over.
    `pace`: how the hour stands, for the rest that would fall into a coat; None: not asked about.
    `before_coat`: the page before a coat is asked for.
    """
    if move.act == "close":
        return close_job(scene, move.job, over)
    if move.act == "rest":
        ended = finish and (minutes_over(scene) if rest_called else not _begins_film(scene))
        return take_break(scene, "heat", round(move.minutes * 60) or None, ended, over)
    lighter = rest_called and eases(move, scene.jobs, pace)
    # Called in the middle of a piece it breaks that off, as the rest itself does.
    broken = lighter and pace is not None and pace.no_work_time
    finish = finish and (not broken or minutes_over(scene))
    drafts = _end(scene, finish)
    if rest_called and move.act == "take up" and not lighter:
        none = pace is not None and pace.no_work_time
        called = (
            "No work time here: a cooler place or a cooler hour" if none else "A rest is called for"
        )
        _ask(over, REST_DUE, f"{called}. Go on working all the same?")
        drafts.insert(0, Draft(ev.RestOverruled(over[REST_DUE])))
    if move.act == "end":
        if not drafts:
            raise Refused("Nothing is in hand.")
        return tuple(drafts)
    job = scene.job(move.job)
    if move.act == "look":
        if not drafts:
            raise Refused("What was seen is written from the list of looks.")
        return tuple(drafts)
    if move.act == "change":
        if not drafts:
            raise Refused("A fresh pad or towel is written from its list.")
        return tuple(drafts)
    if move.act == "stand by":
        if not drafts:
            raise Refused(f"Nothing is in hand; {wait_line(scene.jobs, move, scene.now_us)}.")
        return tuple(drafts)
    after = scene.ended(finish)
    wave = film_runs(after.values(), scene.now_us)
    hands = scene.on.doing
    for name in move.sections:
        section = section_of(job, move.stage, name)
        if isinstance(hands, Hands) and hands.job == job.id and _holds(hands, move, name):
            if _after(job, hands, finish) != move.turn:
                raise Refused(f"{name} is not at that step any more.")
            wait = wait_after(job.stage(hands.stage), hands.turn)
            if finish and wait is not None and wait[0] == "gap":
                opens_us = scene.now_us + wait[1].opens_s * SECOND_US
                _ask_early(scene, over, name, move.turn.layer, opens_us, wave)
            continue
        if section.state == "in hand":
            raise Refused(f"{name} is in the hands of {section.worker}.")
        if section.state not in ("todo", "held", "waiting"):
            raise Refused(f"{name} is {section.told}.")
        if section.turn != move.turn:
            raise Refused(f"{name} is not at that step any more.")
        window = section.window
        if window is not None and window.kind == "gap":
            _ask_early(scene, over, name, section.turn.layer, window.opens_us, wave)
    if not wave:
        _ask_before(scene, over, after[job.id], move, finish, pace, before_coat)
    started = ev.WorkStarted(move.stage, move.sections, move.turn, dict(over))
    return (*drafts, Draft(started, job.id))


def _ask_early(
    scene: Scene, over: Mapping[str, str], name: str, layer: int, opens_us: int, wave: bool
) -> None:
    """Asks before a layer whose gap is not open; never while a wave runs."""
    if opens_us > scene.now_us and not wave:
        minutes = -(-(opens_us - scene.now_us) // MINUTE_US)
        _ask(
            over,
            "layer_early",
            f"Layer {layer} on {name} is early: its gap opens in {minutes} min. "
            "Lay it all the same?",
        )


def _ask_before(
    scene: Scene,
    over: Mapping[str, str],
    job: Job,
    move: Move,
    finish: bool,
    pace: Pace | None,
    before_coat: bool,
) -> None:
    """Asks before work: what is not done before a coat, the rest that falls into it, the page of
    what it needs, what is new, and what the gate says.

    job: as it is when what is in hand has ended, which is finished or put down.
    """
    # First, because the reading grows old while what is missing is done.
    missing = undone_question(job, move.stage, move.sections, move.turn)
    if missing:
        _ask(over, UNDONE, missing)
    resting = isinstance(scene.on.doing, Break)
    # What was learned is looked up where a layer is begun, and not at every press.
    coats = job.stage(move.stage).kind == "coat" and move.turn.step == 0
    factors = scene.factors(job.id) if coats else PLANNED
    rest = rest_question(job, move, pace, scene.now_us, resting, factors)
    if rest:
        _ask(over, REST_IN_WAVE, rest)
    new = first_used(job, move, lambda: known_to(scene.on, scene.known_products()))
    if before_coat and page_due(job, move, scene.on.on_us):
        # Why here: engine/now/DECISIONS.md 7. What is new is said on the same page.
        called = layer_called(job, move.stage, move.turn.layer)
        _ask(over, BEFORE_COAT, " ".join([f"Before {called}.", *new.values(), ALL_THERE]))
    if new:
        _ask(over, "first_use", first_use_question(new))
    # What the press finishes belongs to the wave that goes on with it; what is put down ends it.
    layer = (move.stage, move.turn.layer)
    wave_us = wave_since_us(scene.job(job.id), *layer, scene.now_us) if finish else None
    for rule_id, sentence in gate.asks(
        job, move.stage, move.sections, move.turn, scene.on, scene.now_us, wave_us, factors
    ):
        _ask(over, rule_id, sentence)


def _holds(hands: Hands, move: Move, name: str) -> bool:
    return hands.stage == move.stage and name in hands.sections


def _after(job: Job, hands: Hands, finish: bool) -> Turn | None:
    return next_turn(job.stage(hands.stage), hands.turn) if finish else hands.turn


def name_of(sections: Sequence[str]) -> str:
    """One section by name, several by number."""
    return sections[0] if len(sections) == 1 else f"{len(sections)} sections"


def section_of(job: Job, stage: str, name: str) -> Section:
    """The section; refuses if there is none."""
    section = job.sections.get((stage, name))
    if section is None:
        raise Refused(f"There is no section {name} in {stage}.")
    return section


def stage_of(job: Job, name: str) -> Stage:
    """The stage; refuses if there is none."""
    if name not in job.order:
        raise Refused(f"There is no stage {name}.")
    return job.stage(name)


def put_down(scene: Scene) -> Drafts:
    """Hands off what is in hand, unfinished."""
    if not isinstance(scene.on.doing, Hands):
        raise Refused("Nothing is in hand.")
    return tuple(_end(scene, finish=False))


def take_break(
    scene: Scene,
    what: BreakKind,
    planned_s: int | None = None,
    finish: bool = False,
    over: Mapping[str, str] = NO_REASONS,
) -> Drafts:
    """A break begins; what is in hand is put down (`finish` True: finished). Asks before a film is
    left half done, or until after it closes.
    """
    if isinstance(scene.on.doing, Break) and scene.on.doing.what == what:
        raise Refused("That break is on already.")
    readings.within(BREAK_MINUTES, (planned_s or 0) / 60)
    drafts = _end(scene, finish)
    _ask_left(scene, over, finish, planned_s)
    return (*drafts, Draft(ev.BreakTaken(what, planned_s, dict(over))))


def start_other(
    scene: Scene,
    what: OtherKind,
    job: str = "",
    finish: bool = False,
    over: Mapping[str, str] = NO_REASONS,
) -> Drafts:
    """Other work begins; what is in hand is put down (`finish` True: finished). Asks before a film
    is left half done.
    """
    if scene.on.doing == Other(what, job):
        raise Refused("That is on already.")
    drafts = _end(scene, finish)
    _ask_left(scene, over, finish)
    return (*drafts, Draft(ev.OtherWorkStarted(what, job, dict(over))))


def _ask_left(
    scene: Scene, over: Mapping[str, str], finish: bool, planned_s: int | None = None
) -> None:
    left = film_left_question(scene, finish, planned_s)
    if left:
        _ask(over, FILM_LEFT, left)


def assign_other(scene: Scene, job: str) -> Drafts:
    """The other work that is on serves another job, from its beginning; "": nobody's.

    Said of an earlier time it moves a stretch that is over, also one of a closed shift.
    """
    doing = scene.on.doing
    if not isinstance(doing, Other):
        raise Refused("No other work was on then.")
    if doing.job == job:
        raise Refused("It is booked so already.")
    known = scene.jobs.get(job)
    if job and (known is None or known.state != "open"):
        raise Refused("That job was not open then.")
    return (Draft(ev.OtherWorkAssigned(job)),)


ODD_READING = "odd_reading"


def note_shift(scene: Scene, event: Struct, unit: TemperatureUnit = "C") -> Drafts:
    """A reading, a drink, signs, a sign of life: a fact that changes nothing done.

    Refuses what cannot be, whoever enters it (`engine.rules.readings`), and asks about a reading
    that looks odd, once: said again as `confirmed` it is kept, and so is the same oddity of the
    next one. unit: in which the question says temperatures.
    """
    scene.must_be_on()
    readings.refuse(event, scene.now_us)
    if isinstance(event, ev.ReadingTaken):
        before = reading_in_force(scene.shift, scene.now_us, "air_c", "rh")
        odd = readings.unlikely(event, before, unit)
        last = reading_in_force(scene.shift, scene.now_us)
        known: set[str] = set()
        if last is not None and last.confirmed:
            known = {one.figure for one in readings.unlikely(last)}
        asked = [one for one in odd if one.figure not in known]
        if asked and not event.confirmed:
            raise Asks(ODD_READING, readings.odd_question(asked))
        event = replace(event, confirmed=bool(odd))
    return (Draft(event),)


def expect_day(scene: Scene, low_c: float | None, high_c: float | None) -> Drafts:
    """The forecast's low and high for today, for the hour at which a coat can be laid."""
    if low_c is None or high_c is None:
        raise Refused("Both are needed: today's low and today's high.")
    return note_shift(scene, ev.DayExpected(low_c, high_c))


def note_job(scene: Scene, job_id: str, event: Struct) -> Drafts:
    """A note, damage, paint, a product's amount: a fact of the job that changes no state."""
    job = scene.jobs.get(job_id)
    if job is None:
        raise Refused("There is no such job.")
    if isinstance(event, ev.UseCorrected):
        if job.opened.plan.product(event.product) is None:
            raise Refused(f"The plan has no product {event.product}.")
        used = job.used.get(event.product, 0.0) + event.by
        if used < 0:
            raise Refused("That would leave less than nothing used.")
        if not PACK.holds(used):
            raise Refused(f"More than {PACK.high:.0f} of it cannot be used on one job.")
    return (Draft(event, job_id),)


def see(scene: Scene, job_id: str, stage: str, section: str) -> Drafts:
    """The worker watched the film and sees it ready; sections under one press are one film."""
    job = scene.job(job_id)
    found = section_of(job, stage, section)
    if found.state != "waiting" or found.window is None or found.window.kind == "gap":
        raise Refused(f"No window runs on {section}.")
    film = replace(found.window, section="")
    same = (s for s in job.of(stage) if s.window is not None)
    names = tuple(s.name for s in same if s.window and replace(s.window, section="") == film)
    return (Draft(ev.WindowSeen(stage, names, found.turn), job_id),)


def close_job(scene: Scene, job_id: str, over: Mapping[str, str] = NO_REASONS) -> Drafts:
    """The vehicle is handed over; what this worker has in hand of it is finished."""
    job = scene.job(job_id)
    drafts: list[Draft] = []
    hands = scene.shift.doing if scene.shift is not None else None
    mine = isinstance(hands, Hands) and hands.job == job_id
    if mine:
        drafts = _end(scene, finish=True)
    for section in job.sections.values():
        if section.state == "in hand" and section.worker != scene.worker:
            raise Refused(f"{section.name} is in the hands of {section.worker}.")
    # What the press itself finishes is done, and lies as open as the rest.
    ended = scene.ended(finish=True)[job_id]
    left = sum(not section.over for section in ended.sections.values())
    if left:
        noun = "section is" if left == 1 else "sections are"
        _ask(over, "unfinished", f"{left} {noun} not done. Close the job all the same?")
    unseen = [
        ended.sections[one.stage, name].panel for one in looks(ended) for name in one.sections
    ]
    if unseen:
        panels = tuple(dict.fromkeys(unseen))
        named = ", ".join(panels[:3]) + (f" and {len(panels) - 3} more" if panels[3:] else "")
        noun = "panel was" if len(panels) == 1 else "panels were"
        _ask(
            over,
            "not_looked",
            f"{len(panels)} {noun} not looked at again: {named}. Close the job all the same?",
        )
    too_early = early(job, scene.now_us, hands.stage if isinstance(hands, Hands) and mine else "")
    if too_early:
        _ask(over, "handover_early", f"{too_early} Close the job all the same?")
    return (*drafts, Draft(ev.JobClosed(dict(over)), job_id))


def reopen_job(scene: Scene, job_id: str, why: str = "") -> Drafts:
    """A closed job goes on."""
    job = scene.jobs.get(job_id)
    if job is None or job.state != "closed":
        raise Refused("That job is not closed.")
    return (Draft(ev.JobReopened(why), job_id),)


def judge_gap(scene: Scene, from_us: Instant, to_us: Instant, was: GapAnswer) -> Drafts:
    """The worker says what a stretch of the shift was."""
    shift = scene.shift
    if shift is None:
        raise Refused("There is no shift to speak of.")
    end_us = scene.now_us if shift.off_us is None else shift.off_us
    if not shift.on_us <= from_us < to_us <= end_us:
        raise Refused("That stretch is not inside the shift.")
    return (Draft(ev.GapJudged(from_us, to_us, was)),)


def judge_break(scene: Scene, within_us: Instant, counted: bool) -> Drafts:
    """The worker says whether a break counts as work."""
    if scene.shift is None:
        raise Refused("There is no shift to speak of.")
    pieces = partition(scene.shift, scene.jobs, scene.now_us)
    if not any(p.kind == "break" and p.start_us <= within_us < p.end_us for p in pieces):
        raise Refused("There was no break at that time.")
    return (Draft(ev.BreakJudged(within_us, counted)),)
