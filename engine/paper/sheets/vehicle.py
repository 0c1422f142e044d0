"""The record of a vehicle that was worked on in parts: who did what, when, from which cart."""

from __future__ import annotations

from cartclock.engine.dates import spoken
from cartclock.engine.paper.chapters.parts import (
    not_told_texts,
    put_parts,
    put_sections_done,
    put_worker_hours,
)
from cartclock.engine.paper.chapters.products import put_products
from cartclock.engine.paper.chapters.time_sheet import ROUNDED
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.keep import dates_to_keep
from cartclock.engine.paper.page.medium import Medium, SheetHead
from cartclock.engine.paper.sheet import Sheet
from cartclock.engine.record.revision import revision_text
from cartclock.engine.record.whole_vehicle import joined_sheet


def put_vehicle_record(medium: Medium, facts: PaperFacts) -> None:
    """All chapters of it."""
    whole = facts.of_vehicle
    medium.head(SheetHead("vehicle", whole.now_us, whole.zone, facts.shop))
    count = "1 part" if len(whole.parts) == 1 else f"{len(whole.parts)} parts"
    medium.lead(whole.vehicle, whole.plate, (f"{count}; times of {whole.zone}",))
    for sentence in not_told_texts(whole):
        medium.alert(sentence)
    put_parts(medium, whole)
    put_worker_hours(medium, whole)
    medium.words(ROUNDED, small=True)
    put_sections_done(medium, whole)
    for part in whole.parts:
        if part.record.used:
            # Each part with its own packs, lots and prices.
            medium.words(f"Products of job {part.number}, cart {part.cart}:")
            put_products(medium, part.record.used, part.record.products, whole.zone, facts.currency)
    dates = dates_to_keep(joined_sheet(whole), facts.unit)
    if dates:
        medium.heading("Dates", "of each the latest of all parts")
        medium.dates(dates)
    for part in whole.parts:
        proof = part.record.proof
        digest = f"; its newest row has the digest {proof.digest}" if proof.digest else ""
        medium.words(
            f"Job {part.number} as of {spoken(part.as_of_us, whole.zone)}, from a log of "
            f"{proof.rows} rows{digest}.",
            small=True,
        )
    if facts.out is not None:
        medium.words(revision_text(facts.out, whole.zone), small=True)
    medium.made(whole.now_us, whole.zone)


VEHICLE = Sheet("Vehicle record", put_vehicle_record, body_pt=8.3)
