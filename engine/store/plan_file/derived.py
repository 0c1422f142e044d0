"""Another plan as the text of a plan file, from the text of one: what did not change stays there as
it was written, with its comments.

The text is taken apart into pieces, a table each with the lines of comment right above its header,
so that a stage or a step that moves takes its comments along. Inside of a piece that changed a
TOML library that keeps comments sets single keys.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from msgspec import Struct

from cartclock.engine.plan.plan import Aftercare, Plan, Product, Stage, Step, Tool, Work
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.plan_file.values import (
    Values,
    aftercare_values,
    product_values,
    stage_values,
    step_values,
    tool_values,
    top_values,
)
from cartclock.engine.store.plan_file.writer import entry, inline, plan_text, stage_text, step_text
from cartclock.engine.trouble import PlanFault, Refused

T = TypeVar("T")
R = TypeVar("R", Product, Tool, Aftercare)
_HEADER = re.compile(r"[ \t]*\[\[?\s*(?P<name>[^\[\]#]+?)\s*\]\]?[ \t]*(#.*)?\r?\n?")
_ROWS = ("product", "tool", "stage", "aftercare")

OTHERWISE = "That stands in the file in another way; change it by hand."


class _Piece:
    """A table of the file and, of a stage, its steps; or what stands above the first table.

    Fields:
        name: "product", "tool", "stage", "aftercare", "stage.step"; "" of everything else.
        text: as it stands in the file.
        place: which of the file's pieces; a step has that of its stage.
        steps: of a stage.
    """

    def __init__(self, name: str, text: str, place: int) -> None:
        self.name, self.text, self.place = name, text, place
        self.steps: list[_Piece] = []


class _Put(Struct, frozen=True):
    """A piece of the new text, and which of the file's it was; None of a new one."""

    text: str
    place: int | None = None


class _Asked(Struct, frozen=True):
    """What a piece is to say: its keys before and after, each in the full and in the short form."""

    before: tuple[Values, Values]
    after: tuple[Values, Values]


def derived(text: str, plan: Plan) -> str:
    """The text of a plan file with what it must say otherwise to be another plan.

    Args:
        text: of a plan file without a fault.
        plan: what the new text is to read as.

    Raises:
        PlanFault: a plan file must not say that; every fault of it, with what would be right.
        Refused: what changed stands in the file in a way that cannot be changed piece by piece.
    """
    before = read_plan(text, plan.name)
    if before == plan:
        return text
    made = _made(text, before, plan)
    try:
        found = read_plan(made, plan.name)
    except PlanFault:
        # Whether the plan itself has the fault is said by the text that is made of it alone.
        plan_text(plan)
        raise Refused(OTHERWISE) from None
    if found != plan:
        raise Refused(OTHERWISE)
    return made


def _made(text: str, before: Plan, plan: Plan) -> str:
    pieces = _pieces(text)
    rows = {name: [piece for piece in pieces if piece.name == name] for name in _ROWS}
    counts = (before.products, before.tools, before.stages, before.aftercare)
    if any(len(rows[name]) != len(count) for name, count in zip(_ROWS, counts, strict=True)):
        raise Refused(OTHERWISE)
    new = {
        "product": _rows(rows, "product", before.products, plan.products, product_values),
        "tool": _rows(rows, "tool", before.tools, plan.tools, tool_values),
        "stage": _stages(rows["stage"], before, plan),
        "aftercare": _rows(rows, "aftercare", before.aftercare, plan.aftercare, aftercare_values),
    }
    was, told = top_values(before), top_values(plan)
    return _top(_placed(pieces, new), _Asked((was, was), (told, told)))


def _named(one: Product | Tool | Aftercare) -> str:
    return one.say if isinstance(one, Aftercare) else one.id


def _pieces(text: str) -> list[_Piece]:
    """The tables of a file in their order, steps within their stages."""
    found = [_Piece("", "", 0)]
    comments = ""
    for line in text.splitlines(keepends=True):
        header = _HEADER.fullmatch(line)
        name = "" if header is None else re.sub(r"\s", "", header["name"])
        if line.lstrip().startswith("#"):
            comments += line
            continue
        last = found[-1]
        if header is not None and name == "stage.step" and last.name == "stage":
            last.steps.append(_Piece(name, comments + line, last.place))
        elif header is not None and (name in _ROWS or name.split(".")[0] not in _ROWS):
            known = name if name in _ROWS else ""
            found.append(_Piece(known, comments + line, len(found)))
        else:
            # A line of a table, or the header of a table inside it.
            inner = last.steps[-1] if last.steps else last
            inner.text += comments + line
        comments = ""
    inner = found[-1].steps[-1] if found[-1].steps else found[-1]
    inner.text += comments
    return found


