"""Tiny plans, small enough to reckon by hand.

All figures are invented round numbers for tests, no source, and no advice.
"""

from __future__ import annotations

from msgspec.structs import replace

from cartclock.engine.facts.events import JobOpened
from cartclock.engine.plan.plan import (
    Aftercare,
    Gap,
    Handover,
    Plan,
    Product,
    Stage,
    Use,
    Wait,
    Wear,
    Work,
)

PRODUCTS = (
    Product("fallout", "Iron fallout remover"),
    Product("coat", "Coating", unit="drops"),
)

# One step over all sections; the rinse takes every section in one press.
FALLOUT = Stage(
    "Fallout",
    ("left", "right", "front"),
    (
        Work("spray", 1.5, (Use("fallout", 60.0),)),
        Wait("dwell", 120, 180, 300),
        Work("rinse", 3.0, over="all"),
    ),
    order="all",
)

# Two layers in a wave; three work steps, so that one follows another without a wait.
COAT = Stage(
    "Coat",
    ("bonnet left", "bonnet right", "roof"),
    (
        Work("apply", 1.5, (Use("coat", 10.0, 15.0),)),
        Wait("flash", 60, 100, 300, kind="solvent"),
        Work("level", 2.0),
        Work("buff", 1.0),
    ),
    order="wave",
    panels={"bonnet left": "bonnet", "bonnet right": "bonnet"},
    layers=2,
    gap=Gap(3600, 7200, 86400),
)

# The same, with the gate before it.
GATED = replace(COAT, kind="coat")

# Two minutes and two of work on each of twenty panels: eighty minutes of one wave.
PANELS = tuple(f"panel {number}" for number in range(1, 21))
LONG_COAT = Stage(
    "Coat",
    PANELS,
    (Work("apply", 2.0), Wait("flash", 30, 60, 600), Work("level", 2.0)),
    order="wave",
    kind="coat",
    layers=2,
    gap=Gap(3600, 7200, 86400),
)

# All steps on one section, then the next; nothing waits.
POLISH = Stage("Polish", ("door", "wing"), (Work("cut", 20.0), Work("finish", 10.0)))

# A pad for two sections, a towel for four; two steps that wear the same towel.
SOFT_PAD, TOWEL = Wear("pad", "soft pad", 2), Wear("towel", "short towel", 4)
WEARING = Stage(
    "Polish",
    ("bonnet", "roof", "door", "wing", "boot"),
    (
        Work("polish", 20.0, wears=(SOFT_PAD,)),
        Work("wipe", 2.0, wears=(TOWEL,)),
        Work("inspect", 1.0, wears=(TOWEL,)),
    ),
)
# A towel for each section, where films overlap.
WORN_COAT = Stage(
    "Coat",
    ("bonnet", "roof", "boot"),
    (
        Work("apply", 1.0),
        Wait("flash", 60, 100, 300, kind="solvent"),
        Work("level", 1.0, wears=(Wear("towel", "long towel", 1),)),
    ),
    order="wave",
)

# One step, no wait.
WIPE = Stage("Wipe", ("whole car",), (Work("wipe", 5.0),))


# What the label of a pack asks of the customer.
DRY_CARE = Aftercare("no rain on the coat", "example", until="PT48H", after="Coat")
LEAVES = Handover("PT12H", "Coat", "example")


def opening_told(*stages: Stage) -> JobOpened:
    """The event that opens a job with these stages, of which the customer is told something."""
    opened = opening(*stages)
    return replace(opened, plan=replace(opened.plan, aftercare=(DRY_CARE,), handover=LEAVES))


def opening(*stages: Stage, number: int = 1) -> JobOpened:
    """The event that opens a job with these stages."""
    plan = Plan("tiny", stages, PRODUCTS)
    return JobOpened(plan, "", number, "bottle green estate")
