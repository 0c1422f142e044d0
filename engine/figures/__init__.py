"""Floor 0: published formulas, standard library only. Pure."""
