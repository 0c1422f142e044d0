"""`cartclock show` in a process of its own, and a plain client of HTTP that reads its pages."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from time import monotonic
from typing import Any

from tests.kit.terminal import ROOT

PATIENCE_S = 20.0


def free_port() -> int:
    """A port that nobody listens on now."""
    with socket.create_server(("127.0.0.1", 0)) as found:
        port: int = found.getsockname()[1]
        return port


class Shown:
    """A second screen that runs.

    Fields:
        said: the lines it said before it served.
        addresses: of its pages, the cart's first.
    """

    def __init__(self, child: subprocess.Popen[str], port: int) -> None:
        self.child, self.port = child, port
        self.said: list[str] = []
        assert child.stdout is not None
        while not self.said or not self.said[-1].startswith("Ctrl+C"):
            line = child.stdout.readline()
            assert line, (self.said, child.stderr and child.stderr.read())
            self.said.append(line.rstrip("\n"))
        found = (re.search(r"http://\S+", line) for line in self.said)
        self.addresses = [one[0] for one in found if one]

    @property
    def paths(self) -> list[str]:
        """The paths of its pages."""
        return ["/" + one.split("/", 3)[3] for one in self.addresses]

    def ask(self, path: str, method: str = "GET", **headers: str) -> HTTPResponse:
        """The answer to a request; its body is read."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        connection.request(method, path, headers=headers)
        answer = connection.getresponse()
        answer.body = answer.read()  # type: ignore[attr-defined]  # for whoever looks later
        connection.close()
        return answer

    def end(self) -> str:
        """Interrupts it; what it said on stderr."""
        self.child.send_signal(signal.SIGINT)
        _out, err = self.child.communicate(timeout=PATIENCE_S)
        assert self.child.returncode == 0, err
        return err


class Stream:
    """A stream of events of a page."""

    def __init__(self, port: int, path: str) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
        self._connection.request("GET", f"{path}events")
        self.answer = self._connection.getresponse()

    def next(self) -> dict[str, Any]:
        """The next event."""
        line = self.answer.readline()
        assert self.answer.readline() == b"\n"
        told: dict[str, Any] = json.loads(line.removeprefix(b"data: "))
        return told

    def until(self, key: str, value: str = "") -> tuple[dict[str, Any], float]:
        """The next event that has such a key, or a first matter in which it says so; and how many
        seconds it took.
        """
        began = monotonic()
        while monotonic() - began < PATIENCE_S:
            told = self.next()
            if key in told or told.get("matters", [{}])[0].get(key) == value:
                return told, monotonic() - began
        raise AssertionError(f"{key} {value} never came")

    def close(self) -> None:
        """Ends it."""
        self.answer.close()
        self._connection.close()


@contextmanager
def shown(home: Path, *words: str, port: int = 0) -> Iterator[Shown]:
    """The second screen of the log in a folder."""
    port = port or free_port()
    child = subprocess.Popen(
        [sys.executable, "-m", "cartclock.tui.cli", "show", "--port", str(port), *words],
        cwd=ROOT,
        env={**os.environ, "CARTCLOCK_HOME": str(home)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield Shown(child, port)
    finally:
        child.kill()
        child.communicate()


@contextmanager
def streamed(screen: Shown, page: int = 0) -> Iterator[Stream]:
    """The events of one of its pages."""
    stream = Stream(screen.port, screen.paths[page])
    try:
        yield stream
    finally:
        stream.close()
