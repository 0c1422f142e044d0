"""`cartclock show` as a whole, read by a plain client of HTTP."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from ipaddress import ip_address
from pathlib import Path

import pytest
import segno
from click.testing import CliRunner
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.engine.store.laptop.places import second_log
from cartclock.tui.commands import show as show_command
from cartclock.tui.commands.group import commands
from cartclock.tui.commands.show import own_address
from cartclock.tui.show.server import Server
from tests.house.test_docs import blocks, typed
from tests.kit.plans import COAT, opening
from tests.kit.second_screen import Shown, free_port, shown, streamed
from tests.kit.terminal import ROOT, run, terminal
from tests.kit.warm import CLI

pytestmark = [
    pytest.mark.waits,
    pytest.mark.skipif(sys.platform == "win32", reason="Windows was never tried"),
]
# The machine may have other work; what is promised is a second.
SOON_S = 3.0


def _bench(path: Path) -> Bench:
    found = Bench.open(path, SystemClock())
    found.do(rules.open_job, found.new_id(), opening(COAT))
    found.do(rules.clock_on, ClockedOn("", "29 CFR 785", "UTC", "acclimatized"))
    found.beat()
    return found


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A cart with a job, and a worker on the clock, by the machine's own clocks."""
    found = _bench(tmp_path / "log.db")
    yield found
    found.close()


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shown, Bench]]:
    """A second screen that is only looked at, and the log that it shows."""
    folder = tmp_path_factory.mktemp("looked at")
    found = _bench(folder / "log.db")
    with shown(folder, "--customer", "1") as screen:
        yield screen, found
    found.close()


def test_a_press_is_on_both_pages_within_a_second(bench: Bench, tmp_path: Path) -> None:
    with shown(tmp_path, "--customer", "1") as screen:
        with streamed(screen) as cart, streamed(screen, 1) as customer:
            assert cart.next()["matters"][0]["names"][0] == "NOTHING IN HAND"
            assert set(customer.next()) == {"at", "stage", "place", "ready"}
            (move, *_) = bench.moves()
            bench.do(rules.take_up, move)
            told, took_s = cart.until("word", "APPLY")
            assert told["matters"][0]["names"][0] == "BONNET LEFT"
            assert took_s < SOON_S
            assert customer.next()["stage"] == "Coat"
        assert screen.end() == ""


def test_it_follows_the_cart_through_a_restart_of_its_program(tmp_path: Path) -> None:
    first = _bench(tmp_path / "log.db")
    with shown(tmp_path) as screen, streamed(screen) as cart:
        cart.next()
        first.close()
        again = Bench.open(tmp_path / "log.db", SystemClock())
        again.wake()
        (move, *_) = again.moves()
        again.do(rules.take_up, move)
        _told, took_s = cart.until("word", "APPLY")
        assert took_s < SOON_S
        again.close()


@pytest.mark.skipif(sys.platform != "linux", reason="needs a pseudo-terminal as Linux has it")
def test_the_code_on_the_terminal_is_the_address(tmp_path: Path) -> None:
    _bench(tmp_path / "log.db").close()
    address = own_address()
    if not address:
        pytest.skip("this computer is in no net")
    words = ("-m", CLI, "show", "--address", address, "--port", str(free_port()))
    with terminal(tmp_path, *words, size=(100, 60)) as child:
        child.wait_for("Ctrl+C")
        text = child.wrote.decode()
    found = re.search(r"http://\S+", text)
    assert found is not None
    # Half blocks, two lines of the code in one: what is written is light, the rest is dark.
    rows = [line.strip("\r") for line in re.findall(r"\x1b\[97;40m(.*?)\x1b\[0m", text)]
    drawn = [[cell in half for cell in row] for row in rows for half in ("█▀", "█▄")]
    wanted = segno.make(found[0], error="m", micro=False).matrix_iter(border=4)
    light = [[not dark for dark in row] for row in wanted]
    assert drawn[: len(light)] == light
    assert own_address() in found[0]


