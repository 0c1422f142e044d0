"""What a stage is otherwise than it was, in words, and what of it stays once work on it began."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from msgspec.structs import replace

from cartclock.engine.dates import clock_text, iso_said
from cartclock.engine.plan.plan import (
    EXAMPLE,
    Aftercare,
    Handover,
    LabelRow,
    Stage,
    Step,
    Wait,
    Work,
)

# From so many seconds on a length is said without its seconds, if it has none.
_HOUR_S = 3600


def frame(stage: Stage) -> object:
    """What a turn of a section points into and what was said of it: steps and layers, not minutes,
    amounts or marks. Two stages with one frame can follow each other while work on them goes on.
    """
    return (
        stage.kind,
        stage.order,
        stage.press,
        stage.layers,
        tuple(one is None for one in (stage.gap, stage.cure, stage.check)),
        tuple(_step_frame(step) for step in stage.steps),
    )


def _step_frame(step: Step) -> object:
    if isinstance(step, Work):
        wears = tuple((one.kind, one.name) for one in step.wears)
        return step.say, step.over, step.tool, wears, tuple(use.product for use in step.uses)
    return step.say, step.kind, bool(step.label)


def well_made(stage: Stage) -> bool:
    """True of a stage that begins and ends with work and has no two waits in a row."""
    by_hand = [isinstance(step, Work) for step in stage.steps]
    whole = bool(by_hand) and by_hand[0] and by_hand[-1]
    return whole and all(one or other for one, other in pairwise(by_hand))


def without_examples(stage: Stage) -> Stage:
    """The stage with every length of time taken from the pack: none of them is an example."""
    return replace(
        stage,
        steps=tuple(
            replace(step, example=False) if isinstance(step, Wait) else step for step in stage.steps
        ),
        gap=None if stage.gap is None else replace(stage.gap, example=False),
        cure=None if stage.cure is None else replace(stage.cure, example=False),
    )


def differences(was: Stage, stage: Stage) -> tuple[str, ...]:
    """A phrase for each thing that is otherwise, from what to what; () if nothing is."""
    found = [
        *_field("effort", was.effort, stage.effort),
        *_field("order", was.order, stage.order),
        *_field("one press covers", was.press, stage.press),
        *_field("layers", was.layers, stage.layers),
        *_steps(was, stage),
    ]
    for name in ("gap", "cure", "check"):
        before, after = getattr(was, name), getattr(stage, name)
        if before is None or after is None:
            if before is not after:
                found.append(f"{name} {'added' if before is None else 'taken out'}")
            continue
        found += _lengths(name, before, after)
    for name in ("effort_by", "weights", "high_spot", "condition", "kind"):
        if getattr(was, name) != getattr(stage, name):
            found.append(f"{name.replace('_', ' ')} changed")
    return tuple(found)


def changes_text(was: Stage, stage: Stage) -> str:
    """All that is otherwise in one line, what it is of said once; "nothing" if nothing is."""
    said: list[str] = []
    before = ""
    for phrase in differences(was, stage):
        of, joint, rest = phrase.partition(": ")
        said.append(rest if joint and of == before else phrase)
        before = of if joint else ""
    return "; ".join(said) or "nothing"


def care_change(was: Aftercare, care: Aftercare) -> str:
    """What of a line of the aftercare is otherwise: "until 24 hours, was 48 hours; label of
    the pack"."""
    names = {"until": "until", "from_": "from", "every": "every"}
    found = [
        f"{word} {iso_said(getattr(care, name))}, was {iso_said(getattr(was, name))}"
        for name, word in names.items()
        if getattr(care, name) != getattr(was, name)
    ]
    return "; ".join([*found, *_source(was.source, care.source)]) or "nothing"


def handover_change(was: Handover, handover: Handover) -> str:
    """What of the hand-over is otherwise: "24 hours, was 12 hours; label of the pack"."""
    before, after = iso_said(was.not_before), iso_said(handover.not_before)
    found = [f"{after}, was {before}"] if before != after else []
    return "; ".join([*found, *_source(was.source, handover.source)]) or "nothing"


