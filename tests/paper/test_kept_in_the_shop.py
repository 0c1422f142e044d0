"""What the shop keeps about its customer reaches no paper that leaves it, in any form."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args, get_type_hints

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.sealed import Said, Sealed
from cartclock.engine.paper.facts import PaperFacts
from cartclock.engine.paper.papers import PAPERS
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.record import Record
from cartclock.engine.record.whole_vehicle import VehiclePart, WholeVehicle
from tests.kit.papers import HANDED, MONEY, SECRET, book_with, papers_with
from tests.kit.pdf import sheets

SHOP = ShopHead("synthetic shop", (), "000")
# What the sheet that the customer signs with the keys has of it.
SIGNED = ("phone",)
TOLD = ("told incident panel", "told incident words", "told incident done")
# Those with which the vehicle goes home.
SHEETS = ("sheet", "together")
OUTSIDE = [name for name, paper in PAPERS.items() if paper.of != "day" and not paper.inside]


def planted(name: str) -> str:
    """A word that stands for itself and for nothing else, and is never folded."""
    return f"qz{name.replace(' ', '')}zq"


def forms(document: str) -> Iterator[tuple[str, str]]:
    """Every form of a paper as one line of text, letters as they are."""
    record = papers_with(planted).record
    facts = PaperFacts(record, vehicle=alone(record), shop=SHOP, issued=True)
    for form in PAPERS[document].forms:
        made = PAPERS[document].made(form, facts)
        read = "".join(page.text for page in sheets(made)) if form == "pdf" else made.decode()
        yield form, "".join(read.split()).casefold()


def alone(record: Record) -> WholeVehicle:
    """A vehicle of one part."""
    part = VehiclePart(
        *(record.job, record.number, record.plan, record.state, "cart", True, record.now_us),
        *(record.opened_us, record.closed_us, record),
    )
    return WholeVehicle(
        *(record.vehicle, record.plate, record.zone, record.now_us, (part,), (), (), ())
    )


@pytest.mark.parametrize("document", OUTSIDE)
def test_nothing_of_it_is_on_a_paper_that_leaves_the_shop(document: str) -> None:
    kept = [name for name in SECRET if document != "arrival" or name not in SIGNED]
    for form, text in forms(document):
        assert [name for name in kept if planted(name) in text] == [], form
        # Who took the keys is told of a job that is closed; a program reads it of this one too.
        assert planted(HANDED) not in text or (document in SHEETS and form == "json")
        assert MONEY[1] not in text and (MONEY[0] not in text or document == "arrival"), form
        said = [name for name in TOLD if planted(name) in text]
        assert said == (list(TOLD) if document in SHEETS else []), form


def test_the_record_has_all_of_it() -> None:
    for form, text in forms("record"):
        if form not in ("csv", "products"):
            assert [name for name in (*SECRET, HANDED, *TOLD) if planted(name) not in text] == []


def test_words_are_planted_in_every_event_that_has_a_persons_words() -> None:
    book, _texts = book_with(planted)
    speaking = {
        name for name, kind in ev.KINDS.items()
        if any(parts(hint) & {Sealed, Said} for hint in get_type_hints(kind.event).values())
    }  # fmt: skip
    assert len(speaking) > 10
    assert speaking - {row.kind for row in book.rows} == set()


def parts(hint: object) -> set[object]:
    """A type and all that it is put together of."""
    return {hint}.union(*(parts(one) for one in get_args(hint)))
