"""Floors 4 and 5: the screens and the door."""
