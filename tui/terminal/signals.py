"""The signals that end a program, and what it says of them."""

from __future__ import annotations

import signal

# Exit codes of a process that a signal ended, as shells tell them: 128 and its number.
BY_SIGNAL = 128
# Windows knows no hang-up.
ENDING = tuple(one for one in signal.Signals if one.name in {"SIGTERM", "SIGHUP", "SIGINT"})
