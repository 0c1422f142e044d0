"""A job in which something stands wherever a person can put words, and its four papers."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.rows import believed_rows
from cartclock.engine.facts.sealed import Sealed
from cartclock.engine.facts.turn import Marks, Turn
from cartclock.engine.paper.forms.json_form import (
    arrival_json,
    customer_json,
    day_json,
    record_json,
)
from cartclock.engine.paper.shop_head import ShopHead
from cartclock.engine.plan.plan import Aftercare, Plan, Product, Stage, Use, Wait, Work
from cartclock.engine.products.consumption import consumed
from cartclock.engine.products.stock import pack_log
from cartclock.engine.record.arrival import ArrivalSheet, arrival_sheet
from cartclock.engine.record.customer import CustomerSheet, customer_sheet
from cartclock.engine.record.day import Day, day
from cartclock.engine.record.record import Proof, Record, record
from tests.kit.book import JOB, Book, us
from tests.kit.setting import (
    arrival_html,
    arrival_text,
    customer_html,
    customer_text,
    day_html,
    day_text,
    record_html,
    record_text,
)

ZONE = "Europe/Berlin"
END_S = 9000.0

# What the customer may read, what only the shop may.
OPEN = (
    "vehicle", "plan", "customer", "plate", "section one", "section two", "product", "lot",
    "say", "if not", "visit", "damage panel", "damage note",
    "agreed", "note", "shop", "street", "shop phone",
    "told incident panel", "told incident words", "told incident done",
)  # fmt: skip
SECRET = (
    "phone", "private note", "file path", "skip reason", "overrule", "rest reason", "sign",
    "place", "worker", "strike reason", "amount reason", "set up",
    "call back", "told", "incident panel", "incident words", "incident done",
    "helper", "helper place", "before coat", "towel", "redo reason", "moved call back",
    "told of the move", "close reason", "break reason", "other reason", "reopen reason",
)  # fmt: skip
# Who took the keys: on the customer's sheet of a job that is closed, and on no other.
HANDED = "keys"
# How the shop parts its work: no secret, and of no use to the customer.
STAGES = ("coat stage", "wash stage")
# Numbers that are the shop's: price of the plan, of an extra, and what the pack cost.
MONEY = ("640.17", "731.19")

Words = Callable[[str], str]


class Papers(Struct):
    """The four readers' structs of one job."""

    record: Record
    day: Day
    customer: CustomerSheet
    arrival: ArrivalSheet
    shop: ShopHead

    def forms(self, who: str) -> dict[str, str]:
        """Every form of one of the papers, by name."""
        match who:
            case "record":
                return {
                    "text": record_text(self.record, 15, "EUR"),
                    "html": record_html(self.record, 15, "EUR"),
                    "json": record_json(self.record),
                }
            case "day":
                return {
                    "text": day_text(self.day, 15),
                    "html": day_html(self.day, 15),
                    "json": day_json(self.day),
                }
            case "customer":
                return {
                    "text": customer_text(self.customer, self.shop),
                    "html": customer_html(self.customer, self.shop),
                    "json": customer_json(self.customer, self.shop),
                }
            case _:
                return {
                    "text": arrival_text(self.arrival, self.shop, "EUR"),
                    "html": arrival_html(self.arrival, self.shop, "EUR"),
                    "json": arrival_json(self.arrival, self.shop, "EUR"),
                }


WHO = ("record", "day", "customer", "arrival")


