"""Which cart has a job by the shop's server, which lets exactly one have it, and its rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from cartclock.engine.facts.events import JobOpened, ProductUsed, UseCorrected
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.handed import GivenThere, JobThere, PartThere, TakenElsewhere
from cartclock.engine.joined.private import job_private
from cartclock.engine.joined.sending import shop_ahead_us
from cartclock.engine.store import codec
from cartclock.engine.store.codec import Stored
from cartclock.engine.store.exchange import job_file
from cartclock.engine.store.exchange.job_file import Header
from cartclock.engine.times import Instant, Length

if TYPE_CHECKING:
    import psycopg

_JOB, _KIND, _V, _BODY = (codec.COLUMNS.index(name) for name in ("job", "kind", "v", "body"))
_NAMES_PRODUCTS = ("JobOpened", "ProductUsed", "UseCorrected")


class HandingShop:
    """A shop by which jobs go from cart to cart, over an open line to it."""

    def __init__(self, line: psycopg.Connection) -> None:
        self._line = line

    @property
    def ahead_us(self) -> Length:
        """The clock of the shop less this computer's."""
        return shop_ahead_us(self._line)

    def job_there(self, handle: str, silent: bool = False) -> JobThere:
        """The job of the shop that is open or was given away, by its number or the beginning of its
        id; of several that go by it the only one that was given away.

        silent: it need not have been given, so that none goes in front of another.

        Raises ShopFault, naming what there is, if it is none or not the only one.
        """
        found = self._line.execute(
            "SELECT job::text, number, vehicle, cart, given, tenure, origin::text"
            " FROM cartclock.jobs_there_1(%s) ORDER BY cart, number",
            (handle.strip().lower(),),
        ).fetchall()
        # One that was handed on has a number on each cart.
        every = list({one.job: one for one in (JobThere(*line) for line in found)}.values())
        if not every:
            raise ShopFault(
                f"The shop has no open job {handle}; cartclock shop given lists those that wait to "
                "be taken."
            )
        given = [one for one in every if one.given]
        if len(given) == 1 and not silent:
            return given[0]
        if len(every) > 1:
            names = (f"{it.job[:8]} ({it.cart}: {it.number}, {it.vehicle})" for it in every)
            raise ShopFault(
                f"Several jobs go by {handle}: {'; '.join(names)}. Write the beginning of the id."
            )
        return every[0]

    def given_there(self, origin: str) -> tuple[GivenThere, ...]:
        """Jobs of other carts that a log may take, the newest in front; none where the tables do
        not tell them."""
        if not self._knows("given_1(uuid)"):
            return ()
        found = self._line.execute("SELECT * FROM cartclock.given_1(%s)", (origin,)).fetchall()
        return tuple(GivenThere(*one) for one in found)

    def _knows(self, function: str) -> bool:
        """Whether the shop's tables have it: those of an earlier program have fewer."""
        asked = self._line.execute(
            "SELECT to_regprocedure(%s) IS NOT NULL", (f"cartclock.{function}",)
        )
        return asked.fetchone() == (True,)

    def claim(
        self, there: JobThere, origin: str, tenure: int, now_us: Instant, silent: bool
    ) -> bytes:
        """Takes a job in this turn, if nobody else has, and answers with the file of it as the shop
        has it, with its private texts that are there, up to the newest row that counts of the cart
        that had it.

        Args:
            origin: identity of the cart that takes it.
            now_us: its job time.
            silent: it need not have been given.

        Asked again it answers the same. Raises ShopFault for rows that are not what was sent,
        psycopg.Error as the line does.
        """
        claimed = self._line.execute(
            "SELECT * FROM cartclock.take_1(%s, %s, %s, %s)", (there.job, origin, tenure, silent)
        ).fetchone()
        assert claimed is not None  # it answers with one line or raises
        of, last, digest = claimed
        newest = {of: (last, digest)}
        return self._file(there.job, there.number, there.vehicle, now_us, newest)

    def _file(
        self,
        job: str,
        number: int,
        vehicle: str,
        as_of_us: Instant,
        newest: Mapping[str, tuple[int, str]],
    ) -> bytes:
        """The file of a job as the shop has it.

        newest: of logs that are read up to some row alone, its number and digest.
        """
        heads = {
            log: (seq, head)
            for log, seq, head in self._line.execute(
                "SELECT origin, seq, digest FROM cartclock.job_heads_1(%s)", (job,)
            ).fetchall()
        }
        heads |= newest
        pulled = self._line.execute("SELECT * FROM cartclock.pull_job_1(%s)", (job,))
        stored = _as_sent(pulled.fetchall(), heads)
        stored += self._packs(job, stored, heads)
        stored.sort(key=lambda row: row[:2])
        texts = job_private(self._line, job, stored)
        header = Header(
            format=job_file.JOB_FORMAT,
            version=job_file.JOB_VERSION,
            program="",
            job=job,
            number=number,
            vehicle=vehicle,
            as_of_us=max(as_of_us, *(Instant(row[9]) for row in stored)),
            private=bool(texts),
            origins=tuple(job_file.parts_of(stored, heads)),
            texts=len(texts),
        )
        return job_file.written(header, stored, {}, texts)

    def _packs(
        self, job: str, stored: Sequence[Stored], heads: Mapping[str, tuple[int, str]]
    ) -> list[Stored]:
        """Rows that open the packs a job drew from; none where the tables do not tell them."""
        if not self._knows("pull_packs_1(uuid, text[])"):
            return []
        products: set[str] = set()
        for row in stored:
            if row[_JOB] == job and row[_KIND] in _NAMES_PRODUCTS:
                match codec.decode(row[_KIND], row[_V], row[_BODY]):
                    case JobOpened(plan=plan):
                        products |= {product.id for product in plan.products}
                    case ProductUsed(amounts=amounts):
                        products |= amounts.keys()
                    case UseCorrected(product):
                        products.add(product)
        pulled = self._line.execute(
            "SELECT * FROM cartclock.pull_packs_1(%s, %s)", (job, sorted(products))
        )
        return _as_sent(pulled.fetchall(), heads)

    def parts_there(self, jobs: Iterable[str]) -> tuple[PartThere, ...]:
        """Those of these jobs that other carts have, and what was said to be a part of one of them.

        Raises ShopFault where the shop's tables do not tell, psycopg.Error as the line does.
        """
        if not self._knows("parts_1(uuid[])"):
            raise ShopFault(
                "The shop's tables tell no parts yet; its owner runs cartclock shop tables of this "
                "program."
            )
        found = self._line.execute("SELECT * FROM cartclock.parts_1(%s)", (list(jobs),)).fetchall()
        return tuple(PartThere(*one) for one in found)

    def part_file(self, part: PartThere) -> bytes:
        """The file of a part as the shop has it, told as of when its cart was heard; raises as
        `claim` does."""
        return self._file(part.job, part.number, part.vehicle, part.heard_us, {})

    def taken_elsewhere(self, origin: str) -> tuple[TakenElsewhere, ...]:
        """The jobs that a log had and another cart has since; tells the shop what the log took over
        without asking it."""
        if not self._knows("holdings_1(uuid)"):
            # Tables of an earlier program hand nothing on.
            return ()
        found = self._line.execute("SELECT * FROM cartclock.holdings_1(%s)", (origin,)).fetchall()
        return tuple(TakenElsewhere(*one) for one in found)


def _as_sent(
    pulled: Iterable[tuple[Any, ...]], heads: Mapping[str, tuple[int, str]]
) -> list[Stored]:
    """Rows as the shop answers them, (text, digest), up to the newest that counts of each log.

    Raises ShopFault for one that is not what was sent.
    """
    found: list[Stored] = []
    for text, theirs in pulled:
        row = msgspec.json.decode(text)
        # Reckoned here: what the server says of a row is no proof of it.
        if codec.sha256_of(text.encode()) != theirs:
            raise ShopFault(f"Row {row[1]} at the shop is not what was sent; it is not read.")
        if row[1] <= heads[row[0]][0]:
            found.append((*row, theirs))
    return found
