"""Every view of a log that there is."""

from __future__ import annotations

from typing import Any

from engine.job.view import View
from engine.store.views.films import FILMS
from engine.store.views.jobs import JOBS
from engine.store.views.products import PRODUCTS
from engine.store.views.shifts import SHIFTS
from engine.store.views.stocked import STOCKED
from engine.store.views.timed import TIMED

VIEWS: tuple[View[Any], ...] = (TIMED, FILMS, PRODUCTS, STOCKED, JOBS, SHIFTS)
