"""The table of kinds: every event stands in it once, under a tag that never changes."""

from __future__ import annotations

import inspect

import pytest
from msgspec import Struct

from cartclock.engine.facts import cart_events, customer_events, job_events, shift_events
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import KINDS, TAGS, Kind
from cartclock.engine.store.views import VIEWS


def events() -> set[type[Struct]]:
    """Every Struct that the files of events make."""
    return {
        cls
        for module in (shift_events, job_events, customer_events, cart_events)
        for _name, cls in inspect.getmembers(module, inspect.isclass)
        if issubclass(cls, Struct) and cls.__module__ == module.__name__
    }


def test_every_event_stands_in_the_table_once() -> None:
    listed = [kind.event for kind in KINDS.values()]
    assert set(listed) == events()
    assert len(listed) == len(set(listed))


@pytest.mark.parametrize("tag", KINDS)
def test_what_may_follow_is_said_where_it_can_be(tag: str) -> None:
    kind = KINDS[tag]
    assert kind.of == "job" or not kind.after_close
    assert kind.of == "shift" or not kind.any_time
    assert kind.v >= 1
    assert TAGS[kind.event] == tag


def test_the_views_that_the_table_names_are_there() -> None:
    named = {view for kind in KINDS.values() for view in kind.views}
    # A view that takes every event of a job, or of jobs and shifts, is named by no kind.
    of_job = {tag for tag, kind in KINDS.items() if kind.of == "job"}
    of_any = {tag for tag, kind in KINDS.items() if kind.of != "cart"}
    parted = [view for view in VIEWS if view.kinds not in (of_job, of_any)]
    assert named == {view.name for view in parted}
    for view in parted:
        assert view.kinds == ev.taken_by(view.name)


def test_every_kind_is_a_matter_of_one_thing() -> None:
    of = (ev.SHIFT_EVENTS, ev.JOB_EVENTS, ev.CART_EVENTS, ev.CORRECTIONS)
    assert sum(len(events) for events in of) == len(KINDS)
    assert set().union(*of) == events()
    assert isinstance(KINDS["JobOpened"], Kind)