def test_wrong_requests_are_refused_counted_and_told_without_what_was_sent(
    bench: Bench, tmp_path: Path
) -> None:
    with shown(tmp_path, "--customer", "1") as screen:
        cart, customer = screen.paths
        assert screen.ask(cart).status == 200
        wrong = "/Zebedee-XQ-123-Zebedee/"
        statuses = [screen.ask(path).status for path in (wrong, "/", "/%1b[2J", f"{cart}log.db")]
        assert statuses == [404] * 4
        assert screen.ask(cart, Host="cart.example:8737").status == 421
        assert screen.ask(f"{cart}events", Origin="http://shop.example").status == 403
        assert screen.ask(cart, method="POST").status == 400
        assert screen.ask(cart, Zebedee="x" * 20_000).status == 400
        # The address without its last slash leads to the page, whatever else does not.
        assert screen.ask(cart[:-1]).headers["Location"] == cart
        assert screen.ask(customer, method="HEAD").body == b""  # type: ignore[attr-defined]
        err = screen.end()
    assert re.findall(r"Refused: .*", err) == [
        "Refused: an address that opens no page.",
        "Refused: sent to another name than this address.",
        "Refused: sent by a foreign page.",
        "Refused: no request that is answered here.",
    ]
    assert "ebedee" not in err and "\x1b" not in err and "example" not in err


def test_pages_fetch_nothing_from_elsewhere(looked_at: tuple[Shown, Bench]) -> None:
    screen, _bench = looked_at
    for path in screen.paths:
        for file in ("", "page.css", "page.js"):
            answer = screen.ask(path + file)
            text = answer.body.decode()  # type: ignore[attr-defined]
            # The namespace of SVG is a name and not fetched.
            assert not re.search(r"(https?:)?//(?!www\.w3\.org/2000/svg)\w", text)
            assert not re.search(r"@import|@font-face|url\(|innerHTML|eval\(| style=", text)
            rule = answer.headers["Content-Security-Policy"]
            assert rule.startswith("default-src 'none'; ")
            assert "unsafe" not in rule and "*" not in rule
            assert answer.headers["Referrer-Policy"] == "no-referrer"
            assert answer.headers["Cache-Control"] == "no-store"
            assert answer.headers["X-Content-Type-Options"] == "nosniff"
            assert "Server" not in answer.headers
            assert not re.search(r"\b(safe|safely|compliant|compliance)\b", text, re.I)


def test_started_again_it_has_the_same_addresses_until_they_are_made_anew(
    bench: Bench, tmp_path: Path
) -> None:
    port = free_port()
    with shown(tmp_path, "--customer", "1", port=port) as screen:
        first = screen.addresses
        assert len(set(first)) == 2
        screen.end()
    with shown(tmp_path, port=port) as screen:
        assert screen.addresses == first[:1]
        # The page of a customer that nobody asked for is not served.
        assert screen.ask("/" + first[1].split("/", 3)[3]).status == 404
    with shown(tmp_path, "--anew", port=port) as screen:
        assert screen.addresses[0] not in first
        assert screen.ask("/" + first[0].split("/", 3)[3]).status == 404


