"""A body of an older version is brought up to the newest each time it is read."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.events import KINDS, TAGS, Kind, Unknown
from cartclock.engine.facts.rows import Row
from cartclock.engine.press import Press
from cartclock.engine.store import codec
from cartclock.engine.store.log import Log
from cartclock.engine.store.upcasts import UPCASTS, Body, newest_version, stored_as


class Poured(Struct, frozen=True):
    """A drink of its third version: first `ml`, then `cl` under the same tag, then in litres."""

    litres: float


def to_cl(body: Body) -> Body:
    return {"cl": body["ml"] / 10}


def to_litres(body: Body) -> Body:
    return {"litres": body["cl"] / 100}


@pytest.fixture
def poured(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Drinks of this version become a third one, under another tag."""
    monkeypatch.delitem(KINDS, "DrinkTaken")
    monkeypatch.setitem(KINDS, "Poured", Kind(Poured, "shift", v=3))
    monkeypatch.setitem(TAGS, Poured, "Poured")
    monkeypatch.setitem(UPCASTS, ("DrinkTaken", 1), ("DrinkTaken", to_cl))
    monkeypatch.setitem(UPCASTS, ("DrinkTaken", 2), ("Poured", to_litres))
    monkeypatch.setattr(codec, "_decoders", codec.Decoders())
    yield


def test_the_upcasts_lead_to_the_newest_version_of_a_kind() -> None:
    for tag, v in UPCASTS:
        while (tag, v) in UPCASTS:
            tag, v = UPCASTS[tag, v][0], v + 1
        assert KINDS[tag].v == v
    older = {(tag, v) for tag, kind in KINDS.items() for v in range(1, kind.v)}
    assert older <= UPCASTS.keys()


@pytest.mark.usefixtures("poured")
def test_a_body_goes_through_every_version_since() -> None:
    assert newest_version("DrinkTaken", 1, {"ml": 250}) == ("Poured", 3, {"litres": 0.25})
    assert codec.decode("DrinkTaken", 1, '{"ml":250}') == Poured(0.25)
    assert codec.decode("DrinkTaken", 2, '{"cl":25}') == Poured(0.25)
    assert codec.decode("Poured", 3, '{"litres":0.25}') == Poured(0.25)
    assert codec.encode(Poured(0.25)) == ("Poured", 3, '{"litres":0.25}')


@pytest.mark.usefixtures("poured")
@pytest.mark.parametrize(
    ("tag", "v", "body"),
    [
        ("DrinkTaken", 1, "{}"),
        ("DrinkTaken", 1, "[]"),
        ("DrinkTaken", 1, '{"ml":"much"}'),
        ("DrinkTaken", 1, "{"),
        ("DrinkTaken", 3, '{"litres":0.25}'),
        ("Poured", 2, '{"cl":25}'),
    ],
)
def test_what_an_upcast_cannot_read_is_unknown(tag: str, v: int, body: str) -> None:
    assert codec.decode(tag, v, body) == Unknown(tag, v, body)


def test_the_disk_is_asked_for_every_tag_a_kind_was_stored_under(
    tmp_path: Path, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Log.open(tmp_path / "log.db") as log:
        press = Press(log.origin, 0)
        drink = ev.DrinkTaken(250)
        row = Row(log.origin, 0, press, "s", "job", "me", 1, 1, 1, "b", 1, True, "worker", drink)
        log.append([row])
        before = stored(log.path)
        request.getfixturevalue("poured")
        assert stored_as([Poured]) == ["DrinkTaken", "Poured"]
        with monkeypatch.context() as patched:
            patched.setattr("cartclock.engine.store.log.CART_EVENTS", (Poured,))
            assert [row.event for row in log.cart_rows()] == [Poured(0.25)]
        assert log.check() == [] and stored(log.path) == before


def stored(path: Path) -> list[Any]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT kind, body FROM rows").fetchall()


def test_damage_of_the_first_version_is_read_and_a_wheel_has_words_of_its_own() -> None:
    first = '{"note":null,"panel":"bonnet","what":"chip"}'
    assert codec.decode("DamageNoted", 1, first) == ev.DamageNoted("bonnet", "chip")
    kerbed = ev.DamageNoted("front left wheel", "kerbed wheel")
    assert codec.decode(*codec.encode(kerbed)) == kerbed
    assert codec.encode(kerbed)[1] == 2
