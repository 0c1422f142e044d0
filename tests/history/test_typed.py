"""Days among the words by which jobs are found."""

from __future__ import annotations

import pytest

from cartclock.engine.history.answers import Sought
from cartclock.engine.history.typed import sought_by


@pytest.mark.parametrize(
    ("typed", "words", "from_day", "to_day"),
    [
        ("", "", "", ""),
        ("  white   van ", "white van", "", ""),
        ("van 2026-09-21", "van", "2026-09-21", "2026-09-21"),
        ("2024-02 van", "van", "2024-02-01", "2024-02-29"),
        ("van 21 sep 2026 scratch", "van scratch", "2026-09-21", "2026-09-21"),
        ("Sept 2026", "", "2026-09-01", "2026-09-30"),
        ("7 August 2026", "", "2026-08-07", "2026-08-07"),
        # Words that are none of a day stay words.
        ("mar", "mar", "", ""),
        ("maroon 2026", "maroon 2026", "", ""),
        ("31 sep 2026", "31", "2026-09-01", "2026-09-30"),
        ("2026-13", "2026-13", "", ""),
        ("2026-02-30", "2026-02-30", "", ""),
        ("0000-01", "0000-01", "", ""),
        ("²¹ sep 2026", "²¹", "2026-09-01", "2026-09-30"),
        ("7731 2026", "7731 2026", "", ""),
    ],
)
def test_days_are_taken_out_of_the_words(
    typed: str, words: str, from_day: str, to_day: str
) -> None:
    assert sought_by(typed) == Sought(words=words, from_day=from_day, to_day=to_day)


def test_what_else_is_wanted_stays() -> None:
    among = Sought(plan="tiny", state="open")
    assert sought_by("van", among) == Sought(words="van", plan="tiny", state="open")
