"""The lists about the paint: thickness and gloss, panel by panel until esc."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import get_args

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.vehicle.paint import (
    SPOT_READINGS,
    STEEP_OVER_GU,
    Angle,
    When,
    build_read,
    build_sentence,
    build_text,
    gloss_hint,
    gloss_read,
    gloss_text,
    spot_um,
)
from cartclock.engine.vehicle.panels import paint_when, painted
from cartclock.engine.vehicle.vehicle import PanelPaint, vehicle_record
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.panels import following, job_of, open_panels, titled_of, write_fact
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Choice, Number

WHENS: tuple[str, ...] = get_args(When)
_ENTER = "digits, up, down   space: write   esc: nothing"


def _paint(host: Host, job_id: str, panel: str) -> PanelPaint:
    known = vehicle_record(job_of(host, job_id)).paints
    return next((one for one in known if one.panel == panel), PanelPaint(panel))


def open_thickness(host: Host, job_id: str, first: str = "", said: str = "") -> None:
    """Total build, panel by panel until esc."""
    job = job_of(host, job_id)
    known = {one.panel: one for one in vehicle_record(job).paints}

    def told(panel: str) -> str:
        paint = known.get(panel, PanelPaint(panel))
        when, build = "after", paint.after
        if build is None:
            when, build = "before", paint.before
        return f"{when} {build_text(build.low_um, build.high_um)}" if build else ""

    then = partial(_thickness, host, job_id)
    open_panels(
        host,
        job_id,
        "thickness of which panel?",
        told,
        then,
        painted(job_of(host, job_id)),
        first,
        said,
    )


def _when(host: Host, job_id: str, panel: str) -> Choice:
    return Choice("when", WHENS, paint_when(job_of(host, job_id), panel))


def _as_when(choice: Choice) -> When:
    return "after" if choice.value == "after" else "before"


def _numbers(numbers: Sequence[Number]) -> list[Line]:
    return [Line(number.text, turn=number.turn, type=number.type) for number in numbers]


def _thickness(host: Host, job_id: str, panel: str) -> None:
    low, high = Number("lowest", "µm", None, 1.0), Number("highest", "µm", None, 1.0)
    when = _when(host, job_id, panel)

    def written() -> None:
        paint = _paint(host, job_id, panel)
        build = paint.after if when.value == "after" else paint.before
        said = build_sentence(build.low_um, build.high_um) if build else ""
        onward = following(painted(job_of(host, job_id)), panel)
        open_thickness(host, job_id, onward, f"{panel}: {said} ")

    def write(measurable: bool = True) -> None:
        def event() -> Struct:
            if not measurable:
                return ev.PaintRead(panel, _as_when(when))
            return build_read(panel, _as_when(when), low.value, high.value)

        write_fact(host, job_id, event, written, show)

    def show(why: str = "") -> None:
        lines = [
            *_numbers((low, high)),
            Line("three readings of one spot", spot, hot="s"),
            Line("not measurable here", partial(write, False), hot="n"),
            Line(when.text, turn=when.turn),
        ]
        title = titled_of(host, job_id, f"thickness, {panel}")
        host.sheet.open(f"{why} {title}".lstrip(), lines, _ENTER, done=write)

    def spot() -> None:
        _spot(host, job_id, panel, when)

    show()


def _spot(host: Host, job_id: str, panel: str, when: Choice) -> None:
    numbers = [Number(f"reading {n}", "µm", None, 1.0) for n in range(1, SPOT_READINGS + 1)]
    mean = [0.0]

    def event() -> Struct:
        mean[0] = spot_um([n.value for n in numbers if n.value is not None])
        return ev.PaintRead(panel, _as_when(when), mean[0], mean[0], (mean[0],))

    def written() -> None:
        open_thickness(host, job_id, panel, f"{panel}: spot {mean[0]:g} µm. ")

    def write() -> None:
        write_fact(host, job_id, event, written, show)

    def show(why: str = "") -> None:
        lines = [*_numbers(numbers), Line(when.text, turn=when.turn)]
        title = titled_of(host, job_id, f"spot on {panel}: three readings within 4 cm")
        host.sheet.open(f"{why} {title}".lstrip(), lines, _ENTER, done=write)

    show()


# Gloss.


def open_gloss(host: Host, job_id: str, first: str = "", said: str = "") -> None:
    """Gloss, panel by panel until esc."""
    known = {one.panel: one for one in vehicle_record(job_of(host, job_id)).paints}

    def told(panel: str) -> str:
        paint = known.get(panel, PanelPaint(panel))
        when, gloss = "after", paint.gloss_after
        if gloss is None:
            when, gloss = "before", paint.gloss_before
        return f"{when} {gloss_text(gloss.gu, gloss.angle)}" if gloss else ""

    then = partial(_gloss, host, job_id)
    open_panels(
        host,
        job_id,
        "gloss of which panel?",
        told,
        then,
        painted(job_of(host, job_id)),
        first,
        said,
    )


def _gloss(host: Host, job_id: str, panel: str) -> None:
    gu, when = Number("gloss", "GU", None, 1.0), _when(host, job_id, panel)
    paint = _paint(host, job_id, panel)
    last = paint.gloss_after if when.value == "after" else paint.gloss_before
    steep = last is not None and last.gu is not None and last.gu > STEEP_OVER_GU
    angle = Choice("angle", ("60", "20"), "20" if steep else "60")

    def written() -> None:
        hint = gloss_hint(gu.value, int(angle.value))
        onward = panel if hint else following(painted(job_of(host, job_id)), panel)
        open_gloss(host, job_id, onward, f"{panel}: {hint} " if hint else "")

    def write(measurable: bool = True) -> None:
        def event() -> Struct:
            at: Angle = 20 if angle.value == "20" else 60
            if not measurable:
                return ev.GlossRead(panel, _as_when(when), None, at)
            return gloss_read(panel, _as_when(when), gu.value, at)

        write_fact(host, job_id, event, written, show)

    def show(why: str = "") -> None:
        lines = [
            *_numbers((gu,)),
            Line(angle.text, turn=angle.turn),
            Line("not measurable here", partial(write, False), hot="n"),
            Line(when.text, turn=when.turn),
        ]
        title = titled_of(host, job_id, f"gloss, {panel}: 60 degrees first, over 70 GU 20")
        host.sheet.open(f"{why} {title}".lstrip(), lines, _ENTER, done=write)

    show()
