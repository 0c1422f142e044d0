"""Today as a page: a block a job, and below them the long windows on one scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cartclock.engine.ahead.foreseen import Foresight
from cartclock.engine.ahead.telling import (
    by_text,
    calls_now,
    learned_text,
    promise_text,
    ready_about,
)
from cartclock.engine.dates import clock_apart, hours_text, local, spoken_near
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.layers import progress_text
from cartclock.engine.facts.rows import MINUTE_US
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.facts.shift import Hands, Shift
from cartclock.engine.facts.words import place_text
from cartclock.engine.films.long_lines import LongLine
from cartclock.engine.hours.planned import planned_left_us, planned_us, work_done
from cartclock.engine.joined.carried import ElsewhereJob
from cartclock.engine.joined.handed import GivenThere
from cartclock.engine.now.running import running_films
from cartclock.engine.times import Instant, Length
from cartclock.engine.until import bare, holds
from cartclock.tui.face.page import (
    Air,
    Bar,
    Cells,
    Column,
    Heading,
    Page,
    PageRow,
    Reach,
    Table,
    Ticks,
    Words,
)
from cartclock.tui.pages.scale import named_cuts

# What to do next, once there is a job.
CLOCK_ON = "Off the clock: U, then SPACE."
NO_JOB = "No job yet: + opens one from a plan."
# FACE: reckoned for a 14-inch screen, 20 minutes of arc.
LARGER = (
    "So many columns are for reading near by. At three metres a larger type is read: set the "
    "letters of the terminal so large that about 80 columns are left."
)

_WORK, _LONG = 0, 1
_TABLES = (
    Table((Column(least=10, most=40), Column(), Column(rank=1), Column(rank=2)), indent=2),
    Table(
        (
            Column(),
            Column(least=12, folds=True),
            Column(least=20, folds=True),
            Column(least=14, rank=1),
        ),
        indent=2,
    ),
)


def today_page(
    jobs: Sequence[Job],
    shifts: Sequence[Shift],
    now_us: Instant,
    zone: str,
    hands: Mapping[str, Length],
    ahead: Foresight,
    windows: Sequence[LongLine],
    notices: Sequence[str],
    on_clock: bool,
    unsent: str = "",
    elsewhere: Sequence[ElsewhereJob] = (),
    given: Sequence[GivenThere] = (),
) -> Page:
    """The page.

    Args:
        jobs: in the order of the page.
        shifts: of those who work now.
        zone: of the place of work.
        hands: job id -> hands on it so far.
        ahead: what is ahead of the worker.
        windows: the long ones, in order.
        notices: which vehicles must not go out yet.
        on_clock: False if the worker is off.
        unsent: what there is to say of rows that wait to be sent to the shop.
        elsewhere: jobs that are open on the other carts of the shop.
        given: jobs that these gave away and this one may take.
    """
    if not jobs:
        empty: tuple[PageRow, ...] = (Words(NO_JOB, entry=True), Air(), Words(LARGER, wide=True))
        empty = (*empty[:1], *_of_shop(unsent, elsewhere, given, now_us, zone), *empty[1:])
        return Page("Today", empty, "no job", _TABLES)
    still = [job for job in jobs if job.state == "open"]
    rows: list[PageRow] = []
    for job in jobs:
        rows += _block(job, shifts, ahead, now_us, zone, hands.get(job.id, Length(0)))
    if still and not on_clock:
        rows.append(Words(CLOCK_ON, entry=True, bold=True))
    rows += _ahead(windows, notices, now_us, zone, several=len(still) > 1)
    rows += _of_shop(unsent, elsewhere, given, now_us, zone)
    count = len(still)
    said = f"{count} open job{'' if count == 1 else 's'}"
    return Page("Today", tuple(rows), said, _TABLES)


def _of_shop(
    unsent: str,
    elsewhere: Sequence[ElsewhereJob],
    given: Sequence[GivenThere],
    now_us: Instant,
    zone: str,
) -> Iterator[PageRow]:
    """Rows that wait to be sent, what waits to be taken, and what is open on the other carts."""
    if unsent:
        yield Words(unsent, entry=True)
    if not elsewhere and not given:
        return
    yield Heading("on the other carts")
    for one in given:
        yield Words(f"{one.cart}, job {one.number}: {one.vehicle}", indent=2, entry=True)
        away = f"given away {spoken_near(one.given_us, now_us, zone)}; A, then T takes it over"
        yield Words(away, indent=4, bold=True)
    for job in elsewhere:
        window = ""
        if job.closes_us is not None:
            word = "closes" if now_us < job.closes_us else "closed"
            window = f"{job.section} {word} {spoken_near(job.closes_us, now_us, zone)}"
        heard = f"as of {spoken_near(job.as_of_us, now_us, zone)}"
        yield Words(
            f"{job.cart}, job {job.number}: {job.vehicle}",
            indent=2,
            entry=True,
        )
        yield Words(
            "; ".join(
                filter(None, (window, f"{job.done} of {job.sections} sections", job.plan, heard))
            ),
            indent=4,
        )


def _block(
    job: Job,
    shifts: Sequence[Shift],
    ahead: Foresight,
    now_us: Instant,
    here: str,
    hands_us: Length,
) -> Iterator[PageRow]:
    """A job: its name and promise, how far the work is, what is now and what comes then."""
    opened = job.opened
    named = f"{opened.number}  {opened.vehicle}"
    if job.state == "closed":
        yield Heading(named, "closed", entry=True)
        return
    if job.state == "given":
        yield Heading(named, _given(job, now_us), entry=True)
        return
    promised_us = opened.promised_us
    promised = (
        f"promised {spoken_near(promised_us, now_us, opened.zone)}"
        if promised_us is not None
        else ""
    )
    yield Heading(named, promised, entry=True)
    if job.taken_us is not None:
        since = spoken_near(job.taken_us, now_us, opened.zone)
        yield Words(f"here since {since}, taken over from another cart", "cart", indent=2)
    yield _work(job, now_us, hands_us)
    yield from _ready(job, ahead, now_us, here)
    done = [s.name for s in job.stages if all(section.over for section in job.of(s.name))]
    left = [s.name for s in job.stages if s.name not in done]
    if not left:
        yield Words("all stages are done", indent=2)
    else:
        yield Words(_now(job, left[0], shifts, now_us), "now", indent=2)
        if left[1:]:
            yield Words(label="then", indent=2, parts=tuple(left[1:]))
    yield Air(wide=True)


def _given(job: Job, now_us: Instant) -> str:
    """Which cart has a job that was given away, and since when."""
    assert job.given_us is not None  # it is given
    to = f"cart {job.given_to[:8]}" if job.given_to else "another cart"
    return f"given to {to} {spoken_near(job.given_us, now_us, job.opened.zone)}"


def _ready(job: Job, ahead: Foresight, now_us: Instant, here: str) -> Iterator[PageRow]:
    """When it should be ready, by which clock if not that of `here`, and how a promise stands."""
    found, promised_us = ahead.at(now_us), job.opened.promised_us
    told = found.finish(job.id)
    if told is None or told.ready_us <= told.now_us or not (told.hands_us or not told.stages):
        return
    zone = job.opened.zone
    ready = ready_about(told.ready_us, told.cures, told.now_us, zone)
    by = by_text(told.ready_by_us, told.now_us, zone)
    apart = clock_apart(told.now_us, zone, here)
    said = f"{ready}, four times in five by {by}{f' {apart}' if apart else ''}"
    late = False
    if promised_us is not None:
        promise = found.kept(job.id, promised_us)
        late = calls_now(promise)
        said += f"; {promise_text(promise)}"
    yield Words(
        f"{said}; {learned_text(told.learned, told.from_shop)}", "ready", indent=2, bold=late
    )


def _work(job: Job, now_us: Instant, hands_us: Length) -> PageRow:
    """How far the work is, by the plan's minutes where it has some."""
    exact_us = Instant(bare(now_us))
    holds(now_us, MINUTE_US)
    share = work_done(job, job.stages, exact_us)
    planned = sum(planned_us(job, stage) for stage in job.stages)
    left_us = planned_left_us(job, job.stages, exact_us)
    there = [section.over for stage in job.stages for section in job.of(stage.name)]
    said = f"{sum(there)} of {len(there)} sections"
    if planned:
        said = f"left {hours_text(left_us / SECOND_US)}"
    return Cells(
        _WORK,
        (
            Bar(share),
            said,
            f"of {hours_text(planned / SECOND_US)} planned" if planned else "",
            f"on it {hours_text(hands_us / SECOND_US)}" if hands_us else "",
        ),
    )


