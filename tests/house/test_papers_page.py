"""PAPERS.md names every paper with its forms, every key of their JSON and every column of CSV.

It is written from the table and the Structs: with CARTCLOCK_WRITE_DOCS=1 in the environment
anew, otherwise it is compared.
"""

from __future__ import annotations

import inspect
import json
import os
import re
import types
import typing
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct

from cartclock.engine.paper.forms import json_form
from cartclock.engine.paper.forms.csv_form import PRODUCT_COLUMNS, SEGMENTS
from cartclock.engine.paper.forms.json_form import JSON_VERSION, at_key, instants
from cartclock.engine.paper.papers import PAPERS, Paper
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.record.arrival import ArrivalSheet
from cartclock.engine.record.customer import CustomerSheet
from cartclock.engine.record.day import Day
from cartclock.engine.record.record import Record
from cartclock.engine.record.revision import Revision
from cartclock.engine.record.whole_vehicle import WholeVehicle
from cartclock.engine.times import Instant, Length
from tests.kit.papers import WHO, papers_with

PAGE = Path(__file__).parents[2] / "engine" / "paper" / "PAPERS.md"
ROOTS: tuple[type[Struct], ...] = (Record, Day, CustomerSheet, ArrivalSheet, WholeVehicle)
NAMES = {
    int: "integer",
    Instant: "integer",
    Length: "integer",
    float: "number",
    str: "text",
    bool: "true or false",
}


def hints(cls: type[Struct]) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def structs(kind: Any) -> Iterator[type[Struct]]:
    """The Structs that a type holds."""
    if isinstance(kind, type) and issubclass(kind, Struct):
        yield kind
    for part in typing.get_args(kind):
        yield from structs(part)


def reachable(roots: Iterable[type[Struct]]) -> list[type[Struct]]:
    """Every Struct that can stand in these, the roots first, then by name."""
    found: dict[type[Struct], None] = dict.fromkeys(roots)
    todo = list(found)
    while todo:
        for kind in hints(todo.pop()).values():
            new = [cls for cls in structs(kind) if cls not in found]
            found |= dict.fromkeys(new)
            todo += new
    first = [cls for cls in found if cls in ROOTS]
    return first + sorted((cls for cls in found if cls not in ROOTS), key=lambda c: c.__name__)


def type_text(kind: Any) -> str:
    """A type in words."""
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if kind in NAMES:
        return NAMES[kind]
    if kind in (Decimal, Fraction):
        return "exact number as text"
    if isinstance(kind, type) and issubclass(kind, Struct):
        return f"[{kind.__name__}](#{kind.__name__.lower()})"
    if origin is typing.Literal:
        return " or ".join(json.dumps(value) for value in args)
    if origin is tuple:
        inner = args[:1] if len(args) == 2 and args[1] is ... else args
        return "list of " + " and ".join(type_text(one) for one in inner)
    if origin in (typing.Union, types.UnionType):
        some = dict.fromkeys(type_text(one) for one in args if one is not type(None))
        null = " or null" if type(None) in args else ""
        return " or ".join(some) + null
    raise AssertionError(f"{kind} has no words")


def docs(cls: type[Struct]) -> dict[str, str]:
    """What the docstring says of each field."""
    _head, _fields, told = (cls.__doc__ or "").partition("Fields:\n")
    found: dict[str, str] = {}
    names: list[str] = []
    for line in told.splitlines():
        start = re.match(r" {8}([a-z_]\w*(?:, [a-z_]\w*)*): ?(.*)", line)
        if start is not None:
            names = start[1].split(", ")
            found |= dict.fromkeys(names, start[2].strip())
        elif line.strip() and names:
            found |= {name: f"{found[name]} {line.strip()}" for name in names}
    return found


def summary(cls: type[Struct]) -> str:
    said = (cls.__doc__ or "").split("Fields:\n")[0]
    return " ".join(said.split()).replace("|", "\\|")


def in_json(said: str) -> str:
    """A meaning with the words of JSON for those of the code."""
    said = "" if said == "see there." else said
    for ours, theirs in (("|", "\\|"), ("None", "null"), ("True", "true"), ("False", "false"),
                         ("()", "an empty list")):  # fmt: skip
        said = said.replace(ours, theirs)
    return said


def entry(cls: type[Struct]) -> str:
    lines = [
        f"### {cls.__name__}",
        "",
        summary(cls),
        "",
        "| key | value | meaning |",
        "|---|---|---|",
    ]
    told = docs(cls)
    kinds = hints(cls)
    for name in cls.__struct_fields__:
        said = in_json(told.get(name, "")) or "as said above"
        lines.append(f"| `{name}` | {type_text(kinds[name])} | {said} |")
        if name in instants(cls):
            iso = type_text(kinds[name]).replace("integer", "ISO 8601 text")
            lines.append(f"| `{at_key(name)}` | {iso} | the same instant |")
    return "\n".join(lines)


