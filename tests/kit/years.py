"""A log of years, made in a minute or two: synthetic, seeded, everything in it invented.

A dozen days are worked on a real bench (`tests.kit.worked`). Every job of the log is one of
them at another date, with another vehicle, customer and crew, written through the codec as
any row is. So there is no row the program would not write, and the chain holds.

Jobs are counted back from the newest, 0: a longer log ends with the same jobs as a shorter one,
and jobs that lie a multiple of DAYS apart are the same day.
"""

from __future__ import annotations

import hashlib
import random
import shutil
import tempfile
import uuid
from collections.abc import Iterator, Sequence
from itertools import islice, product
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import PackOpened
from cartclock.engine.facts.rows import HOUR_US, Row
from cartclock.engine.facts.sealed import Said, Sealed
from cartclock.engine.press import Press
from cartclock.engine.store import codec, schema
from cartclock.engine.store.clock import HandClock, SystemClock
from cartclock.engine.store.codec import PrivateText, seal, seals
from cartclock.engine.store.log import JobSummary, Log, ShiftSummary
from cartclock.engine.store.views import VIEWS
from tests.kit import worked
from tests.kit.stage import seeded
from tests.kit.worked import BEGINS_US, Worked

PLANS = ("one_step_correction_and_coat", "two_layer_coat_overnight", "decontamination_and_sealant")
BODIES = ("hatchback", "van")
HANDS = (1, 2)
DAYS = len(PLANS) * len(BODIES) * len(HANDS)
CREW = ("me", "Tomek", "Ines")
VEHICLES = ("bottle green estate", "silver hatchback", "black saloon", "white van", "red coupe")
DAY_US = 24 * HOUR_US
# One job a working day.
WORKING_DAYS = 5
# A pack of every product so often; the newest ones are a month old then.
PACK_JOBS = 22
AT_ONCE = 20


class Day(Struct, frozen=True):
    """One job as a bench wrote it. texts: ref of each private text -> the text."""

    rows: Sequence[Row]
    texts: dict[str, str]
    job: JobSummary
    shifts: Sequence[ShiftSummary]


def days() -> list[Day]:
    """Days of every plan, shape and number of hands."""
    found: list[Day] = []
    for seed, (plan, body, hands) in enumerate(product(PLANS, BODIES, HANDS)):
        with tempfile.TemporaryDirectory() as folder:
            bench = Worked(Path(folder), plan, body, hands, seed).bench
            rows = bench.log.all_rows()
            refs = [sealed.ref for row in rows for sealed in seals(row.event)]
            texts = {ref: bench.log.private_text(ref) or "" for ref in refs}
            (job,) = bench.log.job_summaries()
            found.append(Day(rows, texts, job, bench.log.shift_summaries()))
            bench.close()
    return found


class Written(Struct):
    """What goes into the log in one transaction."""

    rows: list[Row] = []
    private: list[PrivateText] = []
    jobs: list[JobSummary] = []
    shifts: list[ShiftSummary] = []