def _now(job: Job, stage: str, shifts: Sequence[Shift], now_us: Instant) -> str:
    """What is in hand, which film runs, and how far the stage is."""
    said = []
    for shift in shifts:
        if isinstance(shift.doing, Hands) and shift.doing.job == job.id:
            hands = shift.doing
            say = job.work(hands.stage, hands.turn).say
            said.append(f"{say} {place_text(job, hands.stage, hands.sections)}")
    for film in running_films({job.id: job}, now_us)[:1]:
        state = film.first.state(now_us)
        word = {"WAIT": "opens", "READY": "closes", "LATE": "closed"}[state]
        at_us = film.first.opens_us if state == "WAIT" else film.first.closes_us
        said.append(f"{film.where} {word} {local(at_us, job.opened.zone):%H:%M:%S}")
    many = len(job.of(stage)) > 1 or job.stage(stage).layers > 1
    said.append(f"{stage}, {progress_text(job, stage, ' of ')}" if many else stage)
    return "; ".join(said)


def _ahead(
    windows: Sequence[LongLine],
    notices: Sequence[str],
    now_us: Instant,
    zone: str,
    several: bool,
) -> Iterator[PageRow]:
    """The long windows on one scale of days or hours, and what must not go out yet."""
    if not windows and not notices:
        return
    yield Heading("longer windows")
    if windows:
        start_us = Instant(bare(now_us))
        holds(now_us, MINUTE_US)
        last_us = max(start_us + MINUTE_US, *(line.closes_us or line.opens_us for line in windows))
        # A little behind the last mark, or it could not be seen.
        end_us = Instant(start_us + (last_us - start_us) * 21 // 20)
        cuts = named_cuts(start_us, end_us, zone)
        ticks = Ticks(start_us, end_us, cuts)
        yield Cells(_LONG, ("", "", "", ticks), dim=True)
        for line in windows:
            reach = Reach(
                start_us, end_us, line.opens_us, line.closes_us, tuple(at for at, _ in cuts)
            )
            whose = f"job {line.job.opened.number}" if several else ""
            yield Cells(_LONG, (whose, line.where, line.when, reach), entry=True)
    for notice in notices:
        yield Words(notice, indent=2, entry=True)
