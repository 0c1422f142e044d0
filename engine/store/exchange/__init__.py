"""A job as a file that another cart takes in: written, checked, and joined to a log."""
