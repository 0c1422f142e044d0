"""The phone message: at most 600 characters, the most important date first, cut at entries."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cartclock.engine.after.visits import Closed
from cartclock.engine.paper.forms.message import MOST_LETTERS, REST, message
from cartclock.engine.plan.plan import Aftercare
from cartclock.engine.rules import changes, rules
from tests.kit.book import JOB
from tests.kit.care import DRY, VISIT, WASH, finished, record_of

SOAP = Aftercare("No shampoo.", "label of the pack", until="P10D", after="Coat")
WHO = ("The shed", "+351 555 0100")


def of(*items: Aftercare, at_s: float = 7300, who: tuple[str, str] = WHO, **facts: str) -> str:
    """The message of a job closed at second 7200."""
    book = finished(*items, **facts)
    book.do(7200, rules.close_job, JOB)
    return message(record_of(book, at_s), *who)


def test_the_most_important_date_comes_first_and_the_phone_last() -> None:
    assert of(VISIT, WASH, SOAP, DRY) == (
        "grey van:\n"
        "Until Wed 23 Sep 2026 14:34: Keep it dry.\n"
        "Until Thu 1 Oct 2026 (included): No shampoo.\n"
        "From Mon 28 Sep 2026: First wash.\n"
        "Inspection: Sun 21 Mar 2027, Tue 21 Sep 2027.\n"
        "The shed\n"
        "+351 555 0100"
    )


def test_without_a_shop_nobody_is_named() -> None:
    assert of(DRY, who=("", "")).splitlines()[-1] == "Until Wed 23 Sep 2026 14:34: Keep it dry."


def test_what_has_no_room_is_cut_at_an_entry_and_the_sheet_has_the_rest() -> None:
    long = "Never park it under trees with sap, birds or a sprinkler that hits the paint. " * 4
    many = [Aftercare(f"{n}. {long}", "label", until=f"P{n}D", after="Coat") for n in range(1, 6)]
    said = of(DRY, *many)
    assert len(said) <= MOST_LETTERS
    lines = said.splitlines()
    # The vehicle goes before any date does.
    assert lines[0].endswith("Keep it dry.") or lines[0].startswith(
        "Until Tue 22 Sep 2026 (included): "
    )
    assert lines[-3:] == [REST, *WHO]
    for line in lines[:-3]:
        assert line.endswith(("Keep it dry.", "the paint."))


def test_just_what_fits_is_not_cut() -> None:
    def padded(count: int) -> str:
        item = Aftercare("x" * count, "label", until="P1D", after="Coat")
        return of(item, who=("", ""))

    room = MOST_LETTERS - len(padded(1)) + 1
    full = padded(room)
    assert len(full) == MOST_LETTERS and REST not in full
    over = padded(room + 1)
    # One more, and the vehicle goes; its line was nine letters and a line feed.
    assert over.startswith("Until ") and len(over) == MOST_LETTERS + 1 - len("grey van:\n")


def test_a_long_row_of_visits_is_counted() -> None:
    row = Aftercare("Come by.", "label", every="P1M", times=12, visit=True)
    assert "Come by: Wed 21 Oct 2026, Sat 21 Nov 2026 and 10 more." in of(row)


def test_a_visit_is_told_on_the_open_day() -> None:
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    said = message(record_of(book, 7300, Closed(frozenset({7}))))
    assert "Inspection: Mon 22 Mar 2027, Tue 21 Sep 2027." in said


def test_a_date_that_has_passed_is_left_out_and_a_beginning_stays() -> None:
    later = 30 * 86400
    said = of(DRY, SOAP, WASH, VISIT, at_s=later)
    assert "Keep it dry" not in said and "No shampoo" not in said
    assert "From Mon 28 Sep 2026: First wash." in said and "Inspection: " in said
    assert REST not in said


def test_the_last_day_of_a_date_is_not_over() -> None:
    # Thu 1 Oct 2026 23:59 UTC.
    assert "No shampoo" in of(SOAP, at_s=10 * 86400 + 9 * 3600 + 45 * 60)
    assert "No shampoo" not in of(SOAP, at_s=10 * 86400 + 9 * 3600 + 47 * 60)


def test_an_example_is_called_one() -> None:
    assert "Keep it dry. (example)" in of(Aftercare("Keep it dry.", "example", until="P2D"))


def test_what_has_no_date_yet_is_on_the_sheet() -> None:
    open_job = finished(DRY, VISIT)
    said = message(record_of(open_job, 1300))
    assert said.splitlines()[1:] == ["Until Wed 23 Sep 2026 14:34: Keep it dry.", REST]
    open_job.do(1400, changes.redo, JOB, "Coat", ("roof",), "high spot")
    assert message(record_of(open_job, 1500)).splitlines() == [
        "grey van:",
        "No date yet: dated when Coat is finished; 1 section is still to be done.",
        REST,
    ]
    assert message(record_of(finished(), 1300)) == "grey van:\nNo dates."


def test_no_open_day_is_left_to_the_sheet() -> None:
    book = finished(VISIT, DRY)
    book.do(7200, rules.close_job, JOB)
    said = message(record_of(book, 7300, Closed(frozenset(range(1, 8)))))
    assert "Inspection" not in said and REST in said


@pytest.mark.parametrize(
    ("typed", "sent"),
    [
        ("“Don’t” – wait…", '"Don\'t" - wait...'),
        ("pad\u00a0×\u202f2 at 20 °C", "pad x 2 at 20 degC"),
        ("two\nlines\tand  more", "two lines and more"),
        ("é ü ñ Ω stay, ł too", "é ü ñ Ω stay, ł too"),
        ("cafe\u0301", "café"),
        ("bell\x07 and \x1b[31mred", "bell and [31mred"),
    ],
)
def test_typographic_letters_become_plain_ones(typed: str, sent: str) -> None:
    assert of(DRY, vehicle=typed).splitlines()[0] == f"{sent}:"


def test_a_phone_number_that_is_none_keeps_no_date_away() -> None:
    said = of(DRY, who=("s" * 900, "1" * 900))
    assert said.splitlines() == ["Until Wed 23 Sep 2026 14:34: Keep it dry.", REST]
    said = of(DRY, who=("s" * 900, "555 0100"))
    assert said.splitlines() == ["Until Wed 23 Sep 2026 14:34: Keep it dry.", REST, "555 0100"]


@given(
    st.lists(st.text(min_size=1, max_size=300), max_size=6, unique=True),
    st.text(max_size=700),
    st.text(max_size=700),
    st.text(max_size=700),
)
def test_it_is_never_too_long_and_never_empty(
    says: list[str], shop: str, phone: str, vehicle: str
) -> None:
    items = [Aftercare(say, "label", until="PT48H", after="Coat") for say in says]
    said = message(record_of(finished(*items, vehicle=vehicle), 1300), shop, phone)
    assert 0 < len(said) <= MOST_LETTERS
    assert all(char == "\n" or char.isprintable() or char in "\u200d\u200c" or not char.isascii()
               for char in said)  # fmt: skip


# A letter that is written as several plain ones would make the text longer than a plan's.
LETTERS = st.characters(exclude_characters="…°½¼¾→")


@given(
    st.text(LETTERS, min_size=1, max_size=300),
    st.text(LETTERS, max_size=200),
    st.text(LETTERS, max_size=200),
)
def test_with_what_a_plan_and_settings_can_hold_the_first_date_is_always_there(
    say: str, shop: str, phone: str
) -> None:
    item = Aftercare(say, "label", until="PT48H", after="Coat")
    said = message(record_of(finished(item), 1300), shop, phone)
    assert "Until Wed 23 Sep 2026 14:34:" in said
