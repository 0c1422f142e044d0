"""The body of a whole plan file: its shape, and which panels its sections go over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cartclock.engine.plan.shapes import SHAPES, panel_order
from cartclock.engine.store.plan_file.tables import Table, instead_of, quoted

_SHAPE = 'shape = "van"'
_COVERS = 'covers = { "passenger side low" = ["passenger sill"] }'


def read_body(
    top: Table, stages: Iterable[Table], sections: Iterable[str]
) -> tuple[str, dict[str, tuple[str, ...]]]:
    """Shape of the body ("" if the file tells none) and section -> panels; faults go to the table.

    Args:
        top: the file's own table.
        stages: its `[[stage]]` tables.
        sections: names of the sections of all stages.
    """
    built = tuple(dict.fromkeys(_built(stages)))
    shape = top.word("shape", SHAPES, "")
    if "shape" not in top.values:
        shape = built[0] if len(built) == 1 else ""
    elif shape:
        for other in built:
            if other != shape:
                top.fault(
                    "shape",
                    f"{quoted(shape)} is not the body of every stage, one has body = "
                    f"{quoted(other)}; write one of them in both places",
                )
    covers = top.sub("covers", _COVERS)
    if covers is None:
        return shape or "", {}
    if shape == "":
        top.fault("covers", f"stands without shape; write {_SHAPE} too, or take covers out")
    return shape or "", _covers(covers, shape or "", tuple(dict.fromkeys(sections)))


def _built(stages: Iterable[Table]) -> Iterable[str]:
    """The bodies that stages are cut from."""
    for stage in stages:
        value = stage.values.get("sections")
        body = value.get("body") if isinstance(value, Mapping) else None
        if isinstance(body, str) and body in SHAPES:
            yield body


def _covers(table: Table, shape: str, sections: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    order = panel_order(shape) if shape else ()
    found: dict[str, tuple[str, ...]] = {}
    for section in table.values:
        value = table.raw(section)
        if section not in sections:
            otherwise = "name one that stands in the sections of a stage"
            hint = instead_of(section, sections, otherwise)
            table.fault(section, f"no stage has a section of that name; {hint}")
        if section in order:
            table.fault(section, "is a panel itself and covers no other; take the line out")
        if not isinstance(value, list) or not value:
            wrong = "the list is empty" if value == [] else f"{quoted(value)} is not a list"
            table.fault(section, f"{wrong}; write {_COVERS}")
            continue
        read = [table.plain(section, entry, 'a panel like "roof"') for entry in value]
        panels = [name for name in read if name is not None]
        for panel in dict.fromkeys(panels):
            if order and panel not in order:
                hint = instead_of(panel, order)
                table.fault(section, f"the body {quoted(shape)} has no {quoted(panel)}; {hint}")
            if panels.count(panel) > 1:
                table.fault(section, f"{quoted(panel)} stands there twice; take one of them out")
        found[section] = tuple(panels)
    table.done("covers")
    return found
