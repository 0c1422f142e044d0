"""Packs and stock, mixes, what may not meet, what to remind of. Pure."""
