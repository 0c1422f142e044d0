"""What a whole number of microseconds is: an instant of job time, or a length of time."""

from __future__ import annotations

from typing import NewType

# Microseconds between two instants, negative where the second comes first. Every other field
# that ends in `_us` is an instant, microseconds since 1970-01-01 UTC.
Length = NewType("Length", int)
