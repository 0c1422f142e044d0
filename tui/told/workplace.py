"""The place of work: the open log, what is so by one reading of the clock, and what was picked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from cartclock.engine.body.watch import Watch
from cartclock.engine.desk.bench import Bench
from cartclock.engine.desk.shop import Shop
from cartclock.engine.facts.events import CART_EVENTS
from cartclock.engine.facts.move import Move
from cartclock.engine.facts.rows import Evidence
from cartclock.engine.now.helper import second_hands
from cartclock.engine.now.moment import Moment
from cartclock.engine.products.stock import Stock
from cartclock.engine.products.supply import stock_notices
from cartclock.engine.store.laptop.photo_folder import PhotoFolder
from cartclock.engine.store.laptop.places import second_log_said
from cartclock.engine.store.settings import Settings
from cartclock.engine.times import Instant
from cartclock.engine.trouble import Refused, StoreFault
from cartclock.engine.until import Kept
from cartclock.tui.keys import Key, keymap
from cartclock.tui.told.photos import NewPhotos
from cartclock.tui.told.shop_side import ShopSide


def _names(move: Move | None) -> object:
    """What a move is whatever the time: its marks and its rank may change, this does not."""
    return None if move is None else (move.act, move.job, move.stage, move.sections, move.turn)


class Workplace:
    """What is known at the cart, whoever shows it.

    Args:
        bench: the open log.
        shop: the lists and papers of the same log.
        settings: what the worker has settled.

    Fields:
        picked: the move picked with up and down; None: the best one.
        no_guest: why nobody can come to help who is not in the settings; "" if somebody can.
        shop_side: how it stands with the shop that this cart belongs to.
        photos: new ones in the folder of the settings.
        instrument_trouble: why the instrument gave no reading; "" if it did.

    Keys of the settings that cannot be are not heeded, none of them.
    """

    def __init__(self, bench: Bench, shop: Shop, settings: Settings) -> None:
        self.bench, self.shop, self.settings = bench, shop, settings
        bench.asks_new = settings.reminders.products
        # By the newest row; who is there changes with a row alone.
        self._second: tuple[int, str] | None = None
        self._unheeded = settings.unheeded
        own = settings.keys
        try:
            self._keys = keymap(own, helper=bool(self.helper))
        except ValueError as why:
            own = {}
            self._keys = keymap(own, helper=bool(self.helper))
            self._unheeded = (*self._unheeded, f"Keys of the settings: {why}")
        # Somebody may come to help whom the settings do not name.
        self._keys_of_two, self.no_guest = self._keys, ""
        try:
            self._keys_of_two = keymap(own, helper=True)
        except ValueError as why:
            self.no_guest = str(why)
        self.picked: Move | None = None
        folder = settings.shop.photos
        self.shop_side = ShopSide(bench.log, settings.zone)
        self.photos = NewPhotos(PhotoFolder(folder) if folder else None, bench)
        self.instrument_trouble = ""
        self._now: Moment | None = None
        self._stock: Kept[Stock | None] = Kept()
        self._stock_said: Kept[tuple[str, ...]] = Kept()

    @cached_property
    def woken(self) -> str:
        """What there is to say at the start, which is looked for once: of the log, of settings
        that are not heeded, and of time in which nothing ran; "" if there is nothing.
        """
        log = self.bench.log
        said = [log.lost, second_log_said(log.path), *self._unheeded]
        try:
            if self.bench.wake():
                asks = "; G asks what that time was." if self.bench.questions() else "."
                said.append(f"The program did not run for a while{asks}")
        except (Refused, StoreFault) as why:
            said.append(str(why))
        return " ".join(filter(None, said))

    @property
    def helper(self) -> str:
        """Name of the second worker; "" without one."""
        bench, seq = self.bench, self.bench.log.head.seq
        if self._second is None or self._second[0] != seq:
            found = second_hands(self.settings.helper, bench.shifts.values(), bench.worker)
            self._second = seq, found
        return self._second[1]

    @property
    def keymap(self) -> tuple[Key, ...]:
        """Every key with its meaning."""
        return self._keys_of_two if self.helper else self._keys

    @property
    def moment(self) -> Moment:
        """What is so: made once a tick and once a press, and anew if a row came in between."""
        if self._now is None or self._now.facts.seq != self.bench.log.head.seq:
            self._now = self.look_again()
        return self._now

    def look_again(self, evidence: Evidence | None = None) -> Moment:
        """What is asked for from here on is so at this instant.

        evidence: what the clocks were read to say; None: they are read.
        """
        place, said = self.shop.rest_place, self.settings
        self._now = self.bench.moment(
            self.helper, place, self._now, evidence, meal=said.meal, closed=said.closed
        )
        return self._now

    def body(self) -> Watch | None:
        """How the worker fares; None off the clock."""
        return self.moment.me.watch

    @property
    def stock(self) -> Stock | None:
        """What is on the cart; None without a pack."""
        now = self.moment
        return self._stock.at(now.now_us, now.facts.seq, lambda _now_us: self._packs())

    @property
    def stock_notices(self) -> tuple[str, ...]:
        """What is to be said of the packs."""
        now, seq, stock = self.moment, self.moment.facts.seq, self.stock
        if stock is None:
            return ()
        return self._stock_said.at(
            now.now_us, seq, lambda now_us: stock_notices(stock, now.jobs, Instant(now_us))
        )

    def _packs(self) -> Stock | None:
        """The stock; None without a pack: nothing can be said, and the log need not be read."""
        packs = any(isinstance(row.event, CART_EVENTS) for row in self.bench.rows)
        return self.shop.stock() if packs else None

    @property
    def moves(self) -> tuple[Move, ...]:
        """What can be taken up, best first; a rest that is called comes before everything."""
        return self.moment.me.moves

    @property
    def chosen(self) -> Move | None:
        """The move that SPACE takes up: the one picked with up and down, else the best."""
        moves = self.moves
        return moves[self.place(moves)] if moves else None

    def place(self, moves: Sequence[Move]) -> int:
        """Where the chosen move stands among these; 0 if what was picked is not there."""
        if self.picked is None:
            return 0
        alike = (i for i, move in enumerate(moves) if _names(move) == _names(self.picked))
        return next(alike, 0)

    def pick(self, by: int) -> None:
        """Picks the move so many lines below the chosen one; the best one is no pick."""
        moves = self.moves
        at = (self.place(moves) + by) % max(1, len(moves))
        self.picked = moves[at] if at else None
