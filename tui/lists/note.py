"""The list about a note: for the shop, for the customer's paper as well, or of an incident."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.words import note_text
from cartclock.engine.rules import choices, rules, typed
from cartclock.tui.lists.host import Host
from cartclock.tui.lists.incident import open_incident
from cartclock.tui.lists.titles import of_job
from cartclock.tui.told.in_view import in_hand, job_in_view
from cartclock.tui.widgets.sheet import Line


def open_note(host: Host) -> None:
    """A note, for whom it is; or something that went wrong."""
    bench = host.cart.bench
    job = choices.some(job_in_view(bench, host.cart.workplace.chosen), choices.NO_JOB_TO_NOTE)
    title = of_job(host, job, "note")
    hands = in_hand(bench)
    stage = hands.stage if hands else ""
    section = hands.sections[0] if hands and len(hands.sections) == 1 else ""

    def entry(private: bool) -> Callable[[], None]:
        def written(text: str) -> None:
            if not text:
                host.say("Nothing was written.")
                return
            note = ev.NoteWritten(bench.seal(typed.note(text)), stage, section, private)
            host.cart.write(rules.note_job, job.id, note)
            host.say(f"Noted {note_text(note, job)}.")

        return lambda: host.sheet.open_text(title, written)

    host.sheet.open(
        title,
        [
            Line("for the shop only", entry(True), hot="s"),
            Line("for the customer too", entry(False), hot="c"),
            Line("something went wrong", partial(open_incident, host, job.id), hot="i"),
        ],
    )
