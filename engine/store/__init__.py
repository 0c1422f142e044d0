"""The disk: the log and its codec, settings, plan files, the laptop's own devices."""
