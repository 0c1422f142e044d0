"""What a whole number of microseconds is: an instant of job time, or a length of time."""

from __future__ import annotations

from typing import NewType

# Microseconds of job time since 1970-01-01 UTC.
Instant = NewType("Instant", int)

# Microseconds between two instants, negative where the second comes first.
Length = NewType("Length", int)
