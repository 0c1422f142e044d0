"""Which places of a vehicle sections and damages lie on.

What a name means is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.plan.plan import Plan, Stage, Work
from cartclock.engine.plan.shapes import SHAPES, panel_order, shape_sections
from cartclock.engine.store.plan_file.reader import starter
from cartclock.engine.vehicle.covered import body_shape, covered, placing_remarks
from cartclock.engine.vehicle.plan_view import plan_view
from cartclock.tui.commands.group import commands
from tests.kit.book import Book

STEPS = (Work("polish", 1),)


def book_of(plan: Plan) -> Book:
    book = Book()
    book.press(0, ev.JobOpened(plan, "", 1, "bottle green van"))
    return book


def polish(sections: tuple[str, ...], shape: str = "", **covers: tuple[str, ...]) -> Plan:
    return Plan("Plan", (Stage("Polish", sections, STEPS),), shape=shape, covers=covers)


def covers(book: Book) -> dict[str, tuple[str, ...]]:
    return {one.name: one.places for one in covered(book.job())}


def test_a_split_section_and_a_listed_one_find_their_panels() -> None:
    side = ("passenger front wing", "passenger mirror")
    book = book_of(polish(("nearside", "roof", "bonnet left"), "van", nearside=side))
    book.press(5, ev.SectionSplit("Polish", "nearside", ("nearside 1", "nearside 2")))
    for at, panel in enumerate(("tow bar", "driver rear wheel", "barn doors", "windscreen")):
        book.press(10 + at, ev.DamageNoted(panel, "scratch"))
    assert body_shape(book.job()) == "van"
    assert covers(book) == {
        "nearside": side,
        "nearside 1": side,
        "nearside 2": side,
        "roof": ("roof",),
        "bonnet left": ("bonnet",),
        "driver rear wheel": ("driver rear wheel",),
        "barn doors": ("passenger barn door", "driver barn door"),
        "windscreen": ("windscreen",),
    }


def test_what_is_covered_is_drawn() -> None:
    names = ("whole vehicle", "wheels", "side glass", "passenger side", "rear", "bumpers")
    for shape in SHAPES:
        drawn = {place.name for place in plan_view(shape).places}
        found = covers(book_of(polish(names, shape)))
        assert set(found) == set(names)
        assert {place for places in found.values() for place in places} <= drawn
        assert len(found["wheels"]) == 4 and len(found["side glass"]) == 2


def test_a_plan_of_an_older_log_shows_its_body_by_its_panels() -> None:
    for shape in SHAPES:
        sections, panels = shape_sections(shape, {"bonnet": 2})
        stage = Stage("Polish", sections, STEPS, panels=panels)
        book = book_of(Plan("Plan", (stage,)))
        assert set(panel_order(body_shape(book.job()))) == set(panel_order(shape))
        assert covers(book)["bonnet left"] == ("bonnet",)
    assert body_shape(book_of(polish(("roof", "bonnet"))).job()) == ""
    assert covers(book_of(polish(("roof", "bonnet")))) == {}


def test_a_name_that_says_more_than_is_placed_is_known_for_it() -> None:
    book = book_of(polish(("bonnet and trim", "roof and windscreen", "left doors"), "hatchback"))
    assert {one.name: (one.places, one.part) for one in covered(book.job())} == {
        "bonnet and trim": (("bonnet",), True),
        "roof and windscreen": (("roof", "windscreen"), False),
    }


def test_a_check_names_what_is_on_no_panel() -> None:
    sections = ("bonnet left", "upper doors", "roof and trim", "nearside", "wheels")
    plan = polish(sections, "hatchback", nearside=("passenger sill",))
    assert placing_remarks(plan) == (
        "Not placed on the hatchback by what they are called: upper doors, roof and trim. "
        "Papers name them beside its drawing, and say of no panel that nothing is on it; covers "
        "in the plan file places them.",
    )
    placed = dict.fromkeys(("upper doors", "roof and trim"), ("roof",))
    assert placing_remarks(replace(plan, covers=plan.covers | placed)) == ()
    # Of no body nothing can be said, and a test spot is on no paper.
    assert placing_remarks(polish(("upper doors",))) == ()
    spots = (replace(plan.stages[0], sections=("spot",), trial=True),)
    assert placing_remarks(replace(plan, stages=spots)) == ()


def test_the_command_notes_it_and_ends_as_without_it(tmp_path: Path) -> None:
    text = starter("two_layer_coat_overnight")
    said = {}
    for name, section in (("plain", ""), ("doors", "nearside doors")):
        file = tmp_path / f"{name}.toml"
        stage = f'\n[[stage]]\nname = "Wax"\nsections = ["{section}"]\n'
        stage += '[[stage.step]]\nwork = "wax"\nminutes = 1\n'
        file.write_text(text + (stage if section else ""), "utf-8")
        told = CliRunner().invoke(commands, ["check", str(file)])
        assert told.exit_code == 0, told.output
        said[name] = told.output
    assert "nearside doors. Papers name them" in said["doors"]
    assert "Not placed" not in said["plain"]