class Years:
    """The jobs of years, from the oldest on."""

    def __init__(self, origin: str, rows: int) -> None:
        self.origin = origin
        self.entropy = seeded("years")
        self._days = days()
        self._seq = 0
        self.jobs = max(1, round(rows / (sum(len(day.rows) for day in self._days) / DAYS)))

    def __iter__(self) -> Iterator[Written]:
        for back in reversed(range(self.jobs)):
            written = Written()
            # What belongs to a job is drawn from its own number, whatever came before it.
            chance = random.Random(back)
            day = self._days[back % DAYS]
            by_us = -(back // WORKING_DAYS * 7 + back % WORKING_DAYS) * DAY_US
            if (back + 1) % PACK_JOBS == 0:
                self._packs(written, day, by_us)
            self._job(written, day, back, by_us, chance)
            yield written

    def _job(self, to: Written, day: Day, back: int, by_us: int, chance: random.Random) -> None:
        number = self.jobs - back
        job = str(uuid.UUID(int=back + 1))
        first = len(CREW) - back % len(CREW)
        crew = {"me": CREW[first % 3], "Tomek": CREW[(first + 1) % 3], "": ""}
        shifts = {"": ""} | {
            one.shift: str(uuid.UUID(int=(back + 1 << 8) + n)) for n, one in enumerate(day.shifts)
        }
        vehicle = chance.choice(VEHICLES)
        start = self._seq
        for row in day.rows:
            event = self._moved(row.event, day, to, job, start, by_us)
            if isinstance(event, ev.JobOpened):
                event = replace(event, number=number, vehicle=vehicle)
            to.rows.append(
                replace(
                    row,
                    origin=self.origin,
                    seq=start + row.seq,
                    press=Press(self.origin, start + row.press.seq),
                    shift=shifts[row.shift],
                    job=job if row.job else "",
                    worker=crew[row.worker],
                    at_us=row.at_us + by_us,
                    entered_us=row.entered_us + by_us,
                    wall_us=row.wall_us + by_us,
                    boot=f"boot {back}",
                    event=event,
                )
            )
        self._seq = start + len(day.rows)
        told = day.job
        to.jobs.append(
            replace(
                told,
                job=job,
                number=number,
                vehicle=vehicle,
                opened_us=told.opened_us + by_us,
                closed_us=(told.closed_us or 0) + by_us,
                last_us=told.last_us + by_us,
            )
        )
        for one in day.shifts:
            to.shifts.append(
                replace(
                    one,
                    shift=shifts[one.shift],
                    worker=crew[one.worker],
                    on_us=one.on_us + by_us,
                    off_us=(one.off_us or 0) + by_us,
                )
            )

    def _moved(
        self, event: Struct, day: Day, to: Written, job: str, start: int, by_us: int
    ) -> Struct:
        """An event with what it names of other rows, of time and of private texts."""
        if isinstance(event, ev.PressMoved):
            return replace(event, press=start + event.press, to_us=event.to_us + by_us)
        if isinstance(event, ev.PressStruck | ev.PressRestored):
            event = replace(event, press=start + event.press)
        if isinstance(event, ev.OtherWorkStarted) and event.job:
            return replace(event, job=job)
        anew: dict[str, Sealed] = {}
        for field in event.__struct_fields__:
            value = getattr(event, field)
            if isinstance(value, Sealed):
                text = seal(day.texts[value.ref], self.entropy)
                to.private.append(text)
                anew[field] = text.sealed
        if anew:
            event = replace(event, **anew)

        def said(words: str) -> str:
            if not isinstance(words, Said) or words.sealed is None:
                return words
            text = seal(words, self.entropy)
            to.private.append(text)
            return Said(words, text.sealed)

        return codec.with_words(event, said)

    def _packs(self, to: Written, day: Day, by_us: int) -> None:
        """A new pack of everything, an hour before the day begins."""
        at_us = BEGINS_US + by_us - HOUR_US
        for one in {p.id: p for d in self._days for p in _plan_of(d).products}.values():
            opened = PackOpened(one.id, 1000.0, one.unit, lot=f"L{self.jobs}", name=one.name)
            row = replace(
                day.rows[0],
                origin=self.origin,
                seq=self._seq,
                press=Press(self.origin, self._seq),
                shift="",
                job="",
                at_us=at_us,
                entered_us=at_us,
                wall_us=at_us,
                boot="packs",
                event=opened,
            )
            to.rows.append(row)
            self._seq += 1


def _plan_of(day: Day) -> ev.Plan:
    opened = day.rows[0].event
    assert isinstance(opened, ev.JobOpened)
    return opened.plan


def write_years(path: Path, rows: int) -> int:
    """Writes a new log of whole jobs with about so many rows; answers how many it has."""
    with Log.open(path, entropy=seeded("log of years")) as log:
        written = iter(Years(log.origin, rows))
        while batch := list(islice(written, AT_ONCE)):
            log.append(
                [row for one in batch for row in one.rows],
                private=[text for one in batch for text in one.private],
                jobs=[job for one in batch for job in one.jobs],
                shifts=[shift for one in batch for shift in one.shifts],
            )
        return log.head.seq + 1


def catch_up(bench: Bench) -> None:
    """What is known of the log as a whole is written down, as on a cart that is in daily use."""
    while bench.library.left():
        bench.library.slice(10)
    bench.library.settle()


def alive(folder: Path) -> None:
    """Has a program been alive just now: one that starts months behind the last sign of life asks
    for the time first."""
    now = SystemClock().read()
    with Log.open(folder / "log.db") as log:
        log.beat(now.wall_us, now)


def years_log(folder: Path, rows: int) -> int:
    """Puts a log of about so many rows into a folder, and what is known of it.

    It is made once and kept for other runs. Returns how many rows it has.
    """
    made = hashlib.sha256()
    for module in (__file__, worked.__file__, ev.__file__, codec.__file__, schema.__file__):
        made.update(Path(module).read_bytes())
    # A view of another version is made anew, in the background of whatever is measured.
    made.update(repr([(view.name, view.version) for view in VIEWS]).encode())
    of_all = Path(tempfile.gettempdir()) / "cartclock-years"
    kept = of_all / f"{rows}-{made.hexdigest()[:16]}"
    if not kept.exists():
        for stale in of_all.glob(f"{rows}-*"):
            shutil.rmtree(stale)
        fresh = kept.with_suffix(".new")
        fresh.mkdir(parents=True)
        write_years(fresh / "log.db", rows)
        bench = Bench.open(fresh / "log.db", HandClock(BEGINS_US + DAY_US))
        catch_up(bench)
        bench.close()
        fresh.rename(kept)
    shutil.copytree(kept, folder, dirs_exist_ok=True)
    with Log.open(folder / "log.db") as log:
        return log.head.seq + 1
