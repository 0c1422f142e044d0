"""Layers laid anew: which gaps are told, which time a layer is worked, what was only worked over.

What must be told is reckoned here from the rows alone, by a walk over them that keeps a gap for
each section and shares nothing with the folds.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable

import pytest
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import Row
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.facts.words import row_text
from cartclock.engine.paper.chapters.ten_lines import outcomes_text
from cartclock.engine.plan.plan import Gap
from cartclock.engine.record.stage_layers import stage_layers
from tests.kit.book import Book
from tests.paper.test_sections_text import chapter, flat, recorded
from tests.record.test_coated import ONE, book_of

NAMES = ("roof", "bonnet", "tail")
BETWEEN = Marks(3600, 7200, 86400)
TWO = replace(ONE, sections=NAMES, layers=2, gap=Gap(3600, 7200, 86400), condition=None)
# Applied, stood, levelled, buffed: all of it takes so long.
WORKED_S = 180
WAITS_S = {"early": 600, "in the window": 5000, "late": 100_000}


def work(book: Book, at_s: float, name: str, turn: Turn) -> float:
    """Works a layer from the turn's step to its end; returns when that is."""
    for step, begin_s, end_s in ((0, 0, 20), (2, 140, 170), (3, 170, WORKED_S)):
        if step < turn.step:
            continue
        at = Turn(turn.pass_, turn.layer, step)
        book.press(at_s + begin_s, ev.WorkStarted("Coat", (name,), at))
        marks = {0: Marks(60, 100, 300, 200), 3: BETWEEN if turn.layer == 1 else None}.get(step)
        events: list[ev.StepFinished | ev.ProductUsed] = [
            ev.StepFinished("Coat", (name,), at, marks)
        ]
        if step == 0:
            events.append(ev.ProductUsed("Coat", (name,), at, {"coat": 10.0}))
        book.press(at_s + end_s, *events)
    return at_s + WORKED_S


def story(seed: int) -> tuple[Book, float]:
    """Layers laid, opened again, laid anew, levelled again and left out, as the seed has it."""
    chance = random.Random(seed)
    book, at_s = book_of(TWO), 10.0
    for name in NAMES:
        layer, pass_ = 0, 1
        for _ in range(chance.randint(1, 6)):
            does = chance.choice(("on", "on", "anew", "again", "leave"))
            at_s += chance.choice(tuple(WAITS_S.values()))
            if does == "leave" and layer == 1:
                book.press(at_s, ev.SectionSkipped("Coat", (name,), "rain"))
                break
            if does in ("anew", "again") and layer:
                pass_ += 1
                layer = layer if does == "again" else chance.randint(1, layer)
                turn = Turn(pass_, layer, 2 if does == "again" else 0)
                book.press(at_s, ev.SectionReopened("Coat", (name,), turn, "high spot"))
                # It may stay open.
                if chance.random() < 0.2:
                    break
                at_s = work(book, at_s + 60, name, turn)
            elif layer < TWO.layers:
                layer += 1
                at_s = work(book, at_s, name, Turn(pass_, layer))
    return book, at_s


def gaps_reckoned(rows: Iterable[Row]) -> Counter[str]:
    """How the gaps that stand ended: told of no fold, from what was pressed when."""
    since: dict[str, int] = {}
    found: Counter[str] = Counter()
    for row in rows:
        event = row.event
        for name in getattr(event, "sections", ()):
            match event:
                case ev.StepFinished(_stage, _names, Turn(_pass, 1, 3)):
                    since[name] = row.at_us
                case ev.WorkStarted(_stage, _names, Turn(_pass, 2)) if name in since:
                    waited_s = (row.at_us - since.pop(name)) // 1_000_000
                    # The label's close counts from the first touch of the layer under it.
                    late = waited_s > BETWEEN.closes_s - WORKED_S
                    early = waited_s < BETWEEN.opens_s
                    found["early" if early else "late" if late else "in the window"] += 1
                case ev.SectionReopened():
                    since.pop(name, None)
                case ev.SectionSkipped() if name in since:
                    del since[name]
                    found["left out"] += 1
    return found + Counter({"running": len(since)})


