"""Floor 1: what a job and a shift are. Pure: no clock, no disk, no randomness."""
