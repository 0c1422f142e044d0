"""The earliest hand-over: by the plan before the coat, from its last touch after it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cartclock.engine.after.handover import early, known_handover, not_before_us
from cartclock.engine.ahead.foreseen import by_the_plan
from cartclock.engine.ahead.handover import handover_notice, handover_notices
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.now.glance import glance
from cartclock.engine.plan.plan import Cure, Handover, Stage, Work
from cartclock.engine.rules import changes, rules
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Asks
from tests.kit.book import JOB, Book, us
from tests.kit.care import COAT, LABEL, begun, coat, finished, record_of, second
from tests.kit.setting import record_text

HOUR_S = 3600


def notice(book: Book, now_us: Instant) -> str:
    """What is told of the one job, by the plan only."""
    ahead = by_the_plan(book.jobs(), book.shift())
    return handover_notice(book.job(), ahead, now_us)


def notices(jobs: dict[str, Job], now_us: Instant) -> tuple[str, ...]:
    """What is told of several, off the clock."""
    return handover_notices(jobs, by_the_plan(jobs, None), now_us)


WASH = Stage("Wash", ("left", "right"), (Work("wash", 15.0),))
AFTER = Stage("Inspection", ("whole car",), (Work("look", 30.0),))


def test_after_the_last_touch_it_is_known_to_the_second() -> None:
    found = known_handover(finished(handover=LABEL).job())
    assert found is not None
    assert (found.at_us, found.done_us) == (us(1200 + 12 * HOUR_S), us(1200))


def test_a_redone_section_moves_it() -> None:
    book = finished(handover=LABEL)
    book.do(2000, changes.redo, JOB, "Coat", ("bonnet",), "high spot")
    assert known_handover(book.job()) is None
    coat(book, 3000, "bonnet")
    found = known_handover(book.job())
    assert found is not None and found.at_us == us(3600 + 12 * HOUR_S)


def test_hours_are_elapsed_and_days_end_at_midnight() -> None:
    zone = "America/New_York"
    end_us = us(second("2026-03-07T14:00:00-05:00"))
    assert not_before_us(replace(LABEL, not_before="PT48H"), end_us, zone) == us(
        second("2026-03-09T15:00:00-04:00")
    )
    assert not_before_us(replace(LABEL, not_before="P2D"), end_us, zone) == us(
        second("2026-03-09T00:00:00-04:00")
    )
    for bad in (replace(LABEL, not_before="soon"), replace(LABEL, not_before="P99999Y")):
        assert not_before_us(bad, end_us, zone) is None
    assert not_before_us(LABEL, end_us, "Nowhere/Land") is None


def test_a_plan_without_it_says_nothing() -> None:
    book = finished()
    assert known_handover(book.job()) is None
    assert notice(book, us(2000)) == early(book.job(), us(2000)) == ""
    lost = begun(handover=replace(LABEL, after="Wax"))
    assert known_handover(lost.job()) is None
    assert notice(lost, us(0)) == ""


def test_a_coat_that_was_skipped_keeps_nobody() -> None:
    book = begun(handover=LABEL, promised_us=us(3600))
    book.do(60, changes.skip, JOB, "Coat", ("bonnet", "roof"), "rain")
    assert notice(book, us(100)) == ""
    assert early(book.job(), us(100)) == ""


def test_a_promise_that_cannot_be_met_is_told_when_the_job_is_opened() -> None:
    book = begun(handover=LABEL, promised_us=us(3600), zone="Europe/Lisbon")
    assert notice(book, us(0)) == (
        "Promised 16:13, but hardly to be handed over before 03:29 tomorrow: Coat hardly ends "
        "before 15:29, 15:36 is expected, and 12 hours must pass."
    )


def test_of_a_promise_that_is_past_it_is_said_that_it_is() -> None:
    book = begun(handover=LABEL, promised_us=us(3600), zone="Europe/Lisbon")
    assert ", but hardly to be handed over before " in notice(book, us(3599))
    said = notice(book, us(3600))
    assert said.startswith("Promised 16:13, which is past, and hardly to be handed over before ")


@pytest.mark.parametrize(("promised_min", "told"), [(10, True), (40, False)])
def test_a_promise_that_is_just_met_is_met(promised_min: int, told: bool) -> None:
    # Twenty minutes of work by the plan.
    promised_us = us(promised_min * 60 + 12 * HOUR_S)
    book = begun(handover=LABEL, promised_us=promised_us)
    assert bool(notice(book, us(0))) is told


def test_once_it_is_laid_the_time_is_told_until_it_is_reached() -> None:
    book = finished(handover=LABEL, promised_us=us(4 * HOUR_S), zone="Europe/Lisbon")
    assert notice(book, us(1300)) == (
        "Not to be handed over before 03:34 tomorrow; promised 19:13."
    )
    over_us = 1200 + 12 * HOUR_S
    # After midnight it is no more tomorrow, and the promise was another day.
    assert notice(book, us(over_us - 1)) == (
        "Not to be handed over before 03:34; promised Mon 21 Sep 19:13."
    )
    assert notice(book, us(over_us)) == ""


def test_without_a_promise_nothing_is_promised_and_an_example_is_called_one() -> None:
    book = finished(handover=Handover("P2D", "Coat", "example"))
    assert notice(book, us(1300)) == (
        "Not to be handed over before Wed 23 Sep 00:00 (example, replace from the pack)."
    )


def test_run_tells_it_and_two_open_jobs_are_told_apart() -> None:
    book = finished(handover=LABEL)
    said = "Not to be handed over before 02:34 tomorrow."
    jobs = book.jobs()
    assert said in glance(jobs, book.shift(), us(1300), None).notices
    other = replace(
        book.job(), id="job-2", opened=replace(book.job().opened, number=8, vehicle="red van")
    )
    assert notices({"job-2": other, **jobs}, us(1300)) == (
        f"grey van: {said}",
        f"red van: {said}",
    )
    assert notices({"job-2": replace(other, state="closed"), **jobs}, us(1300)) == (said,)


def flat(book: Book, at_s: float) -> str:
    return " ".join(record_text(record_of(book, at_s)).split())


def test_the_paper_tells_it_once_it_is_known() -> None:
    book = begun(handover=LABEL)
    coat(book, 0, "bonnet")
    said = "May be handed over"
    assert f"known when Coat is finished {said}" in flat(book, 700)
    assert said not in flat(finished(), 700)
    coat(book, 700, "roof")
    known = f"not before Tue 22 Sep 2026 02:35 {said} counted from: 12 hours after Coat, label"
    assert known in flat(book, 1300)
    example = finished(handover=replace(LABEL, source="example"))
    assert "12 hours after Coat, example, replace from the pack" in flat(example, 9000)


def asked(book: Book, at_s: float, **over: str) -> str:
    """What closing asks; "" if it is written."""
    try:
        book.do(at_s, rules.close_job, JOB, over)
    except Asks as asks:
        assert asks.rule_id == "handover_early"
        return str(asks)
    return ""


EARLY = (
    "Not to be handed over before 02:34 tomorrow: 12 hours after Coat, label of the pack. "
    "Close the job all the same?"
)


def test_closing_before_the_time_asks_and_the_reason_stands() -> None:
    book = finished(handover=LABEL)
    assert asked(book, 1300) == EARLY
    assert book.job().state == "open"
    assert asked(book, 1300, handover_early="it stays under cover until then") == ""
    closed = book.rows[-1].event
    assert isinstance(closed, ev.JobClosed)
    assert closed.over == {"handover_early": "it stays under cover until then"}


def test_closing_at_the_time_asks_nothing() -> None:
    assert asked(finished(handover=LABEL), 1200 + 12 * HOUR_S) == ""


def test_the_last_step_finished_by_the_closing_itself_counts_from_now() -> None:
    book = begun(handover=LABEL)
    coat(book, 0, "bonnet")
    book.do(600, rules.take_up, next(m for m in book.moves(600) if m.sections == ("roof",)))
    book.do(900, rules.take_up, book.moves(900)[0])
    assert asked(book, 1199) == EARLY


def test_a_coat_left_undone_counts_where_it_lies() -> None:
    book = begun(handover=LABEL)
    coat(book, 0, "bonnet")
    assert "02:24 tomorrow" in asked(book, 2000, unfinished="rain")
    book.do(2000, rules.take_up, next(m for m in book.moves(2000) if m.sections == ("roof",)))
    book.do(2100, rules.put_down)
    # What was put down unfinished is as wet as if it had been touched just now.
    assert "02:49 tomorrow" in asked(book, 2100, unfinished="rain")


def test_other_work_in_hand_does_not_move_it() -> None:
    book = begun(stages=(COAT, AFTER), handover=LABEL)
    coat(book, 0, "bonnet", "roof")
    book.do(1300, rules.take_up, book.moves(1300)[0])
    assert asked(book, 1500) == EARLY


def test_a_cure_of_the_stage_is_another_matter() -> None:
    book = finished(stages=(replace(COAT, cure=Cure(99 * HOUR_S)),), handover=LABEL)
    found = known_handover(book.job())
    assert found is not None and found.at_us == us(1200 + 12 * HOUR_S)
