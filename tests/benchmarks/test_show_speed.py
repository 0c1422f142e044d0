"""What a thousand connections to the second screen cost the cart: the time of a press.

Measured in turns on one program, with a second screen that is only looked at and with one that is
flooded. Whoever floods is another computer in life; here it has what the machine leaves over.

    python -m pytest -m long tests/benchmarks/test_show_speed.py -s
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import monotonic, sleep

import pytest

from tests.benchmarks.test_terminal_speed import SIZE, Ratio, Watched, cpu_s, on_screen, told
from tests.kit.busy import busy_log
from tests.kit.second_screen import Shown, shown, streamed
from tests.kit.terminal import terminal

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(sys.platform != "linux", reason="reads what Linux says of a process"),
]
ROUNDS, CONNECTIONS = 10, 1000
# As it was, with room for a machine that is never quiet.
MOST = 1.25
# A thousand at a time, each with a wrong token, and another one as soon as it is refused; every
# fourth sends nothing and holds on.
FLOOD = f"""
import asyncio, os, resource, sys
os.nice(19)
resource.setrlimit(resource.RLIMIT_NOFILE, (4096, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
port = int(sys.argv[1])
done = 0
async def one(number):
    global done
    while True:
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", port)
            if number % 4:
                asks = "GET /" + "A" * 22 + "/ HTTP/1.1"
                writer.write(f"{{asks}}\\r\\nHost: 127.0.0.1:{{port}}\\r\\n\\r\\n".encode())
            await reader.read()
            writer.close()
        except OSError:
            pass
        done += 1
        await asyncio.sleep(0.05)
async def main():
    for number in range({CONNECTIONS}):
        asyncio.create_task(one(number))
    print("floods", flush=True)
    await asyncio.Event().wait()
asyncio.run(main())
"""


def flood(screen: Shown) -> subprocess.Popen[str]:
    """A process that floods it, stopped."""
    child = subprocess.Popen(
        [sys.executable, "-c", FLOOD, str(screen.port)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "floods\n"
    return child


def core_s(pid: int) -> float:
    """Seconds of a core that a process has used."""
    return int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) / 1e9


def test_a_thousand_connections_leave_the_press_as_it_was(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    busy_log(tmp_path)
    took: dict[str, list[float]] = {"quiet": [], "flooded": []}
    with (
        terminal(tmp_path, size=SIZE, own=False) as child,
        shown(tmp_path) as screen,
        streamed(screen) as page,
    ):
        watched = Watched(child)
        on_screen(child)
        flooding = flood(screen)
        try:
            for _ in range(ROUNDS):
                os.kill(flooding.pid, signal.SIGSTOP)
                watched.pause(1.0)
                took["quiet"].append(watched.answered())
                os.kill(flooding.pid, signal.SIGCONT)
                watched.pause(1.0)
                took["flooded"].append(watched.answered())
            used, since = core_s(screen.child.pid), monotonic()
            sleep(5.0)
            share = (core_s(screen.child.pid) - used) / (monotonic() - since)
            # Whoever looked on still does, and hears it as soon.
            began = monotonic()
            page.next()
            page.next()
            heard_s = monotonic() - began
        finally:
            flooding.kill()
            flooding.communicate()
        cart_s = cpu_s(child)
        refused = screen.end()
    ratio = Ratio(took["flooded"], took["quiet"])
    told(
        capsys,
        f"press to painted: {median(took['quiet']) * 1000:.1f} ms, with {CONNECTIONS} connections "
        f"{median(took['flooded']) * 1000:.1f} ms; ratio {ratio} (most {MOST}); the second screen "
        f"takes {share:.0%} of a core, the cart took {cart_s:.1f} s",
    )
    assert ratio.paired < MOST
    assert heard_s < 5.0
    assert share < 0.5
    assert "Refused: an address that opens no page" in refused
    assert len(refused.splitlines()) < 20
