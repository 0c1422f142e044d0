"""How the words behind a command go on, for a shell that asks at TAB."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

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


# What stands behind one of these names of a parameter is finished by what there is.
a_job, a_starter, a_day = _of(_jobs), _of(_starters), _of(_days)
