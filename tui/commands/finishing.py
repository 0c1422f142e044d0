"""How the words behind a command go on, for a shell that asks at TAB."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

# So many words are offered; of more nobody reads.
_MOST = 40

Finish = Callable[[click.Context, click.Parameter, str], list["CompletionItem"]]


def _of(known: Callable[[], Sequence[tuple[str, str]]]) -> Finish:
    """Finishes a word by what is known, each with what is said of it; nothing where the answer
    is a refusal: a shell that waits for a word has no place for a sentence.
    """

    def finish(
        context: click.Context, parameter: click.Parameter, begun: str
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        from cartclock.engine.trouble import PlanFault, Refused, StoreFault

        del context, parameter
        try:
            found = known()
        except (PlanFault, Refused, StoreFault, OSError):
            return []
        fitting = [(word, said) for word, said in found if word.startswith(begun)]
        return [CompletionItem(word, help=said) for word, said in fitting[:_MOST]]

    return finish


def _jobs() -> list[tuple[str, str]]:
    from cartclock.engine.desk.shop import Shop
    from cartclock.tui.commands.door import reading_bench, settled

    bench = reading_bench(settled(aloud=False))
    try:
        known = Shop(bench.log).jobs()
    finally:
        bench.close()
    newest = [(str(job.number), job.vehicle) for job in reversed(known)]
    return [("last", newest[0][1]), *newest] if newest else []


def _starters() -> list[tuple[str, str]]:
    from cartclock.engine.store.plan_file.starters import starters

    return [(name, "") for name in starters()]


def _days() -> list[tuple[str, str]]:
    return [("today", ""), ("yesterday", "")]


def _bodies() -> list[tuple[str, str]]:
    from cartclock.engine.plan.shapes import SHAPES

    return [(shape, "") for shape in SHAPES]


def _sessions() -> list[tuple[str, str]]:
    from cartclock.demo_sessions.script import sessions

    return [(name, "") for name in sessions()]


class Named(click.Option):
    """An option whose help names what there is, which is looked up when somebody asks.

    known: what there is, each with what is said of it.
    """

    def __init__(
        self, *given: Any, known: Callable[[], Sequence[tuple[str, str]]], **more: Any
    ) -> None:
        super().__init__(*given, shell_complete=_of(known), **more)
        self._known = known

    def get_help_record(self, ctx: click.Context) -> tuple[str, str] | None:
        """Its flag, and its sentence with the names behind it."""
        said = self.help or ""
        self.help = f"{said.rstrip('.')}: {', '.join(name for name, _ in self._known())}."
        try:
            return super().get_help_record(ctx)
        finally:
            self.help = said


class NamedArgument(click.Argument):
    """An argument whose usage names what there is, as `Named` does."""

    def __init__(
        self, *given: Any, known: Callable[[], Sequence[tuple[str, str]]], **more: Any
    ) -> None:
        super().__init__(*given, shell_complete=_of(known), **more)
        self._known = known

    def make_metavar(self, *given: Any) -> str:
        """The names, as a choice is shown."""
        return f"[{'|'.join(name for name, _ in self._known())}]"


of_body = partial(click.option, "--body", cls=Named, known=_bodies)
of_starter = partial(click.option, cls=Named, known=_starters)
of_session = partial(click.argument, cls=NamedArgument, known=_sessions)

# What stands behind one of these names of a parameter is finished by what there is.
a_job, a_day = _of(_jobs), _of(_days)
