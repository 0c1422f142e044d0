"""The phone message: at most 300 letters, the most important date first, cut at entries."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from cartclock.engine.after.visits import Closed
from cartclock.engine.paper.forms.message import MOST_LETTERS, REST, message
from cartclock.engine.plan.plan import Aftercare
from cartclock.engine.rules import changes, rules
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.plan_file.starters import starter
from tests.kit.book import JOB
from tests.kit.care import DRY as UNMARKED
from tests.kit.care import VISIT, WASH, finished, record_of

DRY = replace(UNMARKED, about="water")
SOAP = Aftercare("No shampoo.", "label of the pack", until="P10D", after="Coat")
WHO = ("The shed", "+351 555 0100")


def of(*items: Aftercare, at_s: float = 7300, who: tuple[str, str] = WHO, **facts: str) -> str:
    """The message of a job closed at second 7200."""
    book = finished(*items, **facts)
    book.do(7200, rules.close_job, JOB)
    return message(record_of(book, at_s), *who)


def test_the_dates_of_the_sheet_then_what_to_do_and_the_phone_last() -> None:
    soap = replace(SOAP, about="wash")
    dry = replace(DRY, if_not="Dry it with a soft towel at once.")
    assert of(VISIT, replace(WASH, about="wash"), soap, dry) == (
        "The shed: your grey van is done.\n"
        "Keep it dry until Wed 23 Sep, 14:34.\n"
        "First wash from Fri 2 Oct 2026.\n"
        "Inspection Sun 21 Mar 2027.\n"
        "Dry it with a soft towel at once.\n"
        "Questions: +351 555 0100"
    )


def test_what_the_plan_marks_as_no_date_is_told_behind_the_dates() -> None:
    said = of(WASH, SOAP, DRY).splitlines()
    assert said[1:] == [
        "Keep it dry until Wed 23 Sep, 14:34.",
        "Until Thu 1 Oct 2026 (included): No shampoo.",
        "From Mon 28 Sep 2026: First wash.",
        "Questions: +351 555 0100",
    ]


def test_of_a_real_plan_it_takes_two_messages() -> None:
    """The starter for two layers with its examples replaced by a label's own times."""
    plan = read_plan(starter("two_layer_coat_overnight"), "plan")
    items = [replace(item, source="label of the pack", after="") for item in plan.aftercare]
    said = of(*items, vehicle="graphite SUV, five doors")
    assert 200 < len(said) <= MOST_LETTERS
    assert REST not in said
    assert [line.split(" ")[0] for line in said.splitlines()] == [
        "The", "Keep", "First", "Inspection", "If", "Questions:",
    ]  # fmt: skip


def test_without_a_shop_nobody_is_named() -> None:
    assert of(DRY, who=("", "")).splitlines() == [
        "Your grey van is done.",
        "Keep it dry until Wed 23 Sep, 14:34.",
    ]


def test_what_has_no_room_is_cut_at_an_entry_and_the_sheet_has_the_rest() -> None:
    long = "Never park it under trees with sap, birds or a sprinkler that hits the paint. "
    many = [Aftercare(f"{n}. {long}", "label", until=f"P{n}D", after="Coat") for n in range(1, 6)]
    said = of(replace(DRY, if_not="Dry it."), *many)
    assert len(said) <= MOST_LETTERS
    lines = said.splitlines()
    assert lines[1] == "Keep it dry until Wed 23 Sep, 14:34."
    assert lines[-2:] == [REST, "Questions: +351 555 0100"]
    for line in lines[2:-2]:
        assert line.endswith(("Dry it.", "the paint."))


def test_the_vehicle_goes_before_any_date() -> None:
    said = of(DRY, VISIT, vehicle="v" * 250)
    assert said.splitlines() == [
        "Keep it dry until Wed 23 Sep, 14:34.",
        "Inspection Sun 21 Mar 2027.",
        "Questions: +351 555 0100",
    ]


def test_a_visit_is_told_on_the_open_day() -> None:
    book = finished(VISIT)
    book.do(7200, rules.close_job, JOB)
    said = message(record_of(book, 7300, Closed(frozenset({7}))))
    assert "Inspection Mon 22 Mar 2027." in said


def test_a_date_that_has_passed_is_left_out_and_a_beginning_stays() -> None:
    later = 30 * 86400
    said = of(DRY, SOAP, WASH, VISIT, at_s=later)
    assert "Keep it dry" not in said and "No shampoo" not in said
    assert "From Mon 28 Sep 2026: First wash." in said and "Inspection " in said
    assert REST not in said


def test_the_last_day_of_a_date_is_not_over() -> None:
    # Thu 1 Oct 2026 23:59 UTC.
    assert "No shampoo" in of(SOAP, at_s=10 * 86400 + 9 * 3600 + 45 * 60)
    assert "No shampoo" not in of(SOAP, at_s=10 * 86400 + 9 * 3600 + 47 * 60)


def test_an_example_is_called_one() -> None:
    said = of(Aftercare("Keep it dry.", "example", until="P2D", after="Coat", about="water"))
    assert "Keep it dry up to and including Wed 23 Sep 2026. (example)" in said


def test_what_has_no_date_yet_is_on_the_sheet() -> None:
    open_job = finished(DRY, VISIT)
    said = message(record_of(open_job, 1300))
    assert said.splitlines() == [
        "Your grey van is in the shop.",
        "Keep it dry until Wed 23 Sep, 14:34.",
        REST,
    ]
    open_job.do(1400, changes.redo, JOB, "Coat", ("roof",), "high spot")
    assert message(record_of(open_job, 1500)).splitlines() == [
        "Your grey van is in the shop.",
        "No date yet: dated when Coat is finished; 1 section is still to be done.",
        REST,
    ]
    assert message(record_of(finished(), 1300)) == "Your grey van is in the shop.\nNo dates."


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
    said = of(DRY, vehicle=typed, who=("", ""))
    assert said.splitlines()[0] == f"Your {sent} is done."


def test_a_phone_number_that_is_none_keeps_no_date_away() -> None:
    said = of(DRY, who=("s" * 900, "1" * 900))
    assert said.splitlines() == ["Keep it dry until Wed 23 Sep, 14:34."]
    said = of(DRY, who=("s" * 900, "555 0100"))
    assert said.splitlines() == ["Keep it dry until Wed 23 Sep, 14:34.", "Questions: 555 0100"]


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
    item = Aftercare(say, "label", until="PT48H", after="Coat", about="water")
    said = message(record_of(finished(item), 1300), shop, phone)
    assert "Wed 23 Sep, 14:34" in said
