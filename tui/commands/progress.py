"""How far something is that takes more than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

# How often progress is said, and how wide its line is at most.
_EVERY_S = 0.5
_WIDE = 50


@contextmanager
def progress() -> Iterator[Callable[[str, float], None]]:
    """Says on a terminal what is being done, from the second second on."""
    begun = last = time.monotonic()
    shown = False

    def told(what: str, part: float) -> None:
        nonlocal last, shown
        now = time.monotonic()
        if sys.stderr.isatty() and now - begun > 1 and now - last > _EVERY_S:
            last, shown = now, True
            click.echo(f"\r{what}: {part:.0%}".ljust(_WIDE), nl=False, err=True)

    try:
        yield told
    finally:
        if shown:
            click.echo("\r" + " " * _WIDE + "\r", nl=False, err=True)
