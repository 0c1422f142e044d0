"""The door: commands, exit codes, what is said to a shell."""