def test_a_log_that_is_moved_is_lost_and_the_one_in_its_place_is_followed(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    _bench(log).close()
    with shown(tmp_path) as screen, streamed(screen) as cart:
        at = cart.next()["at"]
        (tmp_path / "aside").mkdir()
        for path in tmp_path.glob("log.db*"):
            path.rename(tmp_path / "aside" / path.name)
        lost, took_s = cart.until("lost")
        assert took_s < SOON_S
        assert re.fullmatch(r"\d\d:\d\d", lost["lost"]) and lost["lost"] >= at
        second = _bench(second_log(log, 2, "0" * 64))
        (move, *_) = second.moves()
        second.do(rules.take_up, move)
        cart.until("word", "APPLY")
        second.close()


def test_it_writes_nothing_into_the_log(looked_at: tuple[Shown, Bench]) -> None:
    screen, bench = looked_at
    head = bench.log.head
    with streamed(screen) as cart:
        cart.next()
        cart.next()
    assert bench.log.refresh() == head


def test_every_command_of_the_manual_hands_out_its_pages(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench.open(tmp_path / "log.db", SystemClock())
    for number in range(1, 13):
        job = replace(opening(COAT), number=number)
        bench.do(rules.open_job, bench.new_id(), job)
    bench.close()
    served: list[Server] = []

    def serve(server: Server, _listening: object) -> None:
        served.append(server)
        raise KeyboardInterrupt

    monkeypatch.setattr(show_command, "_serve", serve)
    # This process goes on.
    monkeypatch.setattr(os, "nice", lambda _by: 0)
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    (block,) = blocks("console", ROOT / "tui/show/SHOW.md")
    said = []
    for line in typed(block):
        # The address of the example is one of another computer's.
        name, *words = shlex.split(line.replace("192.168.1.20", "127.0.0.1"), comments=True)
        done = CliRunner().invoke(commands, [*words, "--port", str(free_port())])
        assert (name, done.exit_code, done.stderr) == ("cartclock", 0, ""), line
        said.append(re.findall(r"http://[^/]+/(\S+)/", done.stdout))
    alone, carried, both, anew = said
    assert alone == carried == both[:1]
    assert (len(both), len(anew)) == (2, 1)
    assert anew != alone
    assert len(served) == 4


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="needs Linux's list of sockets")
def test_it_listens_on_this_computer_alone_unless_told_otherwise(
    looked_at: tuple[Shown, Bench],
) -> None:
    screen, _bench = looked_at
    assert _inet(screen.child.pid) == {f"0100007F:{screen.port:04X}"}


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="needs Linux's list of sockets")
def test_no_socket_is_open_unless_it_is_asked_for(bench: Bench, tmp_path: Path) -> None:
    with terminal(tmp_path, warm=True) as child:
        child.wait_for("keys")
        assert _inet(child.child.pid) == set()
    loaded = (
        "import sys, cartclock.tui.app, cartclock.tui.commands.group as g, click\n"
        "for name in g.commands.list_commands(click.Context(g.commands)):\n"
        "    g.commands.get_command(click.Context(g.commands), name)\n"
        "own = ('h11', 'segno', 'cartclock.tui.show')\n"
        "print([name for name in sys.modules if name.startswith(own)])"
    )
    done = subprocess.run(
        [sys.executable, "-c", loaded], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"


def _sockets(pid: int) -> set[str]:
    """The sockets of a process, by their numbers."""
    found = set()
    for link in Path(f"/proc/{pid}/fd").iterdir():
        try:
            name = str(link.readlink())
        except FileNotFoundError:
            continue
        if name.startswith("socket:"):
            found.add(name[8:-1])
    return found


def _inet(pid: int) -> set[str]:
    """Local addresses of a process's sockets that lead anywhere, as Linux lists them."""
    own, found = _sockets(pid), set()
    for table in ("tcp", "tcp6", "udp", "udp6"):
        for line in Path(f"/proc/{pid}/net/{table}").read_text().splitlines()[1:]:
            parts = line.split()
            if parts[9] in own:
                found.add(parts[1])
    return found


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--address", "0.0.0.0"), "is every address; give one"),
        (("--address", "::"), "is every address; give one"),
        (("--address", "cart.example"), "is no address; write it like 192.168.1.20"),
        (("--address", "192.0.2.77"), "The system did not take it"),
        (("--customer", "9"), "There is no job 9"),
        (("--port", "0"), "0 is not in the range"),
    ],
)
def test_what_cannot_be_served_is_said(
    bench: Bench,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
    said: str,
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path))
    done = CliRunner().invoke(commands, ["show", *words])
    assert done.exit_code in (1, 2)
    assert said in done.stderr
    assert done.stdout == ""


def test_without_a_log_there_is_nothing_to_show(tmp_path: Path) -> None:
    done = run(tmp_path, "show")
    assert (done.returncode, done.stdout) == (1, "")
    assert "There is no log yet" in done.stderr


def test_loopback_says_how_another_device_gets_here(looked_at: tuple[Shown, Bench]) -> None:
    screen, _bench = looked_at
    (said,) = (line for line in screen.said if "--address" in line)
    address = said.rpartition("--address ")[2].rstrip(".")
    assert address == "and its address" or not ip_address(address).is_loopback
