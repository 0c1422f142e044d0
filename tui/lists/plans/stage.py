"""The list of what can be changed of a stage: its steps, their minutes, amounts and windows."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from msgspec.structs import replace

from cartclock.engine.facts.stage_changes import length_text, step_called
from cartclock.engine.facts.words import amount_text
from cartclock.engine.plan.plan import Check, Cure, Plan, Stage, Step, Use, Wait, Work
from cartclock.engine.rules.typed import entered
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.plans.windows import Keep, Timed, open_values, open_window, or_again
from cartclock.tui.widgets.sheet import Line
from cartclock.tui.widgets.values import Number

# What a wait is given that no label was looked at for: an example, and marked so. Our own
# judgement, common practice, no source.
NEW_WAITS: dict[str, Wait] = {
    "dwell": Wait("dwell", 120, 180, 300, example=True),
    "flash": Wait("flash", 60, 120, 300, example=True),
}
_MORE = "a step is added, moved or taken out ..."


class StageList:
    """The list of one stage, of a job or of a plan that is being made.

    Args:
        host: where it opens.
        stage: as it is now.
        plan: whose products its steps use.
        keep: takes the changed stage.
        back: what esc does.
    """

    def __init__(
        self, host: Host, stage: Stage, plan: Plan, keep: Keep, back: Callable[[], object]
    ) -> None:
        self.host, self.stage, self.plan = host, stage, plan
        self._keep, self._back = keep, back

    def open(self, at: int | None = None) -> None:
        """Opens the list.

        at: index of the line that is chosen; None: the first that is still an example.
        """
        stage = self.stage
        lines = [
            Line(self._step_text(place), partial(self._open_step, place))
            for place in range(len(stage.steps))
        ]
        timed: list[object] = list(stage.steps)
        for name in ("gap", "cure", "check"):
            window = getattr(stage, name)
            if window is not None:
                timed.append(window)
                lines.append(
                    Line(f"{name}: {window_text(window)}", partial(self._open_own, name, window))
                )
        lines.append(Line(_MORE, self._open_steps))
        if at is None:
            examples = (n for n, one in enumerate(timed) if getattr(one, "example", False))
            at = next(examples, 0)
        self.host.sheet.open(f"{stage.name}: what is otherwise?", lines, closed=self._back, at=at)

    def _step_text(self, place: int) -> str:
        step, name = self.stage.steps[place], step_called(self.stage, place)
        if isinstance(step, Wait):
            return f"{name}: {window_text(step)}"
        each = "for all" if step.over == "all" else "a section"
        said = [f"{step.minutes:g} min {each}"]
        said += [self._amount(use) for use in step.uses]
        return f"{name}: {', '.join(said)}"

    def _amount(self, use: Use) -> str:
        product = self.plan.product(use.product)
        name, unit = (use.product, "") if product is None else (product.name, product.unit)
        return f"{amount_text(use.amount, unit)} {name}"

    def _open_own(self, name: str, window: Timed) -> None:
        title = f"{self.stage.name}: {name}"
        open_window(
            self.host,
            title,
            window,
            lambda made, source: self._keep(replace(self.stage, **{name: made}), source),
            self.open,
        )

    def _open_step(self, place: int) -> None:
        step = self.stage.steps[place]
        title = f"{self.stage.name}: {step_called(self.stage, place)}"
        if isinstance(step, Wait):
            open_window(
                self.host,
                title,
                step,
                lambda made, source: self._keep(self._with(place, made), source),
                self.open,
            )
        else:
            self._open_work(place, step, title)

    def _with(self, place: int, step: Step) -> Stage:
        steps = (*self.stage.steps[:place], step, *self.stage.steps[place + 1 :])
        return replace(self.stage, steps=steps)

    def _open_work(self, place: int, work: Work, title: str) -> None:
        minutes = Number("minutes", "min", work.minutes, 0.5, work.minutes)
        amounts = [self._number(use) for use in work.uses]

        def take() -> None:
            uses = tuple(
                replace(use, amount=_given(number))
                for use, number in zip(work.uses, amounts, strict=True)
            )
            made = replace(work, minutes=_given(minutes), uses=uses)
            self._keep(self._with(place, made), "by hand")

        lines = [Line(one.text, turn=one.turn, type=one.type) for one in (minutes, *amounts)]
        open_values(self.host, title, lines, take, self.open)

    def _number(self, use: Use) -> Number:
        product = self.plan.product(use.product)
        name, unit = (use.product, "") if product is None else (product.name, product.unit)
        step = 1.0 if use.amount < 20 else 5.0
        return Number(name[:18], unit, use.amount, step, use.amount)

    # Steps.

    def _open_steps(self, at: int = 0) -> None:
        stage = self.stage
        lines = [Line("add a step ...", self._open_places, hot="a")]
        for place in range(len(stage.steps)):
            name = step_called(stage, place)
            lines.append(Line(f"take out: {name}", partial(self._take_out, place)))
        for place in range(1, len(stage.steps)):
            name = step_called(stage, place)
            lines.append(Line(f"earlier: {name}", partial(self._earlier, place)))
        self.host.sheet.open(f"{stage.name}: steps", lines, closed=self.open, at=at)

    def _take_out(self, place: int) -> None:
        self._keep_steps((*self.stage.steps[:place], *self.stage.steps[place + 1 :]))

    def _earlier(self, place: int) -> None:
        steps = list(self.stage.steps)
        steps.insert(place - 1, steps.pop(place))
        self._keep_steps(tuple(steps))

    def _keep_steps(self, steps: tuple[Step, ...]) -> None:
        at = self.host.sheet.at

        def keep() -> None:
            self._keep(replace(self.stage, steps=steps), "by hand")

        or_again(self.host, keep, partial(self._open_steps, at))

    def _open_places(self) -> None:
        lines = [Line("first", partial(self._open_kinds, 0))]
        for place in range(len(self.stage.steps)):
            name = step_called(self.stage, place)
            lines.append(Line(f"behind {name}", partial(self._open_kinds, place + 1)))
        at = len(lines) - 1
        self.host.sheet.open("Where?", lines, closed=self._open_steps, at=at)

    def _open_kinds(self, place: int) -> None:
        lines = [Line("work by hand", partial(self._name_work, place, ()), hot="w")]
        for name in NEW_WAITS:
            wait = NEW_WAITS[name]
            last = place == len(self.stage.steps)
            if last:
                pick = partial(self._name_work, place, (wait,))
                lines.append(Line(f"{name}, and the work that ends it", pick))
            else:
                put = partial(self._put, place, (wait,))
                again = partial(self._open_kinds, place)
                lines.append(Line(name, partial(or_again, self.host, put, again)))
        self.host.sheet.open("Which step?", lines, closed=self._open_places)

    def _name_work(self, place: int, before: tuple[Step, ...]) -> None:
        def named(text: str) -> None:
            self._put(place, (*before, Work(text)))

        self.host.sheet.open_text("What is done, in a word: polish", named, closed=self.open)

    def _put(self, place: int, added: tuple[Step, ...]) -> None:
        steps = (*self.stage.steps[:place], *added, *self.stage.steps[place:])
        self._keep(replace(self.stage, steps=steps), "by hand")


def _given(number: Number) -> float:
    return entered(number.name, number.value)


def window_text(window: Timed) -> str:
    """The lengths of a window in one line, and that they are examples."""
    example = " (example)" if getattr(window, "example", False) else ""
    if isinstance(window, Cure):
        cold = (
            ""
            if window.then_s is None
            else f", under {window.below_c:g} C {length_text(window.then_s)}"
        )
        return f"{length_text(window.at_least_s)}{cold}{example}"
    if isinstance(window, Check):
        return f"{length_text(window.after_s)} to {length_text(window.closes_s)}"
    marks = (window.opens_s, window.due_s, window.closes_s)
    opens, due, closes = (length_text(seconds) for seconds in marks)
    return f"opens {opens}, due {due}, closes {closes}{example}"
