"""Floor 2: documents as strings. They set what engine.job has found; they decide nothing."""