def rounds_reckoned(rows: Iterable[Row]) -> list[tuple[str, int, int, bool]]:
    """(section, layer, which time, laid nothing) of everything begun."""
    steps: dict[tuple[str, int], dict[int, set[int]]] = {}
    for row in rows:
        if isinstance(row.event, ev.WorkStarted):
            turn = row.event.turn
            for name in row.event.sections:
                steps.setdefault((name, turn.layer), {}).setdefault(turn.pass_, set()).add(
                    turn.step
                )
    return sorted(
        (name, layer, number, 0 not in done)
        for (name, layer), passes in steps.items()
        for number, done in enumerate(passes.values(), 1)
    )


@pytest.mark.parametrize("seed", range(12))
def test_gaps_and_times_are_those_that_a_walk_over_the_rows_finds(seed: int) -> None:
    book, at_s = story(seed)
    told = recorded(book, at_s + 60)
    gaps = [one for one in told.windows if one.kind == "gap"]
    assert Counter(one.outcome for one in gaps) == gaps_reckoned(book.rows)
    rows = [row for layer in stage_layers(told) for row in layer.rows]
    found = sorted((row.section, row.layer, row.time, row.worked_over) for row in rows)
    assert found == rounds_reckoned(book.rows)


def test_the_stories_have_in_them_what_they_are_for() -> None:
    books = [story(seed)[0] for seed in range(12)]
    ended = sum((gaps_reckoned(book.rows) for book in books), Counter[str]())
    rounds = [one for book in books for one in rounds_reckoned(book.rows)]
    assert set(ended) == {"early", "in the window", "late", "left out", "running"}
    assert {(layer, nothing) for _name, layer, number, nothing in rounds if number > 1} == {
        (layer, nothing) for layer in (1, 2) for nothing in (False, True)
    }
    # A layer laid anew under one that comes on for the first time.
    assert any(
        row.event.turn.pass_ > 1 and (name, 2, 2, False) not in rounds_reckoned(book.rows)
        for book in books
        for row in book.rows
        if isinstance(row.event, ev.WorkStarted) and row.event.turn.layer == 2
        for name in row.event.sections
    )


def test_the_first_layer_laid_anew_leaves_one_gap_and_the_second_its_first_time() -> None:
    book = book_of(replace(TWO, sections=NAMES[:2]))
    work(book, 100, "roof", Turn())
    work(book, 400, "bonnet", Turn())
    book.press(700, ev.SectionReopened("Coat", ("roof",), Turn(2), "high spot"))
    work(book, 800, "roof", Turn(2))
    work(book, 6000, "bonnet", Turn(1, 2))
    work(book, 6500, "roof", Turn(2, 2))
    # Five films, and a gap under each of the two second layers.
    assert outcomes_text(recorded(book, 7000).windows).startswith("7 asked: 7 in the window")
    said = flat(chapter(book, 7000))
    first, second = said.split("Coat, layer 2 of 2: ")
    assert first.count("remarks: pass 2") == 1 and "pass" not in second
    assert "left out" not in said
    under, above = (
        row_text(row, book.jobs())
        for row in book.rows
        if isinstance(row.event, ev.WorkStarted)
        and row.event.sections == ("roof",)
        and row.event.turn in (Turn(2), Turn(2, 2))
    )
    assert under.endswith("(Coat, layer 1, pass 2)") and above.endswith("(Coat, layer 2)")


def test_a_layer_that_was_levelled_again_stays_under_what_was_laid() -> None:
    book = book_of(replace(TWO, sections=NAMES[:2]))
    book.press(1, ev.PackOpened("coat", 600, "drops", lot="A1"))
    work(book, 100, "roof", Turn())
    book.press(300, ev.SectionReopened("Coat", ("roof",), Turn(2, 1, 2), "high spot"))
    work(book, 300, "roof", Turn(2, 1, 2))
    work(book, 600, "bonnet", Turn())
    said = flat(chapter(book, 900))
    assert "nothing laid" not in said
    # Lot and product stand once, in the line of the layer.
    assert said.count("Coating, lot A1") == 1
    assert said.count("remarks: pass 2; only level, buff") == 1
