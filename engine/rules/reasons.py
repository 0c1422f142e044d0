"""What may be said for going on where a rule asks: reasons that fit the rule, by its id.

What is picked goes into the log and into the record, so none is offered that could not be meant.
Free words are offered behind all of them by whoever asks.
"""

from __future__ import annotations

from collections.abc import Mapping

from cartclock.engine.films.gate import CONDITION, GATE, READING_ENDS
from cartclock.engine.films.undone import UNDONE
from cartclock.engine.rules.film_left import FILM_LEFT
from cartclock.engine.rules.rest_in_wave import REST_DUE, REST_IN_WAVE

# Of a rule without a row of its own.
_MINE = ("I know and take it on me",)
_CLIMATE = (*_MINE, "the label of the pack allows it", "the customer wants it")

REASONS: Mapping[str, tuple[str, ...]] = {
    GATE: _CLIMATE,
    CONDITION: _CLIMATE,
    UNDONE: (
        "not needed under this coat",
        "panel by panel, the rest later",
        "it is done, not written down",
    ),
    FILM_LEFT: ("somebody else works it", "it will be done again"),
    "first_use": ("read",),
    "handover_early": ("the customer knows and keeps it dry", "it stays under cover until then"),
    "layer_early": (*_MINE, "the label of the pack allows it"),
    "not_looked": ("no time for it", "no light for it", "looked at, not written down"),
    READING_ENDS: ("nothing has changed here since", *_MINE),
    REST_IN_WAVE: ("I rest between two films", "I feel well and take it on me"),
    REST_DUE: ("this one first, then I rest", "I feel well and take it on me"),
    "unfinished": ("agreed with the customer", "no time, it is done another day", "not needed"),
    "window_open": ("somebody else works it", "it will be done again"),
}
"""Rule id -> what may be said, the likeliest first. Common practice, no source."""


def reasons_for(rule_id: str) -> tuple[str, ...]:
    """What may be said for going on although this rule asks; at least one."""
    return REASONS.get(rule_id, _MINE)
