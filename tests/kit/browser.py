"""A headless Chromium that is told what to do through a pipe: the Chrome DevTools Protocol.

Not installed by the project; a test that asks for it is skipped, with the reason, where there is
none.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic, sleep
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
PATIENCE_S = 30.0


def chromium() -> str:
    """Its path; "" if there is none."""
    return next((found for name in NAMES if (found := shutil.which(name))), "")


class Tab:
    """One tab of a browser."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back = to, back
        self._number, self._rest = 0, b""
        self._session = ""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        attached = self.ask("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        self.problems: list[str] = []
        self.ask("Runtime.enable")
        self.ask("Log.enable")

    def ask(self, method: str, **what: Any) -> dict[str, Any]:
        """Sends a command; its result."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": what}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        ends_at = monotonic() + PATIENCE_S
        while True:
            heard = self._heard(ends_at)
            if heard.get("id") == self._number:
                assert "error" not in heard, (method, heard)
                found: dict[str, Any] = heard["result"]
                return found
            self._note(heard)

    def _note(self, heard: dict[str, Any]) -> None:
        if heard.get("method") == "Runtime.exceptionThrown":
            self.problems.append(json.dumps(heard["params"]))
        elif heard.get("method") == "Log.entryAdded":
            self.problems.append(heard["params"]["entry"]["text"])

    def _heard(self, ends_at: float) -> dict[str, Any]:
        while b"\0" not in self._rest:
            ready = select.select([self._back], [], [], max(0.0, ends_at - monotonic()))[0]
            assert ready, "The browser did not answer."
            news = os.read(self._back, 1 << 20)
            assert news, "The browser ended."
            self._rest += news
        line, _, self._rest = self._rest.partition(b"\0")
        heard: dict[str, Any] = json.loads(line)
        return heard

    def size(self, width: int, height: int, scale: float = 2.0, mobile: bool = True) -> None:
        """The size of its screen in CSS pixels."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=scale,
            mobile=mobile,
        )

    def prefer(self, **features: str) -> None:
        """What its user prefers, as media features with underscores."""
        told = [{"name": name.replace("_", "-"), "value": is_} for name, is_ in features.items()]
        self.ask("Emulation.setEmulatedMedia", features=told)

    def go(self, address: str) -> None:
        """Opens an address."""
        self.ask("Page.navigate", url=address)

    def of(self, expression: str) -> Any:
        """The value of an expression of JavaScript in the page."""
        found = self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        return found["result"].get("value")

    def until(self, expression: str, seconds: float = PATIENCE_S) -> float:
        """Waits until it is true; how many seconds that took."""
        began = monotonic()
        while not self.of(expression):
            assert monotonic() - began < seconds, (expression, self.of("document.body.innerText"))
            sleep(0.02)
        return monotonic() - began

    def picture(self, to: Path) -> None:
        """Its screen as a PNG."""
        to.write_bytes(base64.b64decode(self.ask("Page.captureScreenshot")["data"]))


@contextmanager
def browser() -> Iterator[Tab]:
    """A browser of its own with one tab, which leaves nothing behind."""
    (there, to), (back, from_) = os.pipe(), os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:

        def wired() -> None:
            # It takes commands from file 3 and answers on file 4.
            os.dup2(low, 3)
            os.dup2(high, 4)

        # Out of the way of both.
        low, high = (fcntl.fcntl(one, fcntl.F_DUPFD, 10) for one in (there, from_))
        words = [
            chromium(),
            "--headless=new",
            "--remote-debugging-pipe",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            f"--user-data-dir={profile}",
        ]
        child = subprocess.Popen(
            words,
            preexec_fn=wired,
            pass_fds=(3, 4),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for one in (there, from_, low, high):
            os.close(one)
        try:
            tab = Tab(to, back)
            yield tab
            with suppress(AssertionError, OSError):
                tab.ask("Browser.close")
        finally:
            with suppress(subprocess.TimeoutExpired):
                child.wait(5)
            child.kill()
            child.wait()
            os.close(to)
            os.close(back)
