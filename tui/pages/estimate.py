"""An estimate as a page: the answer for the telephone, then what it rests on."""

from __future__ import annotations

from cartclock.engine.dates import hour_minutes
from cartclock.engine.facts.section import SECOND_US
from cartclock.engine.planning.estimate import Estimate
from cartclock.engine.planning.estimate_words import (
    ALL_WORK,
    HANDS,
    EstimateWords,
    bottle_cost_text,
    bottle_text,
)
from cartclock.tui.face.page import Air, Cells, Column, Heading, Page, PageRow, Table, Words

NAME = "Estimate"
NOTHING_ASKED = Page(
    NAME, (Words("Space asks what job: plan, body, state of the paint."),), reading=True
)
_STAGES, _BETWEEN, _BOTTLES = 0, 1, 2
_TABLES = (
    Table(
        (
            Column("", least=10, folds=True),
            Column("expected", right=True),
            Column("4 in 5", right=True),
            Column("plan", right=True, rank=2),
            Column("measured", right=True, rank=1),
        ),
        indent=2,
    ),
    Table((Column("", least=10, folds=True), Column("", right=True)), indent=2),
    Table(
        (
            Column("", least=12, folds=True),
            Column("", right=True),
            Column("", right=True),
        ),
        indent=2,
    ),
)


def estimate_page(of: Estimate, words: EstimateWords) -> Page:
    """The page."""
    body = f"{of.plan}, {of.shape}" if of.shape else of.plan
    top = (Heading(body, "" if of.paint == "as usual" else f"paint {of.paint}"),)
    rows: list[PageRow] = [Words(said, bold=not at) for at, said in enumerate(words.answer())]
    rows += [Air(), Heading("stages", table=_STAGES)]
    for one in of.stages:
        lengths = (one.hands_us, one.by_us, one.planned_us)
        clocks = (hour_minutes(length_us / SECOND_US) for length_us in lengths)
        rows.append(Cells(_STAGES, (one.stage, *clocks, str(one.measured or "-"))))
    rows += [
        Cells(_STAGES, (*cells, ""), bold=cells[0] in (HANDS, ALL_WORK)) for cells in words.work()
    ]
    between = [Cells(_BETWEEN, pair) for pair in words.between()]
    if between:
        rows += [Air(), Heading("between"), *between]
    if of.products:
        rows += [Air(), Heading("from the bottle", of.currency)]
    for product in of.products:
        cells = (product.name, bottle_text(product), bottle_cost_text(product))
        rows.append(Cells(_BOTTLES, cells))
    rows.append(Air())
    rows += [Words(said, dim=True) for said in words.notes()]
    return Page(NAME, tuple(rows), tables=_TABLES, fixed=top, reading=True)
