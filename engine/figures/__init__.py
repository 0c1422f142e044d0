"""Floor 0: published formulas, no more than the standard library and msgspec. Pure."""
