"""A visit to the shop: what is new of a log is sent, and what comes back is noted beside it, where
the screens read it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from cartclock.engine.joined.carried import note_sent
from cartclock.engine.joined.handed import TakenElsewhere
from cartclock.engine.joined.holding import HandingShop
from cartclock.engine.joined.pulling import jobs_elsewhere
from cartclock.engine.joined.sending import Sent, Told, send
from cartclock.engine.store.log import Log

if TYPE_CHECKING:
    import psycopg


class Visited(Struct, frozen=True):
    """What came of a visit.

    Fields:
        sent: what was sent.
        taken: jobs of the log that another cart has taken since.
    """

    sent: Sent
    taken: tuple[TakenElsewhere, ...]


def visit_shop(
    log: Log,
    line: psycopg.Connection,
    program: str,
    told: Told = lambda left: None,
    private: bool = False,
) -> Visited:
    """Sends a log and notes what the shop says of jobs; arguments and errors as of `send`, and
    OSError where it cannot be noted."""
    sent = send(log, line, program, told, private)
    handing = HandingShop(line)
    taken, given = handing.taken_elsewhere(log.origin), handing.given_there(log.origin)
    note_sent(log.path, sent.head, jobs_elsewhere(line), taken, given)
    return Visited(sent, taken)
