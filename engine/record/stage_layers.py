"""What was done, stage by stage and layer by layer, as one table tells it.

A section of a coat has its touches, its window, its reading and its remarks in one row. What all
rows of a layer share is one value of the layer, so that it can be said once.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Literal, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts.section import SectionState
from cartclock.engine.facts.turn import Turn, time_round
from cartclock.engine.films.margins import LayerBegun
from cartclock.engine.record.applied import Applied, Asked, Remark, SectionRecord, StageRecord
from cartclock.engine.record.coated import Coated, Put
from cartclock.engine.record.record import Record
from cartclock.engine.times import Instant

_Key = tuple[str, int, int]
"""Section, layer and pass."""
_V = TypeVar("_V", bound=Hashable)

Setting = Literal["line", "panels", "rows"]
_FEW_TIMES = 2


class WorkRow(Struct, frozen=True):
    """One pass of one layer on one section.

    Fields:
        section, layer: where.
        time: 1, and one more each time that layer was worked again.
        applied: what was finished; None while its first step is in hand.
        film: what was laid, of a stage that lays something which must stay; else None.
        begun: the climate it was begun in, of a coat; else None.
        waits: its dwells and flashes, in order.
        gap: the gap that ended when it was begun; None without one.
        remarks: what happened to this section alone, but for looks that found all fine.
    """

    section: str
    layer: int
    time: int
    applied: Applied | None
    film: Coated | None
    begun: LayerBegun | None
    waits: tuple[Asked, ...]
    gap: Asked | None
    remarks: tuple[Remark, ...] = ()

    @property
    def first_us(self) -> Instant:
        """First touch."""
        if self.film is not None:
            return self.film.first_us
        if self.applied is None:
            raise ValueError("a row is of something begun")
        return self.applied.first_us

    @property
    def touched_us(self) -> Instant | None:
        """Last touch before the wait, or of all if there is none; None while that is in hand."""
        if self.waits:
            return self.waits[0].last_us
        if self.film is not None and self.film.last_us is not None:
            return self.film.last_us
        return None if self.applied is None else self.applied.last_us

    @property
    def off_us(self) -> Instant | None:
        """Last touch of what came after the wait: levelled, rinsed; None without it."""
        if self.film is not None and self.film.levelled_us is not None:
            return self.film.levelled_us
        done = self.applied
        if done is None or not self.waits or done.last_us <= self.waits[-1].last_us:
            return None
        return done.last_us

    @property
    def worked_over(self) -> bool:
        """True if what lay there was worked again, and nothing laid."""
        return self.film is not None and self.film.last_us is None and not self.film.products

    @property
    def workers(self) -> tuple[str, ...]:
        """Who finished it; () while nobody has."""
        return () if self.applied is None else self.applied.workers

    @property
    def products(self) -> tuple[Put, ...]:
        """What was laid, with lots."""
        return () if self.film is None else self.film.products


_Where = tuple[str, WorkRow | None]
"""A section, and the row on which something is said of it; None if it has none."""


class SharedRemark(Struct, frozen=True):
    """A remark on several sections, or on one of which nothing else stands."""

    remark: Remark
    sections: tuple[str, ...]


class StageLayer(Struct, frozen=True):
    """One layer of a stage; a stage without layers has one, also if nothing was done in it.

    Fields:
        stage, layer, layers: which of how many.
        sections: the names of all sections of the stage that were not cut in two.
        rows: in order of first touch.
        gaps: gaps before this layer that no row ended.
        told: remarks that no row has, in order of time; those without an hour first.
        still: sections by what they are, if that is not done; only on a stage's last layer.
    """

    stage: str
    layer: int
    layers: int
    sections: tuple[str, ...]
    rows: tuple[WorkRow, ...]
    gaps: tuple[Asked, ...]
    told: tuple[SharedRemark, ...]
    still: Mapping[SectionState, tuple[str, ...]]

    @property
    def setting(self) -> Setting:
        """How it is best told.

        "line": its sections were worked together, so one time is that of all. "panels": panel by
        panel without a wait, a time each. "rows": with films and windows.
        """
        if any(row.film or row.waits for row in self.rows):
            return "rows"
        times = {(row.first_us, row.touched_us) for row in self.rows}
        return "line" if len(times) <= _FEW_TIMES else "panels"

    @property
    def products(self) -> tuple[Put, ...] | None:
        """What every row that laid something laid alike; None if rows differ."""
        return shared(row.products for row in self.rows if not row.worked_over)

    @property
    def workers(self) -> tuple[str, ...] | None:
        """Who did all of it; None if rows differ."""
        return shared(row.workers for row in self.rows)

    @property
    def ended_gaps(self) -> tuple[Asked, ...]:
        """The gaps that its rows ended, in their order."""
        return tuple(row.gap for row in self.rows if row.gap is not None)


def shared(values: Iterable[_V]) -> _V | None:
    """The value that all of these have; None if they differ or there are none."""
    found = dict.fromkeys(values)
    return next(iter(found)) if len(found) == 1 else None


def stage_layers(record: Record) -> tuple[StageLayer, ...]:
    """Every layer of every stage, in the plan's order."""
    return tuple(layer for stage in record.stages for layer in _of_stage(record, stage))