def book_with(word: Words) -> tuple[Book, Mapping[str, str]]:
    """A job with these words, and its private texts; it stays open."""
    coat, wash = word("coat stage"), word("wash stage")
    sections = (word("section one"), word("section two"))
    steps = (
        Work("apply", 1.0, (Use("p", 10),)),
        Wait("flash", 60, 90, 300),
        Work("level", 1.0),
    )
    plan = Plan(
        word("plan"),
        (
            Stage(coat, sections, steps, kind="coat"),
            Stage(wash, (f"{word('section one')} wash", "left"), (Work("rinse", 1.0),)),
        ),
        (Product("p", word("product")),),
        (),
        (
            Aftercare(word("say"), "label", until="PT48H", after=coat, if_not=word("if not")),
            Aftercare(word("visit"), "label", every="P6M", times=2, after=coat, visit=True),
        ),
    )
    texts: dict[str, str] = {}

    def sealed(name: str) -> Sealed:
        texts[name] = word(name)
        return Sealed(name, "00")

    book = Book()
    who = word("worker")
    book.press(
        0,
        ev.JobOpened(
            plan, "", 1, word("vehicle"), ZONE, sealed("customer"), sealed("plate"),
            sealed("phone"), us(5000), MONEY[0],
        ),
        worker=who,
    )  # fmt: skip
    book.press(0, ev.ClockedOn(word("place"), zone=ZONE), worker=who)
    book.press(1, ev.PackOpened("p", 1, lot=word("lot"), price=MONEY[1]), worker=who)
    book.press(2, ev.ReadingTaken(31, 40, 34), ev.FeltUnwell((word("sign"),)), worker=who)
    book.press(3, ev.RestOverruled(word("rest reason")), worker=who)
    for index, name in enumerate(sections):
        at_s = 10.0 + index * 200
        over = {"coat_gate": word("overrule")}
        book.press(at_s, ev.WorkStarted(coat, (name,), Turn(), over), worker=who)
        book.press(
            at_s + 20,
            ev.StepFinished(coat, (name,), Turn(), Marks(60, 90, 300)),
            ev.ProductUsed(coat, (name,), Turn(), {"p": 1.0}),
            worker=who,
        )
        book.press(at_s + 100, ev.WorkStarted(coat, (name,), Turn(1, 1, 2)), worker=who)
        book.press(at_s + 150, ev.StepFinished(coat, (name,), Turn(1, 1, 2)), worker=who)
    book.press(600, ev.SectionSkipped(wash, ("left",), word("skip reason")), worker=who)
    helper = word("helper")
    book.press(610, ev.ClockedOn(word("helper place"), zone=ZONE), worker=helper)
    washed = (f"{word('section one')} wash",)
    book.press(612, ev.WorkStarted(wash, washed, Turn()), worker=helper)
    book.press(640, ev.StepFinished(wash, washed, Turn()), worker=helper)
    book.press(
        650,
        ev.SectionReopened(wash, washed, Turn(2, 1, 0), word("redo reason")),
        ev.FreshTaken(wash, "towel", word("towel"), 2),
        ev.BeforeCoatRead(coat, Turn(), (word("before coat"),)),
        worker=helper,
    )
    over = {"coat_gate": word("break reason")}
    book.press(652, ev.BreakTaken("rest", 2, over), worker=helper)
    over = {"coat_gate": word("other reason")}
    book.press(654, ev.BreakEnded(), worker=helper)
    book.press(654, ev.OtherWorkStarted("phone", JOB, over), worker=helper)
    book.press(660, ev.OtherWorkEnded(), worker=helper)
    book.press(660, ev.ClockedOff(), worker=helper)
    book.press(
        700,
        ev.NoteWritten(sealed("private note"), coat, sections[0]),
        ev.NoteWritten(sealed("note"), private=False),
        ev.DamageNoted(word("damage panel"), "dent", sealed("damage note")),
        ev.AgreementNoted(sealed("agreed"), "55.13"),
        ev.FileAttached("00", sealed("file path")),
        ev.OdometerRead(84210),
        ev.UseCorrected("p", 0.5, word("amount reason")),
        ev.TrialJudged(coat, sections[0], word("set up"), True),
        worker=who,
    )
    book.press(704, ev.PromiseTold("not kept", us(5000), sealed("told")), worker=who)
    book.press(705, ev.CallBackPromised(us(9000), sealed("call back")), worker=who)
    moved = book.press(706, ev.CallBackPromised(us(9000), sealed("moved call back")), worker=who)
    book.press(707, ev.CallBackMoved(moved, us(9500)), worker=who)
    book.press(708, ev.CallBackEnded(moved, "called"), worker=who)
    told_of = sealed("told of the move")
    book.press(709, ev.JobAmended("phone", sealed("phone")), worker=who)
    book.press(709, ev.PromiseTold("moved", us(5000), told_of), worker=who)
    for at_s, name, told in ((710, "incident", False), (730, "told incident", True)):
        noted = book.press(at_s, ev.IncidentNoted(word(f"{name} panel"), "spill"), worker=who)
        words, done = sealed(f"{name} words"), sealed(f"{name} done")
        more = ev.IncidentAmended(noted, words, done, told or None)
        book.press(at_s + 10, more, worker=who)
    over = {"second_look": word("close reason")}
    book.press(760, ev.JobClosed(over), ev.PaymentNoted("cash"), worker=who)
    book.press(761, ev.KeysTaken(sealed(HANDED)), worker=who)
    book.press(770, ev.JobReopened(word("reopen reason")), worker=who)
    book.press(800, ev.DrinkTaken(200), worker=who)
    book.press(810, ev.PressStruck(book.rows[-1].press.seq, word("strike reason")), worker=who)
    return book, texts


def papers(book: Book, texts: Mapping[str, str], shop: ShopHead, at_s: float = END_S) -> Papers:
    """The papers of the book at that second."""
    shifts = {name: book.shift(name) for name in {row.shift for row in book.rows} - {""}}
    packs = pack_log(believed_rows(book.rows))
    found = record(
        book.job(),
        shifts,
        book.jobs(),
        us(at_s),
        rows=book.rows,
        text=texts.get,
        products=consumed(book.job(), packs),
        lots=packs.lot_at,
        proof=Proof(len(book.rows), "0f" * 32),
    )
    return Papers(
        found,
        day("2026-09-21", ZONE, shifts, book.jobs(), us(at_s)),
        customer_sheet(found),
        arrival_sheet(found),
        shop,
    )


def papers_with(word: Words) -> Papers:
    """The papers of a job in which these words stand."""
    book, texts = book_with(word)
    shop = ShopHead(word("shop"), (word("street"),), word("shop phone"))
    return papers(book, texts, shop)
