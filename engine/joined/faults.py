"""What a shop's server says, as sentences for who stands at the cart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cartclock.engine.trouble import StoreFault

if TYPE_CHECKING:
    import psycopg

# SQLSTATEs of the functions in sql/, which say the rest of the sentence.
_OURS = {
    "CC001": "The shop does not take it from this cart: {said}.",
    "CC002": "The shop lacks rows: {said}; send again.",
    "CC003": "The log is not whole: {said}; cartclock check-log says where.",
    "CC004": (
        "This log and what the shop has of it have parted: {said}. Nothing was sent; all is on "
        "this cart."
    ),
}
# Of handing over.
_HANDED = {
    "CC006": "{said}; cartclock shop jobs lists what there is",
    "CC007": "{said}; look again who has it",
    "CC008": (
        "{said}. Where that cart says nothing any more and never will, cartclock shop take "
        "--silent takes it all the same"
    ),
}
# Classes and codes of PostgreSQL, appendix A.
_THEIRS = {
    "08": "the line to it, or to the node that this shop is on, broke; send again later",
    "28": "the shop does not let this cart in; look at the password beside the log",
    "3D": "there is no such database; cartclock shop join names another",
    "3F": "it has no tables of cartclock; its owner runs cartclock shop tables",
    "42": "its tables are of another version; its owner runs cartclock shop tables",
    "40": "another cart was at it at the same instant; do it again",
    "53": "it has no room for another one; send again later",
    "57": "it was shut down meanwhile; send again later",
}
# A line that does not come about has no code: what the server says of it, in English as it does
# unless its owner chose another language, and the class of it.
_AT_THE_DOOR = (
    ("password authentication failed", "28"),
    ("is not permitted to log in", "28"),
    ("no pg_hba.conf entry", "28"),
    ("does not exist", "3D"),
    ("too many connections", "53"),
    ("too many clients", "53"),
    ("is starting up", "57"),
    ("is shutting down", "57"),
)


class ShopFault(StoreFault):
    """The shop's server was not reached, or does not take what was sent. Nothing was lost."""


class Parted(ShopFault):
    """The shop has other rows of this log than this cart."""


def shop_fault(error: psycopg.Error) -> ShopFault:
    """What an error of the server or of the line to it means, as whole sentences."""
    said = " ".join(str(error).split("\nCONTEXT")[0].split()).rstrip(".")
    at_the_door = (state for text, state in _AT_THE_DOOR if "FATAL: " in said and text in said)
    state = error.sqlstate or next(at_the_door, "")
    if state in _HANDED:
        return ShopFault(f"Nothing was taken: {_HANDED[state].format(said=said)}.")
    if state in _OURS:
        kind = Parted if state == "CC004" else ShopFault
        return kind(_OURS[state].format(said=said))
    other = f"it refused ({state})" if state else "the line to it did not come about or broke"
    what = _THEIRS.get(state[:2], other)
    return ShopFault(f"Nothing was sent to the shop: {what} ({said}).")
