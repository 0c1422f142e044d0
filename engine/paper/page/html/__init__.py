"""A paper as HTML: the medium, and how each element is set in it."""
