"""Documents in every form. They set what engine.record has found; they decide nothing."""
