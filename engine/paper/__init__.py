"""Floor 2: papers. They set what engine.job has found; they decide nothing."""
