"""The program as it is called at a prompt."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def cartclock_on_path(folder: Path) -> str:
    """What PATH is in a shell that finds `cartclock`; the program lies in a folder `bin` of this
    one, which is made.
    """
    tools = folder / "bin"
    tools.mkdir()
    program = tools / "cartclock"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m cartclock.tui.cli "$@"\n')
    program.chmod(0o755)
    return f"{tools}:{os.environ['PATH']}"
