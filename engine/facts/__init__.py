"""What was decided, told or found: events, rows, and the folds of a job and a shift. Pure."""
