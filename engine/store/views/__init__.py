"""Every view of a log that there is."""

from __future__ import annotations

from typing import Any

from cartclock.engine.facts.view import View
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.interruptions import INTERRUPTIONS
from cartclock.engine.store.views.jobs import JOBS
from cartclock.engine.store.views.lessons import LESSONS
from cartclock.engine.store.views.packs import PACKS
from cartclock.engine.store.views.products import PRODUCTS
from cartclock.engine.store.views.said import SAID
from cartclock.engine.store.views.shifts import SHIFTS
from cartclock.engine.store.views.stocked import STOCKED

VIEWS: tuple[View[Any], ...] = (
    LESSONS,
    INTERRUPTIONS,
    FILMS,
    PRODUCTS,
    STOCKED,
    PACKS,
    JOBS,
    SHIFTS,
    SAID,
)
