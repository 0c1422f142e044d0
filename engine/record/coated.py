"""What was applied where: product, lot and times of every film laid on a section.

Told of the stages that lay something which must stay: a coat, a stage with a cure or with
layers, and one whose product must not get wet for a while. When a film fails months later,
this is what the maker of the product asks for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import Job
from cartclock.engine.facts.section import Stint
from cartclock.engine.facts.shift import Shift
from cartclock.engine.films.fresh import film_stages
from cartclock.engine.films.gate import margin_at
from cartclock.engine.films.margins import shift_at
from cartclock.engine.films.wet import drying_product, dryings
from cartclock.engine.plan.plan import Product, Stage, Wait, Work
from cartclock.engine.record.applied import Asked, Remark, StageRecord
from cartclock.engine.times import Instant, Length

Lots = Callable[[str, Instant, str], str]
"""The lot of a product (its id) in force at a time on a cart, by its identity; "" if not noted."""


class Put(Struct, frozen=True):
    """A product that went on.

    Fields:
        product: its id in the plan.
        name: as the plan calls it.
        lots: in force from first to last touch of the laying, in order; () if none was noted.
        in_part: True if `lots` are those of a part of it, and of the rest none was noted.
    """

    product: str
    name: str
    lots: tuple[str, ...]
    in_part: bool = False

    @property
    def lots_text(self) -> str:
        """Its lots in words: "lot A1 and B2", "lot not noted and B2"."""
        rest = ("not noted",) if self.in_part or not self.lots else ()
        return f"lot {' and '.join((*rest, *self.lots))}"


class Coated(Struct, frozen=True):
    """One layer on one section in one pass.

    Fields:
        stage, section, panel: where.
        pass_, layer, layers: which layer of how many; a pass more for each time it was done again.
        products: what went on; pads and towels are none. () if a section done again was only
            worked over again.
        first_us: first touch.
        last_us: last touch of the laying; None if it is not finished, or nothing was laid.
        levelled_us: last touch of the layer's last work step; None while that is not
            finished, or if nothing follows the laying.
        opens_us, expected_us, off_by_us, closes_us: marks of the wait behind the laying as
            instants; None if none was stood (`off_by_us` only where a label was given).
        seen_us: when the film was seen ready; None if not watched.
        taken_us: when it was taken up; None if it was not.
        outcome: how the wait ended; "" if there was none.
        off_us: taken up so much too early or too late; running so long past its close; else 0.
        example: True if the plan's numbers were the starter's and not the pack's.
        read_us, panel_c, air_c, rh: the reading in force at the first touch, in C and percent;
            None if there was none or it was not measured. One that was in force when the wave
            began holds to its end.
        margin_c: how far the panel was over the dew point and 3 C on top, in C; None without
            a verdict (`why_none` says why).
        water, high_spots: what happened to this layer, in order.
        dry_us: it must not get wet before this, by the labels of what the stage lays; None if
            they say nothing, while work on it goes on, or if another layer came on top.
    """

    stage: str
    section: str
    panel: str
    pass_: int
    layer: int
    layers: int
    products: tuple[Put, ...]
    first_us: Instant
    last_us: Instant | None
    levelled_us: Instant | None
    opens_us: Instant | None = None
    expected_us: Instant | None = None
    off_by_us: Instant | None = None
    closes_us: Instant | None = None
    seen_us: Instant | None = None
    taken_us: Instant | None = None
    outcome: Literal["early", "in the window", "late", "running", "left", "left out", ""] = ""
    off_us: Length = Length(0)
    example: bool = False
    read_us: Instant | None = None
    panel_c: float | None = None
    air_c: float | None = None
    rh: float | None = None
    margin_c: float | None = None
    why_none: str = ""
    water: tuple[Remark, ...] = ()
    high_spots: tuple[Remark, ...] = ()
    dry_us: Instant | None = None


def no_lot(product: str, at_us: Instant, origin: str) -> str:
    """Where the packs were not looked at."""
    return ""


def laying_step(job: Job, stage: Stage) -> int:
    """Index of the work step that lays the film.

    It is the one a flash follows, else the one with the product that must stay dry, else the
    first that takes a product, else the first.
    """
    works = [(index, step) for index, step in enumerate(stage.steps) if isinstance(step, Work)]
    dries = drying_product(job, stage)
    for index, _step in works:
        wait = stage.steps[index + 1] if index + 1 < len(stage.steps) else None
        if isinstance(wait, Wait) and wait.say == "flash":
            return index
    for index, step in works:
        if dries is not None and any(use.product == dries.id for use in step.uses):
            return index
    return next((index for index, step in works if _laid_by(job, step)), works[0][0])


def coated(
    job: Job,
    shifts: Iterable[Shift],
    stages: Sequence[StageRecord],
    windows: Sequence[Asked],
    lots: Lots = no_lot,
) -> tuple[Coated, ...]:
    """Every layer begun in the job's `film_stages`, by stage and in order of first touch.

    shifts: at least those the job was worked in. stages, windows: of the job's record.
    """
    known = list(shifts)
    told = {(one.stage, s.section): s.remarks for one in stages for s in one.sections}
    dry = {
        (one.stage, one.section): one.dry_us(one.touched_us)
        for one in dryings(job)
        if one.touched_us is not None
    }
    found: list[Coated] = []
    for stage in film_stages(job):
        of_stage: list[Coated] = []
        for name in job.order[stage.name]:
            layers = [
                _coated(job, known, stage, name, turn, windows, lots)
                for turn in _turns(job, stage, name)
            ]
            if layers:
                layers[-1] = replace(layers[-1], dry_us=dry.get((stage.name, name)))
            of_stage += _remarked(layers, told.get((stage.name, name), ()))
        found += sorted(of_stage, key=lambda one: (one.first_us, one.layer))
    return tuple(found)


def _turns(job: Job, stage: Stage, name: str) -> list[tuple[int, int]]:
    """(pass, layer) of everything begun on a section."""
    turns = {
        (s.turn.pass_, s.turn.layer)
        for s in job.stints
        if (s.stage, s.section) == (stage.name, name)
    }
    section = job.sections[stage.name, name]
    if section.first_us is not None:
        turns.add((section.turn.pass_, section.turn.layer))
    return sorted(turns)


def _coated(
    job: Job,
    shifts: Sequence[Shift],
    stage: Stage,
    name: str,
    turn: tuple[int, int],
    windows: Sequence[Asked],
    lots: Lots,
) -> Coated:
    pass_, layer = turn
    step = laying_step(job, stage)
    final = max(index for index, one in enumerate(stage.steps) if isinstance(one, Work))
    section = job.sections[stage.name, name]
    stints = [
        s
        for s in job.stints
        if (s.stage, s.section, s.turn.pass_, s.turn.layer) == (stage.name, name, pass_, layer)
    ]
    laying = _of_step(stints, step)
    levelling = _of_step(stints, final) if final > step else None
    in_hand = section.first_us is not None and (section.turn.pass_, section.turn.layer) == turn
    if laying is not None:
        first_us, worker = laying.first_us, laying.worker
    elif in_hand and section.turn.step == step and section.first_us is not None:
        first_us, worker = section.first_us, section.worker
    else:
        # Worked over again, or still at what comes before the laying.
        begun = [(s.first_us, s.worker) for s in stints]
        if in_hand and section.first_us is not None:
            begun.append((section.first_us, section.worker))
        first_us, worker = min(begun)
    last_us = None if laying is None else laying.last_us
    cart = job.holder if laying is None else laying.press.origin
    begun_to_lay = laying is not None or (in_hand and section.turn.step == step)
    window = next(
        (
            w
            for w in windows
            if (w.stage, w.section, w.pass_, w.layer) == (stage.name, name, pass_, layer)
            and w.kind != "gap"
            and last_us is not None
            and w.last_us >= last_us
        ),
        None,
    )
    verdict, _why = margin_at(job, stage.name, layer, shift_at(shifts, first_us, worker), first_us)
    reading = verdict.reading
    return Coated(
        stage=stage.name,
        section=name,
        panel=section.panel,
        pass_=pass_,
        layer=layer,
        layers=stage.layers,
        products=(
            _put(job, stage, name, turn, first_us, last_us, lots, cart) if begun_to_lay else ()
        ),
        first_us=first_us,
        last_us=last_us,
        levelled_us=None if levelling is None else levelling.last_us,
        opens_us=None if window is None else window.opens_us,
        expected_us=None if window is None else window.due_us,
        off_by_us=None if window is None else window.off_by_us,
        closes_us=None if window is None else window.closes_us,
        seen_us=None if window is None else window.seen_us,
        taken_us=None if window is None or window.outcome == "left out" else window.ended_us,
        outcome="" if window is None else window.outcome,
        off_us=Length(0) if window is None else window.off_us,
        example=window is not None and window.example,
        read_us=verdict.at_us,
        panel_c=None if reading is None else reading.panel_c,
        air_c=None if reading is None else reading.air_c,
        rh=None if reading is None else reading.rh,
        margin_c=verdict.dew_margin_c,
        why_none=verdict.why_none,
    )


def _of_step(stints: Iterable[Stint], step: int) -> Stint | None:
    return next((s for s in stints if s.turn.step == step), None)


def _put(
    job: Job,
    stage: Stage,
    name: str,
    turn: tuple[int, int],
    first_us: Instant,
    last_us: Instant | None,
    lots: Lots,
    cart: str,
) -> tuple[Put, ...]:
    booked: dict[str, None] = {}
    for row in job.facts:
        match row.event:
            case ev.ProductUsed(of, sections, at, amounts) if (
                of == stage.name and name in sections and (at.pass_, at.layer) == turn
            ):
                booked |= dict.fromkeys(product for product, much in amounts.items() if much > 0)
    known = (_product(job, product_id) for product_id in booked)
    went_on = [product for product in known if product is not None]
    if not went_on:
        # Still in hand, and booked when it is finished.
        went_on = _laid_by(job, stage.steps[laying_step(job, stage)])
    ends = (first_us,) if last_us is None else (first_us, last_us)
    return tuple(
        _of_lots(product.id, product.name, [lots(product.id, at_us, cart) for at_us in ends])
        for product in went_on
        if product.unit != "each"
    )


def _of_lots(product: str, name: str, found: Iterable[str]) -> Put:
    """A product by the lots in force at some times, "" where none was noted."""
    named = dict.fromkeys(found)
    known = tuple(lot for lot in named if lot)
    return Put(product, name, known, bool(known) and "" in named)


def all_lots(laid: Iterable[Put]) -> tuple[Put, ...]:
    """What went on at several times in their order, each product once with all its lots."""
    found: dict[tuple[str, str], dict[str, None]] = {}
    for put in laid:
        none = ("",) if put.in_part or not put.lots else ()
        of_one = found.setdefault((put.product, put.name), {})
        of_one.update(dict.fromkeys((*none, *put.lots)))
    return tuple(_of_lots(product, name, lots) for (product, name), lots in found.items())


def _product(job: Job, product_id: str) -> Product | None:
    return job.opened.plan.product(product_id)


def _laid_by(job: Job, step: object) -> list[Product]:
    """What a step lays by the plan; pieces, as pads and towels, are not laid."""
    if not isinstance(step, Work):
        return []
    known = (_product(job, use.product) for use in step.uses if use.amount > 0)
    return [product for product in known if product is not None and product.unit != "each"]


def _remarked(layers: Sequence[Coated], remarks: Iterable[Remark]) -> list[Coated]:
    """The layers of one section with what happened to each: to the newest begun before it."""
    water: list[list[Remark]] = [[] for _ in layers]
    spots: list[list[Remark]] = [[] for _ in layers]
    for remark in remarks:
        begun = [index for index, one in enumerate(layers) if one.first_us <= remark.at_us]
        if not begun:
            continue
        if remark.what == "water":
            water[begun[-1]].append(remark)
        elif remark.what == "high spot":
            spots[begun[-1]].append(remark)
    return [
        replace(one, water=tuple(wet), high_spots=tuple(high))
        for one, wet, high in zip(layers, water, spots, strict=True)
    ]
