"""What Run has in sight, from one picture to the next."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import takewhile

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.dates import day_of
from cartclock.engine.facts.move import Move
from cartclock.engine.now.be_here_by import be_here_by
from cartclock.engine.now.faces import Face
from cartclock.engine.now.glance import Glance, StandingPart, glance, standing_part
from cartclock.engine.now.key_line import KeyLine
from cartclock.engine.now.moment import Moment
from cartclock.engine.now.running import span_text
from cartclock.engine.times import Instant
from cartclock.engine.until import Kept
from cartclock.tui.face.run_picture import Told
from cartclock.tui.keys import on_screen
from cartclock.tui.told import helper, run
from cartclock.tui.told.asked import Asked
from cartclock.tui.told.in_view import job_in_view
from cartclock.tui.told.reasons import open_questions, reasons
from cartclock.tui.told.run import Said
from cartclock.tui.told.workplace import Workplace


def _question_face(asked: Asked, waited_us: int) -> Face:
    """What is asked, in place of what runs; what leads to it stands over the answers."""
    waited = span_text(waited_us)
    return Face("ANSWER", waited, "", f"waits {waited}, nothing is begun", "ask", "ask")


class _Pressed(Struct, frozen=True):
    """What of presses a picture knew: the newest row, and the move picked with up and down."""

    seq: int
    picked: Move | None


class Sight:
    """What Run has in sight.

    Args:
        workplace: what is known at the cart.

    Fields:
        ago: minutes typed before SPACE; "" for none.
        asked: the question that waits for an answer; `asked_us`: since when.
        line: what the line of SPACE said in the newest picture, `second` that of the helper's key;
            None before there was one.
    """

    def __init__(self, workplace: Workplace) -> None:
        self.workplace = workplace
        self.ago = ""
        self.asked: Asked | None = None
        self.asked_us = Instant(0)
        self.line: KeyLine | None = None
        self.second: KeyLine | None = None
        self._lined = _Pressed(-1, None)
        self._ready: Kept[str] = Kept()
        self._stands: Kept[StandingPart] = Kept()
        self._morning: Kept[tuple[str, ...]] = Kept()
        self._why: Kept[dict[str, str]] = Kept()

    def look(self, with_laptop: Callable[[Sequence[str]], Sequence[str]] = tuple) -> Glance:
        """The glance at this moment.

        with_laptop: puts among the news what is to be said of the laptop.
        """
        at = self.workplace
        now, chosen = at.moment, at.chosen
        stands = self._stands.at(
            now.now_us,
            (now.facts, self._chosen(now)),
            lambda now_us: standing_part(
                now.jobs, now.me.shift, Instant(now_us), chosen, now.me.own, now.ahead
            ),
        )
        news = list(helper.notices(at, helper.body(at)))
        # What can wait waits for a film in play.
        news += () if stands.wet else (*at.stock_notices, *at.photos.notices)
        news += self._of_next_day(now)
        if at.instrument_trouble:
            news.insert(0, at.instrument_trouble)
        seen = glance(
            now.jobs,
            now.me.shift,
            now.now_us,
            chosen,
            open_questions(at),
            now.me.watch,
            with_laptop(news),
            now.me.own,
            partial(at.shop.usual, now.me.worker),
            stands,
        )
        if self.asked is not None and not stands.wet:
            # In place of what runs: what was pressed is not begun.
            seen = replace(seen, faces=(_question_face(self.asked, now.now_us - self.asked_us),))
        return seen

    def _of_next_day(self, now: Moment) -> tuple[str, ...]:
        """What was said before the shift ended; on the next day what is so of it by then."""
        shift = now.me.shift
        if shift is None or shift.off_us is None:
            return ()
        zone, stock = shift.on.zone, self.workplace.stock
        if day_of(now.now_us, zone) == day_of(shift.off_us, zone):
            return shift.told
        return self._morning.at(
            now.now_us,
            (now.facts, stock),
            lambda now_us: be_here_by(
                now.jobs, shift, stock, Instant(now_us), ahead=now.ahead, behind_night=True
            ),
        )

    def tell(
        self,
        seen: Glance,
        why_not: Mapping[str, str],
        answer: str = "",
        answered_us: Instant | None = None,
        listed: bool = False,
    ) -> Told:
        """Everything that the picture says; what the lines of the keys say now has been told.

        Args:
            seen: the glance at this moment; why_not: its `reasons`.
            answer: what the line that answers says; `answered_us`: since when; None: from now on.
            listed: True while a list is open.
        """
        at, now = self.workplace, self.workplace.moment
        line, second = self._lines(now)
        asked = self.asked if seen.faces[0].field == "ask" else None
        return run.told(
            Said(
                now=now,
                seen=seen,
                zone=at.settings.zone,
                at=at.place(now.me.moves),
                ready=self._ready_text(now),
                beside=helper.face(at),
                changed=line.is_news(now.now_us),
                helps=helper.line_text(at, second, self.ago),
                ago=self.ago,
                question="" if asked is None else asked.question,
                answer=answer,
                answered_us=now.now_us if answered_us is None else answered_us,
                unit=at.settings.temperature,
                keymap=on_screen(at.keymap, "run"),
                reasons=why_not,
                listed=listed,
            )
        )

    def _ready_text(self, now: Moment) -> str:
        job = job_in_view(self.workplace.bench, self.workplace.chosen)
        zone = self.workplace.settings.zone
        return self._ready.at(
            now.now_us,
            # What is learned of old jobs grows without a row while the library is still at it.
            (now.facts.seq, now.facts.left, None if job is None else job.id),
            lambda now_us: run.ready_text(job, now.ahead, Instant(now_us), zone),
        )

    def _chosen(self, now: Moment) -> Move | None:
        """The chosen move, as lines and keys go by it.

        With something in hand its marks may be those of a film that is laid, which go on with the
        clock, and nothing tells them; free hands wait for them.
        """
        chosen, shift = self.workplace.chosen, now.me.on
        if chosen is None or shift is None or shift.state == "free":
            return chosen
        return replace(chosen, opens_us=None, closes_us=None)

    def _lines(self, now: Moment) -> tuple[KeyLine, KeyLine]:
        """The line of SPACE and that of the helper's key, and whether a press changed them."""
        at, before = self.workplace, self._lined
        since = takewhile(lambda row: row.seq > before.seq, reversed(at.bench.rows))
        pressed = {row.worker for row in since if row.by == "worker"}
        first = now.me.worker in pressed or at.picked is not before.picked
        self._lined = _Pressed(now.facts.seq, at.picked)
        chosen, seconds = at.chosen, helper.next_move(at)
        self.line = (self.line or KeyLine(chosen)).then(chosen, now.me.watch, now.now_us, first)
        self.second = (self.second or KeyLine(seconds)).then(
            seconds, helper.body(at), now.now_us, at.helper in pressed
        )
        return self.line, self.second

    def reasons(self) -> dict[str, str]:
        """Key id -> why it cannot work now; ids not named can."""
        at, now = self.workplace, self.workplace.moment
        helps = helper.next_move(at) is not None
        of = (now.facts, now.sure, open_questions(at), self._chosen(now), helps)
        return self._why.at(now.now_us, of, lambda now_us: reasons(at, Instant(now_us)))
