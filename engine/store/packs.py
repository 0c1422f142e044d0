"""What a log says of packs: opened, weighed, thrown away, over all jobs."""

from __future__ import annotations

from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.products.stock import PackLog, pack_log
from cartclock.engine.store.log import Log


def packs_of(log: Log) -> PackLog:
    """The packs as they are to be believed, up to the row that this log last saw."""
    last = log.head.seq
    return pack_log(believed_rows([row for row in log.cart_rows() if row.seq <= last]))
