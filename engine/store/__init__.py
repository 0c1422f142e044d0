"""Floor 2: the disk. The log, its codec, plan files and settings."""
