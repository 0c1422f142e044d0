"""What other carts of a shop taught: gone by only where the own is too little, and said whose it
is."""

from __future__ import annotations

import os
from math import exp, log
from pathlib import Path

import msgspec
import pytest

from cartclock.engine.desk.shop import Shop
from cartclock.engine.films.film_advice import film_notices
from cartclock.engine.films.flashing import LEAST_OWN
from cartclock.engine.hours.usual import LEAST_MEASURED, StepKey
from cartclock.engine.joined.bringing import bring_known
from cartclock.engine.joined.known import (
    FromShop,
    ShopFilm,
    ShopKnown,
    ShopLesson,
    known_file,
)
from cartclock.engine.joined.link import linked
from cartclock.engine.joined.sending import send
from cartclock.engine.now.faces import hands_face
from cartclock.engine.store.views.films import FILMS
from cartclock.engine.store.views.lessons import LESSONS
from tests.joined.conftest import Cart, Carts
from tests.joined.test_sending import sent, worked
from tests.kit.films import HOT, Films

STEP: StepKey = ("Wash", "wash", 0)


def lesson(worker: str, n: int, seconds: float, *carts: str) -> ShopLesson:
    return ShopLesson(worker, *STEP, n, log(seconds), carts)


# What is gone by.


@pytest.mark.parametrize(
    ("lessons", "worker", "seconds", "of", "whose"),
    [
        ([lesson("Ines", 3, 60, "n-2")], "Ines", 60, 3, "yours on n-2"),
        ([lesson("Ines", 3, 60, "n-2", "n-3")], "Ines", 60, 3, "yours on other carts"),
        ([lesson("Ines", 3, 60, "n-2"), lesson("Jo", 9, 99, "n-2")], "Ines", 60, 3, "yours on n-2"),
        ([lesson("Jo", 4, 90, "n-2")], "Ines", 90, 4, "Jo"),
        # Two of her own are too few; with his they are the shop's.
        ([lesson("Ines", 2, 60, "n"), lesson("Jo", 2, 240, "n")], "Ines", 120, 4, "Ines and Jo"),
        ([lesson(name, 1, 60, "n") for name in "ABC"], "Ines", 60, 3, "3 of the shop"),
    ],
    ids=["own elsewhere", "on several", "own before others", "another", "together", "counted"],
)
def test_usual_times_of_the_shop_say_whose_they_are(
    lessons: list[ShopLesson], worker: str, seconds: float, of: int, whose: str
) -> None:
    found = ShopKnown(tuple(lessons)).usual(worker, STEP)
    assert found is not None
    assert (found.seconds, found.of, found.whose) == (pytest.approx(seconds), of, whose)


def test_too_little_is_nothing() -> None:
    known = ShopKnown((lesson("Jo", LEAST_MEASURED - 1, 60, "n"),))
    assert known.usual("Ines", STEP) is None
    assert known.usual("Ines", ("Wash", "dry", 0)) is None


@pytest.fixture
def taught(tmp_path: Path) -> tuple[Films, tuple[ShopFilm, ...]]:
    """A bench that watched four films of a product, and they as another cart tells of them."""
    (tmp_path / "theirs").mkdir()
    theirs = Films(tmp_path / "theirs")
    theirs.learn()
    found = FILMS.of_product(theirs.bench.library, "me", "coat", 60)
    assert len(found) == 4
    films = tuple(
        ShopFilm(
            *("Jo", "n-2", one.product, one.kind),
            msgspec.json.encode(msgspec.to_builtins(one.label)).decode(),
            *(one.seen_us, one.flash.seconds, one.flash.climate.panel_c),
            *(one.flash.climate.air_c, one.flash.climate.rh, int(one.flash.climate.moving)),
        )
        for one in found
    )
    return theirs, films


def put(log: Path, known: ShopKnown) -> None:
    """As a sending brings it."""
    file = known_file(log)
    before = file.stat().st_mtime_ns if file.exists() else 0
    file.write_bytes(msgspec.json.encode(known))
    os.utime(file, ns=(before + 10**9, before + 10**9))


def test_marks_go_by_films_of_others_until_there_are_own_ones_and_say_so(
    taught: tuple[Films, tuple[ShopFilm, ...]], tmp_path: Path
) -> None:
    theirs, films = taught
    (tmp_path / "mine").mkdir()
    mine = Films(tmp_path / "mine", seed=2)
    mine.read(HOT)
    plain = mine.lay()
    label_alone = mine.bench.films().get("coat", ())
    assert label_alone == ()
    mine.level(plain)
    put(mine.path, ShopKnown((), films))
    window = mine.lay()
    # The marks are those that the other cart's own films give it there.
    theirs.read(HOT)
    assert window.marks == theirs.lay().marks != plain.marks
    said = film_notices(
        mine.bench.jobs, mine.bench.shift(), mine.bench.now_us, None, mine.bench.films()
    )
    assert any("4 of Jo" in one or "4 films of Jo" in one for one in said), said
    # Learned from are own ones alone, and from so many on they are all that is gone by.
    assert mine.bench.own().get("coat", ()) == ()
    mine.level(window)
    for at in range(1, LEAST_OWN + 1):
        mine.film(50 + at)
        own = mine.bench.own()["coat"]
        assert len(own) == at
        gone_by = mine.bench.films()["coat"]
        assert (gone_by == own) == (at >= LEAST_OWN)
        assert len({one.whose for one in gone_by}) == 1
    # What is folded anew is what was frozen then, whatever the shop teaches later.
    marks = {name: one.marks for name, one in _windows(mine)}
    put(mine.path, ShopKnown())
    mine.again()
    assert {name: one.marks for name, one in _windows(mine)} == marks


