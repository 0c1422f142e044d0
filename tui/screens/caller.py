"""Caller: what to tell somebody on the phone or at the gate, to be read over a shoulder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import ClassVar

from textual.app import ComposeResult

from cartclock.engine.facts.job import Job, open_jobs
from cartclock.engine.facts.shift_events import OtherKind
from cartclock.engine.letters import cells, inert, padded, wrapped
from cartclock.engine.now.caller import Answer, answer
from cartclock.engine.rules.call_backs import end_call
from cartclock.engine.rules.rules import Drafts
from cartclock.engine.vehicle.vehicle import Extra, vehicle_record
from cartclock.tui.face.run_picture import face_picture
from cartclock.tui.lists.call_back import (
    call_backs_of,
    named,
    offer_done,
    open_call_backs,
)
from cartclock.tui.lists.leaving import leave_for
from cartclock.tui.lists.toggle import Toggle
from cartclock.tui.screens.cart import LOW, NARROW, CartScreen
from cartclock.tui.screens.listing import CLOCK_FIELDS, head_clock
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import job_in_view
from cartclock.tui.widgets.beside import Beside
from cartclock.tui.widgets.keyrow import KeyRow
from cartclock.tui.widgets.painted import Painted
from cartclock.tui.widgets.plain import Plain
from cartclock.tui.widgets.sheet import Line, Sheet

# Columns of the names in front of what is said; our own judgement.
NAMES = 13
# Rows of what is told on a low screen; our own judgement.
MOST_TOLD = 7
# Of the rows of a higher one; as `max-height` of it in look.tcss.
TOLD_PERCENT = 60
# What gives way where rows are few: somebody on the phone asks for the time and the price.
LEAST = ("expected", "done", "in hand", "now", "then")


class CallerScreen(CartScreen):
    """The answer above, and below it what makes the call count as other work.

    The list stays open while the screen is, so its letters are the screen's keys.
    """

    called: ClassVar[str] = "caller"
    # Kept from call to call: somebody may be looking on again.
    walk_in = False
    _turned = 0
    _hint = ""

    def compose(self) -> ComposeResult:
        """Head, the time, the words, the list."""
        with Beside(classes="head"):
            yield Plain("", id="head")
            yield Plain("", id="on-clock", classes="right")
        yield Painted(id="ready")
        yield Plain("", id="told")
        yield Sheet()
        yield Plain("", id="notice", fold=True)
        yield KeyRow()

    def on_screen_resume(self) -> None:
        """Asked anew: about the job in view."""
        self._turned = 0
        self._open()

    def _jobs(self) -> list[Job]:
        """Open jobs, the one in view first."""
        bench = self.cart.bench
        first = job_in_view(bench, self.cart.workplace.chosen)
        there = open_jobs(bench.jobs.values())
        return sorted(there, key=lambda job: first is None or job.id != first.id)

    @property
    def job(self) -> Job | None:
        """The job that is asked about."""
        jobs = self._jobs()
        return jobs[self._turned % len(jobs)] if jobs else None

    def answer(self) -> Answer:
        """What to tell at this moment."""
        bench, job, now = self.cart.bench, self.job, self.cart.workplace.moment
        customer = ""
        extras: tuple[Extra, ...] = ()
        if job is not None and not self.walk_in:
            customer = bench.text(job.opened.customer)
            extras = vehicle_record(job, bench.text).extras
        return answer(
            job,
            bench.jobs,
            bench.shift(),
            now.ahead,
            now.now_us,
            currency=self.cart.settings.currency,
            extras=extras,
            customer=customer,
            walk_in=self.walk_in,
        )

    def _open(self) -> None:
        """The list, with the letters that change what is shown."""
        toggle = Toggle(self.cart.bench)
        letters = {"w": self._turn_walk_in, "b": self._call_back}
        hint = f"esc back  W {'show all' if self.walk_in else 'hide names'}"
        if len(self._jobs()) > 1 and not self.walk_in:
            letters["j"] = self._turn_job
            hint += "  J other job"
        hint += "  B call back"
        self._hint = hint
        lines = [
            Line("on the phone: counts from now", lambda: self._begin("phone", toggle), hot="p"),
            Line("customer is here: counts from now", lambda: self._begin("customer", toggle),
                 hot="h"),
            *toggle.lines(),
            *self._calls(),
        ]  # fmt: skip
        self.sheet.open("", lines, hint, closed=lambda: self.cart.show("run"), letters=letters)
        self.paint()

    def _calls(self) -> list[Line]:
        """The call back that comes first; picked, it is done. A low screen has room for no more."""
        found = []
        for press, call in call_backs_of(self.cart, self.job)[:1]:
            mine = self.job is not None and call.job == self.job.id
            whose = "" if mine or self.walk_in else self.cart.bench.jobs[call.job].opened.vehicle
            said = ", ".join(part for part in (named(self.cart, call, self.walk_in), whose) if part)
            done = partial(self._write, end_call, press, "called")
            found.append(Line(f"called back: {said}", done, hot="d"))
        return found

    def _call_back(self) -> None:
        """A call back at a time, or what becomes of those that wait."""
        open_call_backs(self, self.job, self._write, self._open)

    def _write(self, rule: Callable[..., Drafts], *args: object) -> None:
        """Writes it, and answers on Run, where it can be taken back."""
        self.cart.show("run")
        self.cart.write(rule, *args)

    def _turn_walk_in(self) -> None:
        self.walk_in = not self.walk_in
        # What is asked about must not change to another job's while somebody looks on.
        self._open()

    def _turn_job(self) -> None:
        self._turned += 1
        self._open()

    def _begin(self, what: OtherKind, toggle: Toggle) -> None:
        """Counts as other work from now; the clocks show it."""
        whose = "" if self.job is None else self.job.id
        self.cart.show("run")
        asked = Asked("", "", "other work", job=whose, other=what, finish=toggle.finish)
        if leave_for(self.cart, asked) and what == "phone":
            offer_done(self.cart.run_screen, whose)

    def paint(self) -> None:
        """Shows the answer; the clock that hurts first stays beside the head."""
        told = self.answer()
        width, low = self.app.size.width, self.app.size.height < LOW
        whose = inert(told.whose or "Caller")
        self.query_one("#head", Plain).show(whose)
        face = self.cart.run_screen.look().faces[0]
        clock = self.query_one("#on-clock", Plain)
        clock.show(head_clock(face, width, named=not self.walk_in, beside=cells(whose)))
        clock.update_classes({field: face.field == field for field in CLOCK_FIELDS})
        ready = self.query_one("#ready", Painted)
        ready.display = not low
        ready.show(partial(face_picture, told.face))
        lines = [*told.lines]
        if low and told.ready:
            lines.insert(0, ("ready" if told.face.clock else "", told.ready))
        plain, rows = self.query_one("#told", Plain), self.app.size.height * TOLD_PERCENT // 100
        if low:
            # A row more of the list is a row less of what is told.
            own = not self.sheet.title and len(self._hint) <= width - 2
            says = self.sheet.says
            hinted = len(wrapped(says, width - 2)) if says else 1 if own else 2
            listed = (len(self.sheet.spoken) or 2) + hinted
            rows = min(MOST_TOLD, max(2, self.app.size.height - 1 - listed))
            plain.styles.max_height = rows
        said = _told(lines, width - 3, rows)
        # Below the letters it begins where they do.
        plain.show("\n".join(said if low else [f" {one}" for one in said]))
        # The list says what is asked only where something is.
        self.sheet.query_one("#sheet-title").display = bool(self.sheet.title)
        self.query_one("#notice", Plain).display = False
        # The list has every key of this screen and says them.
        self.query_one(KeyRow).display = False
        super().paint()


def _told(lines: Sequence[tuple[str, str]], width: int, rows: int) -> list[str]:
    """Name and words, folded; with the names in a column where there is one for them. What has no
    room whole is left out, and what the time does not count comes before most of it.
    """
    folded = [_folded(name, said, width) for name, said in lines]
    wanted = sorted(range(len(lines)), key=lambda at: (lines[at][0] in LEAST, at))
    shown: set[int] = set()
    for at in wanted:
        if len(folded[at]) <= rows:
            shown.add(at)
            rows -= len(folded[at])
    return [line for at, one in enumerate(folded) if at in shown for line in one]


def _folded(name: str, said: str, width: int) -> list[str]:
    if width < NARROW - 3:
        line = f"{name}: {said}" if name else said
        return wrapped(inert(line).replace("\n", " "), width)
    first, *others = wrapped(inert(said).replace("\n", " "), width - NAMES)
    return [padded(name, NAMES) + first, *(" " * NAMES + line for line in others)]
