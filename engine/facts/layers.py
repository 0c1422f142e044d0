"""The newest layer of every section, while nothing lies on it yet."""

from __future__ import annotations

from msgspec import Struct

from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Stint, ends_layer
from cartclock.engine.plan.plan import Stage
from cartclock.engine.times import Instant


class OnTop(Struct, frozen=True):
    """A layer that is finished and lies open.

    Fields:
        section, panel: where.
        layer: which one, from 1.
        touched_us: its last touch.
        version: of its stage, by which it was laid (`Job.stage_at`).
    """

    section: str
    panel: str
    layer: int
    touched_us: Instant
    version: int = 0


def on_top(job: Job, stage: Stage) -> tuple[OnTop, ...]:
    """The layer on top of each section of a stage, in working order.

    Left out: where none is finished, where the next one was begun, and where it is to be done
    again.
    """
    newest: dict[str, Stint] = {s.section: s for s in job.stints if s.stage == stage.name}
    found = []
    for section in job.of(stage.name):
        stint = newest.get(section.name)
        if stint is None or stint.turn.pass_ != section.turn.pass_:
            continue
        if section.state != "done" and not section.between_layers:
            continue
        if ends_layer(stage, stint.turn):
            layer = stint.turn.layer
            found.append(OnTop(section.name, section.panel, layer, stint.last_us, stint.version))
    return tuple(found)


def layer_text(layer: int, layers: int) -> str:
    """ "layer 1 of 2"; "" where there is one only."""
    return f"layer {layer} of {layers}" if layers > 1 else ""


def progress_text(job: Job, stage_name: str, of: str = "/") -> str:
    """How far a stage is: "3/20 done", and while layers are left "layer 1 of 2: 12/20".

    of: what stands between the two numbers.
    """
    stage, there = job.stage(stage_name), job.of(stage_name)
    left = [section for section in there if not section.over]
    if stage.layers == 1 or not left:
        return f"{len(there) - len(left)}{of}{len(there)} done"
    layer = min(section.turn.layer for section in left)
    on = sum(section.over or section.turn.layer > layer for section in there)
    return f"{layer_text(layer, stage.layers)}: {on}{of}{len(there)}"