def _windows(of: Films) -> list:
    return [((one.section, one.turn), one) for one in of.bench.jobs[of.job].every_window]


def test_a_file_that_cannot_be_read_teaches_nothing(tmp_path: Path) -> None:
    log = tmp_path / "log.db"
    shop = FromShop(log)
    assert shop.known == ShopKnown()
    for text in ("{", '{"lessons": [{"worker": 1}]}', "\0"):
        put(log, ShopKnown((lesson("Jo", 4, 90, "n"),)))
        assert len(shop.known.lessons) == 1
        before = known_file(log).stat().st_mtime_ns
        known_file(log).write_text(text)
        os.utime(known_file(log), ns=(before + 10**9, before + 10**9))
        assert shop.known == ShopKnown()


def test_a_film_outside_of_what_is_reckoned_with_is_left_out(
    taught: tuple[Films, tuple[ShopFilm, ...]],
) -> None:
    _theirs, films = taught
    odd = msgspec.structs.replace(films[0], seconds=-1.0)
    known = ShopKnown((), (odd, *films))
    assert len(known.films_of("me")["coat"]) == 4
    assert ShopKnown((), films[: LEAST_OWN - 1]).films_of("me") == {}


# Brought by a sending.


def known_of(cart: Cart) -> ShopKnown:
    return FromShop(cart.day.path).known


def test_what_a_cart_taught_is_brought_to_the_others_of_its_shop(cart: Carts) -> None:
    one, other, stranger = cart("teaching"), cart("teaching"), cart("not teaching")
    worked(one, 14)
    for each in (one, other, stranger):
        sent(each)
    assert known_of(one) == known_of(stranger) == ShopKnown()
    library = one.day.bench.library
    steps = {(each.stage, each.verb, each.nth) for each in known_of(other).lessons}
    assert steps
    shop = Shop(other.day.bench.log, library=other.day.bench.library)
    several = 0
    for step in steps:
        own, brought = LESSONS.usual(library, "me", step), shop.usual("me", step)
        several += own is not None
        assert (own is None) == (brought is None), step
        if own is not None and brought is not None:
            assert (brought.seconds, brought.of) == (pytest.approx(own.seconds), own.of)
            assert brought.whose == f"yours on {one.name}"
            told = shop.usual("Jo", step)
            assert told is not None and told.whose == "me"
    assert several
    # Brought once an hour, not with every sending.
    assert exp(known_of(other).lessons[0].ln_seconds) > 0
    with linked(other.joined, other.day.path) as line:
        assert not bring_known(other.day.bench.log, line)
        assert bring_known(other.day.bench.log, line, fresh_s=0.0)


def test_watched_films_are_brought_as_they_were_seen(cart: Carts, tmp_path: Path) -> None:
    one, other = cart("watching"), cart("watching")
    (tmp_path / "films").mkdir()
    films = Films(tmp_path / "films", seed=77)
    films.learn()
    one.log_in(films.path)
    with linked(one.joined, films.path) as line:
        send(films.bench.log, line, "0")
    sent(other)
    found = [each.watched for each in known_of(other).films]
    assert found == list(FILMS.of_product(films.bench.library, "me", "coat", 60))
    assert {each.cart for each in known_of(other).films} == {one.name}
    shown = other.day.bench.films()["coat"]
    assert {each.whose for each in shown} == {f"yours on {one.name}"}


def test_the_time_on_it_is_told_against_whose_it_is(cart: Carts) -> None:
    one = cart("told")
    worked(one, 1)
    bench = one.day.bench
    shift = bench.shift()
    assert shift is not None
    for _ in range(20):
        face = hands_face(bench.jobs, shift, bench.now_us)
        if face is not None:
            break
        worked(one, 1)
        shift = bench.shift()
        assert shift is not None
    known = ShopKnown(
        tuple(
            ShopLesson("Jo", stage.name, step.say, 0, 5, log(61.0), ("n",))
            for job in bench.jobs.values()
            for stage in job.stages
            for step in stage.steps
            if hasattr(step, "minutes")
        )
    )
    face = hands_face(bench.jobs, shift, bench.now_us, lambda step: known.usual("me", step))
    assert face is not None
    assert face.under.startswith("on it, Jo: "), face.under
