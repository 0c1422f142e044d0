"""Reasons by rule: each question offers what could be meant of it, and free words behind."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cartclock import engine
from cartclock.engine.films.gate import CONDITION, GATE, READING_ENDS
from cartclock.engine.films.undone import UNDONE
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.rules.reasons import REASONS, reasons_for
from cartclock.engine.rules.rest_in_wave import REST_QUESTIONS

ASKED = re.compile(r'\b_?ask\(\s*(?:over,\s*)?"([a-z_]+)"')


def asked_in_the_source() -> set[str]:
    (folder,) = engine.__path__
    text = "".join(path.read_text() for path in Path(folder).rglob("*.py"))
    return {*ASKED.findall(text), *REST_QUESTIONS, GATE, CONDITION, READING_ENDS, UNDONE, FILM_LEFT}


def test_every_rule_that_asks_has_reasons_of_its_own() -> None:
    assert asked_in_the_source() == set(REASONS)


@pytest.mark.parametrize("rule_id", sorted(set(REASONS) - {GATE, CONDITION, "layer_early"}))
def test_the_label_of_a_pack_is_a_reason_only_where_a_pack_says_something(rule_id: str) -> None:
    assert not any("pack" in reason for reason in reasons_for(rule_id))


def test_a_rule_without_a_row_offers_one_reason_that_is_always_true() -> None:
    assert reasons_for("somebody else's rule") == ("I know and take it on me",)
