"""To which shop a cart belongs: a small file beside its log, and beside that its password."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec import Struct

from cartclock.engine.joined.carried import carried_file
from cartclock.engine.joined.carts import carts_file
from cartclock.engine.joined.faults import ShopFault
from cartclock.engine.joined.known import known_file
from cartclock.engine.store.plain_text import plain_text
from cartclock.engine.store.whole_file import replaced_file
from cartclock.engine.trouble import Refused

# A password as the password file takes it: a colon or a backslash has one before it, a line is one.
_MARKED = str.maketrans({":": r"\:", "\\": r"\\"})


class Joined(Struct, frozen=True, forbid_unknown_fields=True):
    """The shop that a cart belongs to.

    Fields:
        server: host name or address of the shop's PostgreSQL, with `:port` if it is not 5432; more
            of them, with commas between, are tried in turn, and the one that can be written to is
            taken.
        cart: the login of this cart there.
        database: its name there.
        private: whether names, plates, phones and notes of customers are sent as well.
    """

    server: str
    cart: str
    database: str = "shop"
    private: bool = False

    @property
    def hosts(self) -> tuple[tuple[str, str], ...]:
        """(host, port) of each server."""
        found = []
        for one in self.server.split(","):
            host, colon, port = one.strip().rpartition(":")
            found.append((host, port) if colon and port.isdecimal() else (one.strip(), "5432"))
        return tuple(found)


def membership_file(log: Path) -> Path:
    """Where it stands."""
    return log.with_name("shop.json")


def passfile(log: Path) -> Path:
    """Where the password of the cart stands, in the format of PostgreSQL's password file, for its
    owner's eyes: the library that connects passes over a file that others may read."""
    return log.with_name("shop.pass")


def root_certificate(log: Path) -> Path:
    """Where the certificate is that vouches for the server, if it is not one of the system's."""
    return log.with_name("shop-root.pem")


def membership(log: Path) -> Joined:
    """The shop of the cart whose log this is. Raises ShopFault if it belongs to none, or the file
    does not say to which."""
    file = membership_file(log)
    try:
        return msgspec.json.decode(plain_text(file), type=Joined)
    except FileNotFoundError:
        raise ShopFault(
            "This cart belongs to no shop; cartclock shop join says to which it does."
        ) from None
    except (OSError, UnicodeDecodeError, msgspec.DecodeError) as why:
        raise ShopFault(
            f"{file} does not say to which shop this cart belongs ({why}); cartclock shop join "
            "writes it anew."
        ) from why


def join(joined: Joined, password: str, log: Path) -> None:
    """Writes down to which shop a cart belongs, and its password, both for their owner's eyes.

    Raises Refused for what cannot be a server, a login or a password.
    """
    if not joined.cart or not all(host for host, _port in joined.hosts):
        raise Refused("Name the server of the shop and the login of this cart there.")
    if not password or "\n" in password or "\r" in password or "\0" in password:
        raise Refused("A password is one line that is not empty.")
    words = (joined.cart, password)
    cart, secret = (word.translate(_MARKED) for word in words)
    replaced_file(passfile(log), f"*:*:*:{cart}:{secret}\n".encode())
    text = msgspec.json.format(msgspec.json.encode(joined), indent=2).decode()
    replaced_file(membership_file(log), f"{text}\n".encode())


def leave_shop(log: Path) -> bool:
    """The cart belongs to no shop any more; False if it belonged to none. What the shop has stays
    there."""
    found = membership_file(log).exists()
    brought = carried_file(log), known_file(log), carts_file(log)
    for file in (membership_file(log), passfile(log), *brought):
        with suppress(FileNotFoundError):
            file.unlink()
    return found