def _of_stage(record: Record, stage: StageRecord) -> list[StageLayer]:
    rows, gaps = _rows(record, stage)
    told: dict[int, dict[Remark, list[_Where]]] = {}
    for section in stage.sections:
        for remark in section.remarks:
            if _is_told_before(remark, section.remarks):
                continue
            row = _row_of(rows, section.section, remark)
            layer = 1 if row is None else row.layer
            # When a chance went by unused is no hour of anybody's.
            said = remark if _is_said(remark) else replace(remark, at_us=Instant(0))
            told.setdefault(layer, {}).setdefault(said, []).append((section.section, row))
    begun = {row.layer for row in rows} | {gap.layer for gap in gaps} | set(told)
    return [
        StageLayer(
            stage=stage.stage,
            layer=layer,
            layers=stage.layers,
            sections=tuple(one.section for one in stage.sections if one.state != "cut in two"),
            rows=_remarked([row for row in rows if row.layer == layer], told.get(layer, {})),
            gaps=tuple(gap for gap in gaps if gap.layer == layer),
            told=_together(told.get(layer, {})),
            still=_still(stage) if layer == max(begun, default=1) else {},
        )
        for layer in sorted(begun) or [1]
    ]


def _alone(remark: Remark, where: Sequence[_Where]) -> WorkRow | None:
    """The row of a remark that speaks of this row only; that all was fine is said together."""
    return where[0][1] if len(where) == 1 and remark.what != "fine" else None


def _remarked(
    rows: Iterable[WorkRow], told: Mapping[Remark, Sequence[_Where]]
) -> tuple[WorkRow, ...]:
    return tuple(
        replace(
            row,
            remarks=tuple(remark for remark, where in told.items() if _alone(remark, where) is row),
        )
        for row in rows
    )


def _together(told: Mapping[Remark, Sequence[_Where]]) -> tuple[SharedRemark, ...]:
    found = [
        SharedRemark(remark, tuple(section for section, _row in where))
        for remark, where in told.items()
        if _alone(remark, where) is None
    ]
    return tuple(sorted(found, key=lambda one: one.remark.at_us))


def _rows(record: Record, stage: StageRecord) -> tuple[list[WorkRow], list[Asked]]:
    """The rows of a stage in order of first touch, and the gaps that none of them ended."""
    done: dict[_Key, Applied] = {
        (section.section, one.layer, one.pass_): one
        for section in stage.sections
        for one in section.applied
    }
    films: dict[_Key, Coated] = {
        (one.section, one.layer, one.pass_): one
        for one in record.coated
        if one.stage == stage.stage
    }
    begun = {
        (one.section, one.layer, one.pass_): one for one in record.gate if one.stage == stage.stage
    }
    waits: dict[_Key, list[Asked]] = {}
    gaps: dict[_Key, Asked] = {}
    for window in record.windows:
        if window.stage == stage.stage:
            key = (window.section, window.layer, window.pass_)
            if window.kind == "gap":
                gaps[key] = window
            else:
                waits.setdefault(key, []).append(window)
    keys = dict.fromkeys((*done, *films))
    turns = {key: Turn(key[2], key[1]) for key in keys}
    rows = [
        WorkRow(
            key[0],
            key[1],
            time_round(turns[key], (turns[one] for one in keys if one[0] == key[0])),
            done.get(key),
            films.get(key),
            begun.get(key),
            tuple(waits.get(key, ())),
            gaps.pop(key, None),
        )
        for key in keys
    ]
    return sorted(rows, key=lambda row: (row.first_us, row.touched_us or 0)), list(gaps.values())


def _is_said(remark: Remark) -> bool:
    return bool(remark.worker) or remark.what != "not looked at"


def _row_of(rows: Iterable[WorkRow], section: str, remark: Remark) -> WorkRow | None:
    """The row a remark is of: the newest begun before it.

    That nobody looked is of the layer under the one that was begun then.
    """
    before = [
        row
        for row in rows
        if row.section == section and row.first_us < remark.at_us + _is_said(remark)
    ]
    return before[-1] if before else None


def _is_told_before(remark: Remark, others: Sequence[Remark]) -> bool:
    """True of work to be done again whose reason is a finding that says so itself."""
    return remark.what == "done again" and any(
        one.at_us == remark.at_us and remark.why == f"{one.what}: {one.why}" for one in others
    )


def _still(stage: StageRecord) -> dict[SectionState, tuple[str, ...]]:
    states: tuple[SectionState, ...] = ("todo", "in hand", "held", "waiting")
    named = {state: _named(stage.sections, state) for state in states}
    return {state: names for state, names in named.items() if names}


def _named(sections: Iterable[SectionRecord], state: SectionState) -> tuple[str, ...]:
    return tuple(one.section for one in sections if one.state == state)
