"""A process that has read everything the program reads at its start, and forks where it begins.

Two thirds of what a start on a terminal takes are imports, the same ones each time. Where a test
is not about the start, its program is a fork of this process: on its own terminal, in its own
session, with an environment and standard streams of its own, and it ends as any interpreter does.
Where the start is what counts, a test has it anew.

`python -m tests.kit.warm FD` reads requests from a socket until it is closed. Each is a line of
JSON with two descriptors, the terminal and a socket on which the number of the process and, when
it is over, its exit code are told.
"""

from __future__ import annotations

import atexit
import fcntl
import functools
import json
import os
import signal
import socket
import subprocess
import sys
import termios
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
CLI = "cartclock.tui.cli"
LONGEST = 65_536


class Forked:
    """A process as `subprocess.Popen` has it, whose parent is another one."""

    def __init__(self, told: socket.socket) -> None:
        self.pid = int(told.recv(LONGEST))
        told.setblocking(False)
        self._told = told
        self.returncode: int | None = None

    def poll(self) -> int | None:
        """The exit code; None while it runs."""
        if self.returncode is None:
            try:
                self.returncode = int(self._told.recv(LONGEST))
            except BlockingIOError:
                return None
            self._told.close()
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """Waits for the end."""
        ends_at = None if timeout is None else time.monotonic() + timeout
        while (code := self.poll()) is None:
            if ends_at is not None and time.monotonic() > ends_at:
                raise subprocess.TimeoutExpired("a fork", timeout or 0)
            time.sleep(0.002)
        return code

    def send_signal(self, number: int) -> None:
        """As long as it runs."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        """Ends it."""
        self.send_signal(signal.SIGKILL)


@functools.cache
def _warm() -> socket.socket:
    """Where the one of this process is asked; it ends with it."""
    here, there = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    names = ("TEXTUAL", "NO_COLOR", "COLORTERM", "COLUMNS", "LINES", "PYTEST")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(names)}
    with there:
        warm = subprocess.Popen(
            [sys.executable, "-m", __name__, str(there.fileno())],
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            env={**kept, "LANG": "C.UTF-8"},
            pass_fds=(there.fileno(),),
        )

    def end() -> None:
        here.close()
        warm.wait()

    atexit.register(end)
    return here


def forked(command: tuple[str, ...], env: dict[str, str], slave: int) -> Forked:
    """The program on a terminal.

    Args:
        command: words behind `python`: `-m cartclock.tui.cli` with more, or `-c` and a text.
        env: all of its environment.
        slave: the terminal.
    """
    here, there = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with there:
        request = json.dumps({"command": command, "env": env}).encode()
        socket.send_fds(_warm(), [request], [slave, there.fileno()])
    return Forked(here)


def _serve(asked: socket.socket) -> tuple[str, ...]:
    """Forks for every request; comes back with its command in the fork alone."""
    while True:
        request, (*fds,), _flags, _from = socket.recv_fds(asked, LONGEST, 2)
        if not request:
            os._exit(0)
        slave, told = fds
        keeper = os.fork()
        if not keeper:
            asked.close()
            program = os.fork()
            if program:
                os.close(slave)
                os.write(told, str(program).encode())
                _pid, status = os.waitpid(program, 0)
                os.write(told, str(os.waitstatus_to_exitcode(status)).encode())
                os._exit(0)
            os.close(told)
            return _begin(slave, **json.loads(request))
        os.close(slave)
        os.close(told)
        # The keepers that are done.
        while os.waitid(os.P_ALL, 0, os.WEXITED | os.WNOHANG):
            pass


def _begin(slave: int, command: list[str], env: dict[str, str]) -> tuple[str, ...]:
    """What an interpreter that was started there would have."""
    os.setsid()
    fcntl.ioctl(slave, termios.TIOCSCTTY, 0)
    for fd in range(3):
        os.dup2(slave, fd)
    os.close(slave)
    os.environ.clear()
    os.environ.update(env)
    sys.stdin = sys.__stdin__ = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115  # to the end
    sys.stdout = sys.__stdout__ = open(1, "w", 1, "utf-8", closefd=False)  # noqa: SIM115
    sys.stderr = sys.__stderr__ = open(2, "w", 1, "utf-8", "backslashreplace", closefd=False)  # noqa: SIM115
    return tuple(command)


def _load() -> None:
    """Everything a start on a terminal imports, in its order."""
    from cartclock.tui.commands import first, start

    start._load_loop()
    from cartclock.engine.desk import bench, shop
    from cartclock.tui import app
    from cartclock.tui.terminal import driver, ground, raw, signals

    assert all((first, bench, shop, app, driver, ground, raw, signals))


if __name__ == "__main__":
    _load()
    how, *words = _serve(socket.socket(fileno=int(sys.argv[1])))
    if how == "-c":
        sys.argv = ["-c"]
        exec(words[0], {"__name__": "__main__"})
    else:
        from cartclock.tui.cli import main

        assert (how, words[0]) == ("-m", CLI)
        sys.argv = [CLI, *words[1:]]
        main()