def forms_row(name: str, paper: Paper) -> str:
    command = f"{paper.under} --{name}" if paper.under else name
    return f"| {name} | {paper.said} | `cartclock paper {command}` | {', '.join(paper.forms)} |"


def print_row(name: str, paper: Paper) -> str:
    sheet = paper.as_sheet
    pages = "as many as it needs" if sheet.pages is None else str(sheet.pages)
    floor = "-" if sheet.pages is None else f"{sheet.floor_pt:g}"
    if sheet.lying:
        return f"| {name} | {pages}, lying | as large as its width allows | - | - |"
    return f"| {name} | {pages} | {sheet.body_pt:g} | {floor} | {sheet.least_pt:g} |"


# What papers are to prove, and where it is proved.
HELD = {
    "no letter is smaller than its paper says, and a page is a page, on A4 and Letter":
        "tests/demos/test_sessions.py::test_every_paper_keeps_to_its_pages_and_its_letters",
    "a full day is one page":
        "tests/paper/test_pdf.py::test_a_full_day_is_one_page_in_letters_that_can_be_read",
    "A4 and Letter say the same in the same places":
        "tests/paper/test_customer_page.py::"
        "test_both_sizes_of_paper_say_the_same_in_the_same_places",
    "hours are the same in text, HTML and PDF":
        "tests/demos/test_sessions.py::test_the_hours_are_the_same_in_every_form",
    "print says every word of the text":
        "tests/paper/test_pdf.py::test_the_record_says_every_word_of_the_text",
    "nothing of the shop is on a paper that leaves it":
        "tests/paper/test_kept_in_the_shop.py::"
        "test_nothing_of_it_is_on_a_paper_that_leaves_the_shop",
    "accents, Greek, Cyrillic, Hebrew and Arabic are set right, Thai is named":
        "tests/paper/test_customer_page.py::test_names_of_every_script_are_set_or_their_letters_named",
    "Hebrew reads from the right": "tests/paper/test_letters.py::test_hebrew_reads_from_the_right",
    "Arabic letters join": "tests/paper/test_letters.py::test_arabic_letters_join",
    "a letter that no font has is named":
        "tests/paper/test_letters.py::test_a_letter_that_is_nowhere_is_named_and_never_dropped",
    "everything is told in grey, by words and patterns":
        "tests/paper/test_pdf.py::test_rows_of_the_drawing_are_told_by_words_and_patterns_alone",
    "letters and grounds keep 7:1 in grey":
        "tests/paper/test_customer_page.py::test_letters_and_grounds_keep_seven_to_one_in_grey",
}  # fmt: skip


def test_what_is_said_to_hold_a_thing_is_there() -> None:
    for test in HELD.values():
        file, _colons, name = test.partition("::")
        assert f"def {name}(" in (Path(__file__).parents[2] / file).read_text(encoding="utf-8"), (
            test
        )