def _source(was: str, source: str) -> list[str]:
    return [source if source != EXAMPLE else "an example"] if source != was else []


def _steps(was: Stage, stage: Stage) -> Iterator[str]:
    before, after = _names(was), _names(stage)
    if before != after:
        yield f"steps: {', '.join(after)}, before: {', '.join(before)}"
        return
    for name, one, other in zip(after, was.steps, stage.steps, strict=True):
        yield from _step(name, one, other)


def _names(stage: Stage) -> list[str]:
    return [step_called(stage, place) for place in range(len(stage.steps))]


def step_called(stage: Stage, place: int) -> str:
    """A step of a stage by its word; of a wait the work before it too: "flash behind apply"."""
    step = stage.steps[place]
    before = stage.steps[place - 1] if place else None
    if isinstance(step, Wait) and isinstance(before, Work):
        return f"{step.say} behind {before.say}"
    return step.say


def _step(name: str, was: Step, step: Step) -> Iterator[str]:
    if isinstance(was, Wait) and isinstance(step, Wait):
        yield from _field(f"{name}: kind", was.kind or "none", step.kind or "none")
        if was.label != step.label:
            yield f"{name}: label {_label(step.label)}, was {_label(was.label)}"
        yield from _lengths(name, was, step)
    elif isinstance(was, Work) and isinstance(step, Work):
        yield from _field(f"{name}: minutes", f"{was.minutes:g}", f"{step.minutes:g}")
        yield from _field(f"{name}: over", was.over, step.over)
        yield from _field(f"{name}: tool", was.tool or "none", step.tool or "none")
        before = {use.product: use for use in was.uses}
        after = {use.product: use for use in step.uses}
        for product in dict.fromkeys((*before, *after)):
            one, other = before.get(product), after.get(product)
            if one != other:
                yield f"{name}: {product} {_use(other)}, was {_use(one)}"
        if was.wears != step.wears:
            yield f"{name}: pad or towel changed"


def _use(use: object) -> str:
    amount, first = getattr(use, "amount", None), getattr(use, "first", None)
    if amount is None:
        return "none"
    return f"{amount:g}" + ("" if first is None else f", first {first:g}")


def _label(rows: tuple[LabelRow, ...]) -> str:
    said = [f"{length_text(row.low_s)} to {length_text(row.high_s)}" for row in rows]
    return " or ".join(said) or "none"


_SAID: dict[str, Callable[[object], str]] = {
    "below_c": lambda value: "none" if value is None else f"{value:g} C",
    "per": str,
    "say": str,
}


def _lengths(name: str, was: object, now: object) -> Iterator[str]:
    """The marks of a wait, a gap, a cure or a check that are others; and whose they are now."""
    words = (
        ("opens_s", "opens"),
        ("due_s", "due"),
        ("closes_s", "closes"),
        ("at_least_s", "at least"),
        ("below_c", "below"),
        ("then_s", "then"),
        ("after_s", "after"),
        ("per", "of"),
        ("say", "what to do"),
    )
    for field, word in words:
        if not hasattr(now, field):
            continue
        before, after = getattr(was, field), getattr(now, field)
        if before != after:
            say = _SAID.get(field, length_text)
            yield f"{name}: {word} {say(after)}, was {say(before)}"
    if getattr(was, "example", False) != getattr(now, "example", False):
        yield f"{name}: {'no longer' if was.example else 'now'} an example"  # type: ignore[attr-defined]  # all that have one are asked


def _field(name: str, was: object, now: object) -> Iterator[str]:
    if was != now:
        yield f"{name} {now}, was {was}"


def length_text(seconds: object) -> str:
    """A length of a window: "0:45", "5:30", "12 h"; "none" for None."""
    if not isinstance(seconds, int):
        return "none"
    hours, rest = divmod(seconds, _HOUR_S)
    return f"{hours} h" if hours and not rest else clock_text(seconds)
