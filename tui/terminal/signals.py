"""The signals that end a program, and what it says of them."""

from __future__ import annotations

import signal
import sys

# Exit codes of a process that a signal ended, as shells tell them: 128 and its number.
BY_SIGNAL = 128

if sys.platform == "win32":
    ENDING = (signal.SIGTERM, signal.SIGINT)
else:
    ENDING = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT)