def page() -> str:
    """The page as it is to be."""
    parts = [
        "# Papers for programs",
        "",
        "The papers as JSON and CSV. This page is written from the code by",
        "`CARTCLOCK_WRITE_DOCS=1 python -m pytest tests/house/test_papers_page.py`.",
        "",
        "## Papers and their forms",
        "",
        "| paper | what it is | command | forms |",
        "|---|---|---|---|",
        *(forms_row(name, paper) for name, paper in PAPERS.items()),
        "",
        "## In print",
        "",
        "Sizes in points. A paper that takes more pages than it may is set in smaller letters,",
        "then in fewer words; what does not fit even so turns the page.",
        "",
        "| paper | pages | letters of its body | never under | no letter smaller than |",
        "|---|---|---|---|---|",
        *(print_row(name, paper) for name, paper in PAPERS.items() if "pdf" in paper.forms),
        "",
        "| what holds of papers | the test that holds it |",
        "|---|---|",
        *(f"| {what} | `{test}` |" for what, test in HELD.items()),
        "",
        "## JSON",
        "",
        "| schema | keys beside `schema` and `version` | for |",
        "|---|---|---|",
        "| `cartclock/record` | `totals` (`clock_us`, `own_us`), `currency`, "
        "`record`: [Record](#record) "
        "| the shop: private notes, names and costs are in it |",
        "| `cartclock/day` | `totals` (`clock_us`), `day`: [Day](#day) | the worker and the shop |",
        "| `cartclock/customer` | `shop`: [ShopHead](#shophead), "
        "`customer`: [CustomerSheet](#customersheet) | the customer |",
        "| `cartclock/arrival` | `shop`: [ShopHead](#shophead), `currency`, "
        "`arrival`: [ArrivalSheet](#arrivalsheet) | the customer and the shop |",
        "| `cartclock/vehicle` | `totals` (`all_us`), `currency`, "
        "`vehicle`: [WholeVehicle](#wholevehicle) "
        "| the shop: private notes, names and costs are in it |",
        "",
        "The customer's paper of a vehicle worked on in parts has `not_told` beside: what of the",
        "vehicle is not told, a sentence each.",
        "",
        "Of a paper that left the laptop there is `revision`: [Revision](#revision), and `says`:",
        "the same as sentences. The changes stand in the record alone.",
        "",
        f"`version` is {JSON_VERSION}. It goes up when a key is taken away or means "
        f"something else; a "
        "new key leaves it as it is.",
        "",
        "A key that ends in `_us` is whole microseconds: an instant since 1970-01-01 UTC, and",
        "beside it stands the same instant as ISO 8601 text with the offset of the paper's zone;",
        "or a length, and then it stands alone. Exact numbers are texts: a decimal number, or a",
        "fraction (`1000/11`) where no decimal number is exact. Everything outside ASCII, every",
        "control character and `<`, `>`, `&` are written as `\\u` escapes.",
        "",
        "A temperature stays in the unit that its key ends in, `_c` or `_f`, whatever the setting",
        "`temperature` says; sentences name theirs.",
        "",
        *(f"{entry(cls)}\n" for cls in reachable((*ROOTS, ShopHead, Revision))),
        "## CSV",
        "",
        "Lines end with CR LF, cells are quoted where needed (RFC 4180), the first line has the",
        "heads. Instants are ISO 8601 with the offset of the paper's zone. A text that a",
        "spreadsheet would take for a formula has an apostrophe before it.",
        "",
        f"Segments: {', '.join(f'`{name}`' for name in SEGMENTS)}. One line for each piece of a "
        "shift; the seconds are exact and add up to all of it. `job` is its number; of "
        "another job than the record's nothing but the number is told.",
        "",
        f"Products: {', '.join(f'`{name}`' for name in PRODUCT_COLUMNS)}. One line for each "
        f"lot of each "
        "product; `amount` in `unit` as applied, `from the pack` in `pack unit` without the water "
        "of the mix. What is not known stays empty.",
        "",
    ]
    return "\n".join(parts)


def test_the_page_of_the_papers_is_as_the_code_has_it() -> None:
    if os.environ.get("CARTCLOCK_WRITE_DOCS"):
        PAGE.write_text(page(), encoding="utf-8")
    assert PAGE.read_text(encoding="utf-8") == page(), "PAPERS.md is behind the code"


def test_every_struct_has_a_name_of_its_own() -> None:
    every = reachable((*ROOTS, ShopHead, Revision))
    names = [cls.__name__ for cls in every]
    assert len(names) == len(set(names))
    for cls in every:
        twice = [at_key(name) for name in cls.__struct_fields__ if name in instants(cls)]
        assert not set(twice) & set(cls.__struct_fields__), cls
        assert len(twice) == len(set(twice)), cls


def _keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for inside in value.values() for key in _keys(inside)}
    if isinstance(value, list):
        return {key for inside in value for key in _keys(inside)}
    return set()


@pytest.mark.parametrize("who", WHO)
def test_every_key_of_a_paper_stands_on_the_page(who: str) -> None:
    named = set(re.findall(r"`(\w+)`", PAGE.read_text(encoding="utf-8")))
    assert _keys(json.loads(papers_with(lambda name: name).forms(who)["json"])) <= named


def test_every_schema_that_is_written_stands_on_the_page() -> None:
    written = inspect.getsource(json_form)
    schemas = set(re.findall(r'_document\("(\w+)"', written))
    assert len(schemas) >= 5
    assert schemas == set(re.findall(r"^\| `cartclock/(\w+)`", PAGE.read_text("utf-8"), re.M))


def _instants(value: Any, at: str = "") -> Iterator[tuple[str, int]]:
    """Every number under a key ending in _us."""
    if isinstance(value, dict):
        for key, inside in value.items():
            yield from _instants(inside, key)
    elif isinstance(value, list):
        for inside in value:
            yield from _instants(inside, at)
    elif at.endswith("_us") and isinstance(value, int):
        yield at, value


def test_what_is_called_a_length_is_short_and_an_instant_is_of_this_age() -> None:
    body = json.loads(papers_with(lambda name: name).forms("record")["json"])
    found = list(_instants(body))
    every = reachable((*ROOTS, ShopHead, Revision))
    lengths = {
        name
        for cls in every
        for name in set(cls.__struct_fields__) - instants(cls)
        if name.endswith("_us")
    } | {"clock_us", "own_us"}
    assert len(found) > 100
    for key, value in found:
        if value == 0:
            continue
        long_ago = abs(value) < 10**14
        assert long_ago is (key in lengths) or key == "off_us", (key, value)
