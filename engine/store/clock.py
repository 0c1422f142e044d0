"""What time it is: the evidence a press carries, and a clock for tests and demos.

Two clocks are read together. The wall clock says which day it is and can be set by
anybody; the boot clock counts on through suspend and knows nothing of dates. Job time
(`engine.facts.rows.job_time`) is made of both.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import Protocol

from cartclock.engine.facts.rows import Evidence
from cartclock.engine.store.codec import fresh_id
from cartclock.engine.times import Instant


class Clock(Protocol):
    """Anything that can be asked for evidence."""

    def read(self) -> Evidence:
        """The two clocks now."""
        ...


def _boot_id() -> str:
    path = Path("/proc/sys/kernel/random/boot_id")
    if path.exists():
        return path.read_text().strip()
    if sys.platform == "darwin":
        # sysctl name from memory; where it fails the process run stands in for the boot.
        import ctypes

        size = ctypes.c_size_t(64)
        text = ctypes.create_string_buffer(64)
        libc = ctypes.CDLL(None)
        if libc.sysctlbyname(b"kern.bootsessionuuid", text, ctypes.byref(size), None, 0) == 0:
            return text.value.decode()
    return f"run-{fresh_id(os.urandom)}"


def _tick_us() -> int:
    if sys.platform == "linux":
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1000
    if sys.platform == "win32":
        import ctypes

        ticks: int = ctypes.windll.kernel32.GetTickCount64()
        return ticks * 1000
    # macOS: CLOCK_MONOTONIC counts through sleep there, time.monotonic() does not.
    return time.clock_gettime_ns(time.CLOCK_MONOTONIC) // 1000


class SystemClock:
    """The machine's own clocks."""

    def __init__(self) -> None:
        self._boot = _boot_id()

    def read(self) -> Evidence:
        """The two clocks now."""
        return Evidence(
            wall_us=Instant(time.time_ns() // 1000), boot=self._boot, tick_us=_tick_us()
        )


class HandClock:
    """A clock wound by hand, for tests and demo sessions."""

    def __init__(self, wall_us: int, boot: str = "boot-1", tick_us: int = 0) -> None:
        self.wall_us = wall_us
        self.boot = boot
        self.tick_us = tick_us

    def read(self) -> Evidence:
        """The two clocks as they were last wound."""
        return Evidence(wall_us=Instant(self.wall_us), boot=self.boot, tick_us=self.tick_us)

    def wind(self, seconds: float) -> None:
        """Let time pass on both clocks; seconds >= 0."""
        step = round(seconds * 1_000_000)
        self.wall_us += step
        self.tick_us += step

    def set_wall(self, seconds: float) -> None:
        """Step the wall clock alone, forward or back, as a person or a time server does."""
        self.wall_us += round(seconds * 1_000_000)

    def reboot(self, boot: str, seconds: float = 0.0) -> None:
        """The machine was off for `seconds`: a new boot whose tick begins anew."""
        self.wall_us += round(seconds * 1_000_000)
        self.boot = boot
        self.tick_us = 0
