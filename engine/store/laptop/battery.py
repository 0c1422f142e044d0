"""The battery, where the system tells of it: how full, and whether it runs down.

Linux lists it under /sys/class/power_supply (kernel documentation, sysfs-class-power; from
memory), macOS prints it with `pmset -g batt` (from memory). Reading may take a while on some
laptops: do it in a thread.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from msgspec import Struct

SUPPLIES = Path("/sys/class/power_supply")
# Percent below which it is said, and below which it presses. Our own judgement.
LOW_PERCENT = 20
URGENT_PERCENT = 8
_TIMEOUT_S = 5.0
_PERCENT = re.compile(r"(\d{1,3})%;\s*([a-z ]+);")


class Battery(Struct, frozen=True):
    """How the battery stands.

    Fields:
        percent: how full, 0 to 100; of several batteries, all together.
        discharging: True if it runs down.
    """

    percent: int
    discharging: bool

    @property
    def low(self) -> bool:
        """True if the worker should be told."""
        return self.discharging and self.percent < LOW_PERCENT

    @property
    def urgent(self) -> bool:
        """True if the screen will soon be dark."""
        return self.discharging and self.percent < URGENT_PERCENT

    @property
    def sentence(self) -> str:
        """What is to be said; "" if nothing."""
        if not self.low:
            return ""
        return f"battery {self.percent} %: plug in{' now' if self.urgent else ''}"


def battery(supplies: Path = SUPPLIES, platform: str = sys.platform) -> Battery | None:
    """How the battery stands now; None if there is none or the system does not tell.

    Raises nothing.
    """
    try:
        if platform == "darwin":
            return printed_battery(_pmset())
        return _listed(supplies)
    # The files come and go with the hardware, and hold what its firmware says.
    except (OSError, ValueError, subprocess.SubprocessError):
        return None


def printed_battery(text: str) -> Battery | None:
    """What `pmset -g batt` printed; None if it names no battery."""
    found = _PERCENT.search(text)
    if found is None or int(found[1]) > 100:
        return None
    return Battery(int(found[1]), found[2].strip() == "discharging")


def _pmset() -> str:
    done = subprocess.run(
        ("pmset", "-g", "batt"),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=_TIMEOUT_S,
        check=True,
    )
    return done.stdout.decode("utf-8", "replace")


def _listed(supplies: Path) -> Battery | None:
    """All batteries of the laptop itself together."""
    found = [folder for folder in sorted(supplies.iterdir()) if _is_own(folder)]
    parts = [part for folder in found if (part := _part(folder)) is not None]
    if not parts:
        return None
    weights = [weight for _percent, weight in parts]
    # A battery that does not say how large it is counts as much as the others do on average.
    told = [weight for weight in weights if weight]
    usual = sum(told) / len(told) if told else 1.0
    sizes = [weight or usual for weight in weights]
    percent = sum(part * size for (part, _weight), size in zip(parts, sizes, strict=True)) / sum(
        sizes
    )
    discharging = any(_text(folder / "status") == "Discharging" for folder in found)
    return Battery(int(percent), discharging)


def _is_own(folder: Path) -> bool:
    # The battery of a mouse or a headset has the scope "Device".
    return _text(folder / "type") == "Battery" and _text(folder / "scope") != "Device"


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="ascii", errors="replace").strip()
    except OSError:
        return ""


def _part(folder: Path) -> tuple[int, int] | None:
    """Percent and, in microwatthours, what it holds when full, 0 if it does not say."""
    percent, full = _text(folder / "capacity"), _text(folder / "energy_full")
    if not percent.isdecimal() or int(percent) > 100:
        return None
    return int(percent), int(full) if full.isdecimal() else 0
