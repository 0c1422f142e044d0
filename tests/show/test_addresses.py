"""Which requests of the second screen are answered, and which are refused and why."""

from __future__ import annotations

import os
from ipaddress import ip_address
from pathlib import Path

import pytest

from cartclock.engine.store.laptop.show_key import SHOW_KEY_BYTES, show_key
from cartclock.engine.trouble import StoreFault
from cartclock.tui.show.addresses import Opened, Why, opened, site, token

KEY = bytes(range(SHOW_KEY_BYTES))
CART, CUSTOMER = token(KEY, "cart"), token(KEY, "customer/a")
THERE = site(KEY, ["cart", "customer/a"], ip_address("192.168.1.20"), 8737)
HOST = (b"host", b"192.168.1.20:8737")


def ask(path: str, *headers: tuple[bytes, bytes], method: bytes = b"GET") -> Opened | Why:
    return opened(THERE, method, path.encode(), [HOST, *headers])


def test_each_page_has_a_token_of_its_own_and_none_opens_another() -> None:
    assert ask(f"/{CART}/") == Opened("cart", "")
    assert ask(f"/{CUSTOMER}/events") == Opened("customer/a", "events")
    assert len({CART, CUSTOMER, token(KEY, "customer/b"), token(KEY[::-1], "cart")}) == 4
    assert ask(f"/{token(KEY, 'customer/b')}/") == "address"
    assert ask(f"/{CART}") == Opened("cart", "", whole=False)


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "//",
        "/events",
        f"/{CART[:-1]}/",
        f"/{CART[:-1]}{'A' if CART[-1] != 'A' else 'B'}/",
        f"/{CART.swapcase()}/",
        f"/{CART}/../{CUSTOMER}/",
        f"/{CART}/page.css?x",
        f"/{CART}/log.db",
        f"/{CART}//events",
        f"http://192.168.1.20:8737/{CART}/",
        f"/%2e%2e/{CART}/",
        f"/{CART}/\n",
    ],
)
def test_no_other_address_opens_anything(path: str) -> None:
    assert ask(path) == "address"


@pytest.mark.parametrize(
    "host",
    [
        b"192.168.1.20",
        b"192.168.1.20:80",
        b"cart.example:8737",
        b"192.168.1.20.example:8737",
        b"localhost:8737",
        b"127.0.0.1:8737",
        b"",
    ],
)
def test_a_name_that_was_pointed_here_opens_nothing(host: bytes) -> None:
    assert opened(THERE, b"GET", f"/{CART}/".encode(), [(b"host", host)]) == "host"


def test_one_host_must_be_named_and_not_two() -> None:
    path = f"/{CART}/".encode()
    assert opened(THERE, b"GET", path, []) == "host"
    assert opened(THERE, b"GET", path, [HOST, (b"host", b"cart.example")]) == "host"


def test_this_computer_is_called_in_two_ways_and_port_80_is_left_out() -> None:
    own = site(KEY, ["cart"], ip_address("127.0.0.1"), 80)
    assert own.hosts == {"127.0.0.1:80", "localhost:80", "127.0.0.1", "localhost"}
    assert site(KEY, [], ip_address("fd00::1"), 8737).hosts == {"[fd00::1]:8737"}


@pytest.mark.parametrize(
    ("file", "header", "value"),
    [
        ("events", b"origin", b"http://shop.example"),
        ("events", b"origin", b"null"),
        ("", b"origin", b"https://192.168.1.20:8737"),
        ("events", b"sec-fetch-site", b"cross-site"),
        ("page.js", b"sec-fetch-site", b"same-site"),
        ("", b"sec-fetch-dest", b"iframe"),
    ],
)
def test_a_foreign_page_gets_nothing(file: str, header: bytes, value: bytes) -> None:
    assert ask(f"/{CART}/{file}", (header, value)) == "origin"


def test_what_the_own_page_and_whoever_follows_an_address_send_is_answered() -> None:
    own = ((b"origin", b"http://192.168.1.20:8737"), (b"sec-fetch-site", b"same-origin"))
    assert ask(f"/{CART}/events", *own) == Opened("cart", "events")
    led = ((b"sec-fetch-site", b"cross-site"), (b"sec-fetch-dest", b"document"))
    assert ask(f"/{CART}/", *led) == Opened("cart", "")


@pytest.mark.parametrize("method", [b"POST", b"PUT", b"DELETE", b"OPTIONS", b"CONNECT", b"TRACE"])
def test_nothing_can_be_sent_there(method: bytes) -> None:
    assert ask(f"/{CART}/", method=method) == "request"
    assert ask(f"/{CART}/", (b"content-length", b"1")) == "request"
    assert ask(f"/{CART}/", (b"transfer-encoding", b"chunked")) == "request"
    assert ask(f"/{CART}/", (b"content-length", b"0"), method=b"HEAD") == Opened("cart", "")


def test_the_key_is_kept_for_its_owner_alone_until_it_is_made_anew(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    made = show_key(log)
    assert len(made) == SHOW_KEY_BYTES
    assert show_key(log) == made
    assert (tmp_path / "show.key").stat().st_mode & 0o777 == 0o600 or os.name == "nt"
    assert show_key(log, anew=True) != made


@pytest.mark.parametrize("content", [b"", b"short", bytes(SHOW_KEY_BYTES + 1)])
def test_a_key_that_is_cut_makes_no_address(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "show.key").write_bytes(content)
    with pytest.raises(StoreFault, match="--anew makes another"):
        show_key(tmp_path / "log.db")


def test_where_no_key_can_be_kept_it_is_said(tmp_path: Path) -> None:
    with pytest.raises(StoreFault, match="cannot be kept"):
        show_key(tmp_path / "nowhere" / "log.db")
