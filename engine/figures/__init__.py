"""Published formulas, no more than the standard library and msgspec. Pure."""
