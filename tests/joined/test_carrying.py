"""The process that sends while the program runs: what it does, when it gives up, and that it never
outlives who started it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest

from cartclock.engine.joined.carried import Carried, carried, carried_file, note_carried
from cartclock.engine.joined.carrying import Carrier
from cartclock.engine.joined.handed import TakenElsewhere
from cartclock.engine.joined.membership import Joined, join, leave_shop
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import count, grown, sent, worked
from tests.joined.test_shop_failures import full, lone  # noqa: F401  # fixtures
from tests.joined.test_shop_handing import taken
from tests.kit.postgres import Postgres

ROOT = Path(__file__).parents[2]


def until(happened: Callable[[], bool], patience_s: float = 20.0) -> None:
    end = time.monotonic() + patience_s
    while not happened():
        assert time.monotonic() < end
        time.sleep(0.02)


def said(cart: Cart) -> Carried:
    found = carried(cart.day.path)
    return found or Carried()


def children(pid: int) -> list[int]:
    """Processes that one has begun (proc(5))."""
    found = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(one) for one in found.read_text().split()] if found.exists() else []


def gone(pid: int) -> bool:
    """Whether no such process runs; one that is only to be fetched does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def test_what_is_pressed_is_sent_and_what_is_open_elsewhere_comes_back(
    cart: Carts, owner: psycopg.Connection
) -> None:
    one, other, third = cart("carried"), cart("carried"), cart("carried")
    worked(other, 3)
    sent(other)
    sent(third)
    log = one.day.bench.log
    carrier = Carrier(one.day.path, every_s=0.05)
    try:
        until(lambda: said(one).seq == log.head.seq)
        assert said(one).taken == ()
        third.day.clock.wind(600)
        assert taken(third, one.day.job, silent=True).written
        sent(third)
        worked(one, 2)
        until(lambda: said(one).seq == log.head.seq)
    finally:
        carrier.close()
    assert not carrier.runs
    assert count(owner, one) == (log.head.seq + 1, log.head.seq)
    known = said(one)
    assert (known.failed, known.parted) == (False, False)
    (job,) = other.day.bench.jobs.values()
    # The screens let go of it, as `tests/screens/test_today_shop.py` says.
    assert known.taken == (TakenElsewhere(one.day.job, 2, third.day.bench.log.origin, third.name),)
    (there,) = (open_ for open_ in known.open_jobs if open_.cart == other.name)
    first = min(job.running, key=lambda window: window.closes_us)
    assert (there.cart, there.number, there.vehicle, there.section, there.closes_us) == (
        other.name, job.opened.number, job.opened.vehicle, first.section, first.closes_us,
    )  # fmt: skip
    # Who leaves the shop is told nothing of it any more.
    assert leave_shop(one.day.path)
    assert not carried_file(one.day.path).exists()


@pytest.mark.long
def test_without_a_server_it_notes_so_and_tries_ever_less_often(
    cart: Carts, tmp_path: Path
) -> None:
    one = cart("carried")
    join(Joined("127.0.0.1:1", one.name), one.name, one.day.path)
    note_carried(one.day.path, Carried(3, sent_us=one.day.bench.now_us))
    carrier = Carrier(one.day.path, every_s=0.2)
    try:
        until(lambda: said(one).failed)
        first = said(one)
        assert (first.seq, first.sent_us, first.parted) == (3, one.day.bench.now_us, False)
        times = [first.tried_us]
        while len(times) < 3:
            until(lambda: said(one).tried_us != times[-1])
            times.append(said(one).tried_us)
    finally:
        carrier.close()
    # An attempt takes a little; what lies between two doubles.
    assert times[2] - times[1] > times[1] - times[0] > 0.4e6


@pytest.mark.long
def test_a_line_that_is_dead_is_given_up_and_the_next_goes_on(
    full: Cart,  # noqa: F811  # a fixture
    lone: Postgres,  # noqa: F811  # a fixture
) -> None:
    """The server stops in the middle and its line stays: as behind a middle box that answers."""
    grown(full.day.bench.log, 20_000, 500)
    head = full.day.bench.log.head.seq
    carrier = Carrier(full.day.path, every_s=0.05, silent_s=2.0)
    stopped: list[int] = []
    try:
        with lone.owner() as owner:
            until(lambda: count(owner, full)[0] > 0)
        for pid in children(lone.process.pid):
            os.kill(pid, signal.SIGSTOP)
            stopped.append(pid)
        begun = time.monotonic()
        until(lambda: said(full).failed)
        assert time.monotonic() - begun > 1.5
        for pid in stopped:
            os.kill(pid, signal.SIGCONT)
        until(lambda: said(full).seq == head, 60)
    finally:
        for pid in stopped:
            if not gone(pid):
                os.kill(pid, signal.SIGCONT)
        carrier.close()
    with lone.owner() as owner:
        assert count(owner, full) == (head + 1, head)


@pytest.mark.parametrize("how", ["killed", pytest.param("closed", marks=pytest.mark.long)])
def test_nothing_outlives_the_program(cart: Carts, tmp_path: Path, how: str) -> None:
    """Whoever starts it is killed while an attempt hangs."""
    one = cart("carried")
    # A server that takes the line and says nothing.
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen()
        join(Joined(f"127.0.0.1:{deaf.getsockname()[1]}", one.name), one.name, one.day.path)
        script = (
            "import sys\nfrom pathlib import Path\n"
            "from cartclock.engine.joined.carrying import Carrier\n"
            "one = Carrier(Path(sys.argv[1]))\nprint(one.pid, flush=True)\n"
            "sys.stdin.read()\none.close()\n"
        )
        with subprocess.Popen(
            [sys.executable, "-c", script, str(one.day.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        ) as program:
            assert program.stdin is not None and program.stdout is not None
            pid = int(program.stdout.readline())
            deaf.settimeout(20)
            line, _where = deaf.accept()
            with line:
                (attempt,) = children(pid)
                if how == "killed":
                    program.kill()
                else:
                    program.stdin.close()
                until(lambda: gone(pid) and gone(attempt), 5)


@pytest.mark.long
def test_an_attempt_ends_with_the_process_that_minds_it(cart: Carts) -> None:
    one = cart("carried")
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))
        deaf.listen()
        deaf.settimeout(20)
        join(Joined(f"127.0.0.1:{deaf.getsockname()[1]}", one.name), one.name, one.day.path)
        carrier = Carrier(one.day.path)
        line, _where = deaf.accept()
        with line:
            (attempt,) = children(carrier.pid)
            os.kill(carrier.pid, signal.SIGKILL)
            until(lambda: gone(attempt), 5)
        carrier.close()