def _placed(pieces: Sequence[_Piece], new: dict[str, list[_Put]]) -> str:
    """The pieces in the places that the file had for their kind, more of a kind behind its last."""
    last = {piece.name: index for index, piece in enumerate(pieces)}
    left = {name: list(put) for name, put in new.items()}
    made: list[_Put] = []
    for index, piece in enumerate(pieces):
        if piece.name == "":
            made.append(_Put(piece.text, index))
            continue
        if piece.name == "stage":
            for name in ("product", "tool"):
                made += left.pop(name, []) if name not in last else []
        waiting = left[piece.name]
        if index == last[piece.name]:
            made += waiting
            waiting.clear()
        elif waiting:
            made.append(waiting.pop(0))
    made += [put for name in _ROWS for put in left.get(name, [])]
    whole = ""
    was: int | None = -1
    for put in made:
        if whole and not whole.endswith("\n"):
            whole += "\n"
        # Two that stood behind each other in the file stand as they did.
        stood = put.place is not None and was is not None and put.place == was + 1
        if whole and not stood and not whole.endswith(("\n\n", "\r\n\r\n")):
            whole += "\n"
        whole, was = whole + put.text, put.place
    return whole


def _rows(
    rows: Mapping[str, Sequence[_Piece]],
    name: str,
    before: Sequence[R],
    after: Sequence[R],
    values: Callable[[R, bool], Values],
) -> list[_Put]:
    """Each table of a list."""
    at = {_named(one): index for index, one in enumerate(before)}
    pieces, found = rows[name], []
    for one in after:
        index = at.get(_named(one))
        if index is None:
            found.append(_Put(entry(f"[[{name}]]", values(one, False))))
            continue
        text = pieces[index].text
        if before[index] != one:
            text = _changed(text, (name,), _asked(values, before[index], one))
        found.append(_Put(text, pieces[index].place))
    return found


def _asked(values: Callable[[T, bool], Values], before: T, after: T) -> _Asked:
    return _Asked(
        (values(before, True), values(before, False)), (values(after, True), values(after, False))
    )


def _stages(pieces: Sequence[_Piece], before: Plan, plan: Plan) -> list[_Put]:
    at = {stage.name: index for index, stage in enumerate(before.stages)}
    found = []
    for stage in plan.stages:
        index = at.get(stage.name)
        if index is None:
            found.append(_Put(stage_text(stage, plan.shape)))
        else:
            text = _stage(pieces[index], before.stages[index], before.shape, stage, plan.shape)
            found.append(_Put(text, pieces[index].place))
    return found


def _stage(piece: _Piece, before: Stage, was: str, after: Stage, shape: str) -> str:
    if len(piece.steps) != len(before.steps):
        raise Refused(OTHERWISE)
    asked = _Asked(
        (stage_values(before, was, True), stage_values(before, was)),
        (stage_values(after, shape, True), stage_values(after, shape)),
    )
    text = piece.text
    if asked.before != asked.after:
        text = _changed(text, ("stage",), asked)
    lined = (one if one.endswith("\n") else f"{one}\n" for one in _steps(piece, before, after))
    return "".join((text, *lined))


def _steps(piece: _Piece, was: Stage, stage: Stage) -> list[str]:
    """The text of each step; one that was there before keeps its own, wherever it stands now."""
    pieces, before, after = piece.steps, was.steps, stage.steps
    free = dict(enumerate(before))
    taken: dict[int, int] = {}
    for same in (lambda a, b: a == b, _alike):
        for place, step in enumerate(after):
            if place in taken:
                continue
            found = next((index for index, other in free.items() if same(other, step)), None)
            if found is not None:
                taken[place] = found
                del free[found]
    made = []
    for place, step in enumerate(after):
        index = taken.get(place)
        if index is None:
            made.append(step_text(step))
        elif before[index] == step:
            made.append(pieces[index].text)
        else:
            asked = _asked(step_values, before[index], step)
            made.append(_changed(pieces[index].text, ("stage", "step"), asked))
    return made


def _alike(one: Step, other: Step) -> bool:
    return isinstance(one, Work) == isinstance(other, Work) and one.say == other.say


def _changed(text: str, path: Sequence[str], asked: _Asked) -> str:
    """The text of one table with the keys that are to be otherwise; `path` leads to the table."""
    import tomlkit  # it takes longer to load than most commands take

    document = tomlkit.parse(text)
    table: Any = document
    for name in path:
        table = table[name]
        table = table[0] if isinstance(table, list) else table
    _set(table, asked)
    return tomlkit.dumps(document)


def _set(table: Any, asked: _Asked) -> None:
    import tomlkit  # as above

    (was, was_short), (full, short) = asked.before, asked.after
    for key in dict.fromkeys((*was, *full)):
        if key in table:
            if full.get(key, False) is False:
                del table[key]
            elif was.get(key) != full[key]:
                table[key] = tomlkit.value(inline(full[key], len(key) + 3))
        elif key in short and short[key] != was_short.get(key):
            table[key] = tomlkit.value(inline(full[key], len(key) + 3))


def _top(text: str, asked: _Asked) -> str:
    """The text with the keys above its first table that are to be otherwise."""
    if asked.before == asked.after:
        return text
    import tomlkit  # as above

    document = tomlkit.parse(text)
    _set(document, asked)
    return tomlkit.dumps(document)
