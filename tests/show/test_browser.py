"""The pages in a headless Chromium at the size of a phone and of a tablet."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

import pytest
from msgspec.structs import replace

from cartclock.engine.desk.bench import Bench
from cartclock.engine.facts.events import ClockedOn
from cartclock.engine.plan.plan import Wait
from cartclock.engine.rules import rules
from cartclock.engine.store.clock import SystemClock
from cartclock.tui.show.addresses import token
from cartclock.tui.show.exchange import Limits
from cartclock.tui.show.follow import CART, Page
from cartclock.tui.show.seen import CartPage
from tests.kit.browser import Tab, browser, chromium
from tests.kit.plans import COAT, opening
from tests.kit.run_states import STATES
from tests.kit.second_screen import free_port, shown
from tests.kit.stage import played
from tests.show.test_seen import pages
from tests.show.test_server import KEY, Still, serving

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not chromium(), reason="needs a Chromium, which is none of the project's"),
    pytest.mark.skipif(sys.platform == "win32", reason="Windows was never tried"),
]
# Opens after six seconds and closes after twelve. Invented.
BRIEF = replace(COAT, steps=(COAT.steps[0], Wait("flash", 6, 8, 12), *COAT.steps[2:]))
TABLET, PHONE = (1280, 800), (390, 844)
# A tablet of 10.1 inches and 16:10 is 136 mm high; 20 minutes of arc at 3 m are 17.5 mm, 16 are
# 14.0: NUREG-0700, read second-hand.
TABLET_MM, HIGH_MM, LEAST_MM = 136.0, 17.5, 14.0
# A folder in which to see the pictures.
PICTURES = os.environ.get("CARTCLOCK_PICTURES", "")
TOLD = "typeof told !== 'undefined' && told !== null"


def says(field: str) -> str:
    return (
        f"told && told.matters[0].field === '{field}' && document.body.dataset.field === '{field}'"
    )


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    found = Bench.open(tmp_path / "log.db", SystemClock())
    found.do(rules.open_job, found.new_id(), opening(BRIEF))
    found.do(rules.clock_on, ClockedOn("", "29 CFR 785", "UTC", "acclimatized"))
    found.beat()
    yield found
    found.close()


@pytest.fixture
def tab() -> Iterator[Tab]:
    with browser() as found:
        # What would shake is written down.
        found.ask("Page.enable")
        found.ask(
            "Page.addScriptToEvaluateOnNewDocument",
            source="window.shaken = []; navigator.vibrate = (how) => { shaken.push(how); };",
        )
        yield found


def lay(bench: Bench) -> None:
    """Lays a film and stands by for it."""
    bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "take up"))
    bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "stand by"))


def touch(tab: Tab) -> None:
    for kind in ("mousePressed", "mouseReleased"):
        tab.ask("Input.dispatchMouseEvent", type=kind, x=200, y=200, button="left", clickCount=1)


def letters_mm(tab: Tab, part: str) -> float:
    """How high letters are on the tablet, of what was drawn of them."""
    pixels = tab.of(
        f"(() => {{ const tops = [...document.querySelectorAll('#{part} path')]"
        ".map((one) => one.getBoundingClientRect().height);"
        " return Math.max(...tops); })()"
    )
    return float(pixels) * TABLET_MM / TABLET[1]


@pytest.mark.parametrize("size", [TABLET, PHONE], ids=["tablet", "phone"])
def test_a_film_from_the_press_to_late(
    bench: Bench, tmp_path: Path, tab: Tab, size: tuple[int, int]
) -> None:
    with shown(tmp_path) as screen:
        tab.size(*size)
        tab.go(screen.addresses[0])
        tab.until(TOLD)
        touch(tab)
        bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "take up"))
        assert tab.until("told.matters[0].word === 'APPLY'") < 1.0
        bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "stand by"))
        assert tab.until(says("wait")) < 1.0
        assert tab.of("shaken.length") == 0
        tab.until(says("ready"))
        tab.until("document.body.classList.contains('turned')", 3.0)
        tab.until("!document.body.classList.contains('turned')", 3.0)
        tab.until(says("late"))
        assert tab.of("JSON.stringify(shaken)") == "[[250],[500,200,500]]"
        # As on the screen of the cart: red, all of it, the word, and digits that count up.
        assert tab.of("getComputedStyle(document.body).backgroundColor") == "rgb(154, 0, 0)"
        assert tab.of("getComputedStyle(document.body).color") == "rgb(255, 255, 255)"
        assert tab.of("part('word').dataset.drawn").startswith("LATE")
        first = tab.of("part('digits').dataset.drawn")
        assert first.startswith("^0:0")
        tab.until(f"part('digits').dataset.drawn !== {first!r}", 2.0)
        # Nothing is cut off or stands over anything else.
        assert tab.of("document.documentElement.scrollWidth") <= size[0]
        for part in ("name", "digits", "word", "under", "tape"):
            box = tab.of(
                f"(() => {{ const b = part('{part}').getBoundingClientRect();"
                " return [b.left, b.top, b.right, b.bottom]; })()"
            )
            assert box[0] >= 0 and box[1] >= 0 and box[2] <= size[0] and box[3] <= size[1], part
        if size == TABLET:
            assert letters_mm(tab, "name") >= HIGH_MM
            assert letters_mm(tab, "digits") >= HIGH_MM
            assert letters_mm(tab, "word") >= HIGH_MM
            assert letters_mm(tab, "second-figure") >= LEAST_MM
        assert tab.problems == []


def test_digits_run_on_in_the_page_and_never_stand_as_if_they_were_so(
    bench: Bench, tmp_path: Path, tab: Tab
) -> None:
    with shown(tmp_path) as screen:
        tab.size(*TABLET)
        tab.go(screen.addresses[0])
        tab.until(TOLD)
        bench.do(rules.take_up, next(move for move in bench.moves() if move.act == "take up"))
        tab.until("told.matters[0].word === 'APPLY'")
        # The cart is not heard for a while.
        os.kill(screen.child.pid, signal.SIGSTOP)
        try:
            before = tab.of("part('digits').dataset.drawn")
            tab.until(f"part('digits').dataset.drawn !== {before!r}", 2.5)
            tab.until("document.body.classList.contains('lost')", 8.0)
            assert tab.of("part('under').textContent").startswith("Not heard since ")
            assert tab.of("getComputedStyle(part('digits')).display") == "none"
            assert tab.of("document.body.dataset.field") == "off"
        finally:
            os.kill(screen.child.pid, signal.SIGCONT)
        tab.until("told && !document.body.classList.contains('lost')", 8.0)


def test_the_page_finds_back_to_a_screen_that_was_started_again(
    bench: Bench, tmp_path: Path, tab: Tab
) -> None:
    port = free_port()
    with shown(tmp_path, "--customer", "1", port=port) as screen:
        addresses = screen.addresses
        tab.size(*PHONE)
        tab.go(addresses[0])
        tab.until(TOLD)
        screen.end()
        tab.until("document.body.classList.contains('lost')", 8.0)
    with shown(tmp_path, "--customer", "1", port=port):
        assert tab.until("told && !document.body.classList.contains('lost')") < 10.0
        tab.go(addresses[1])
        tab.until("document.body && document.body.innerText.includes('Coat')")
        text = tab.of("document.body.innerText")
        assert text.split("\n\n")[:2] == ["stage 1 of 1", "Coat"]
        assert "bonnet" not in text.lower()
        assert "LETTERS" not in tab.of("document.documentElement.outerHTML")


@pytest.mark.parametrize(
    ("scheme", "ground"), [("dark", "rgb(20, 23, 26)"), ("light", "rgb(246, 246, 244)")]
)
def test_light_and_dark_are_as_the_device_prefers(
    bench: Bench, tmp_path: Path, tab: Tab, scheme: str, ground: str
) -> None:
    bench.do(rules.clock_off)
    with shown(tmp_path) as screen:
        tab.prefer(prefers_color_scheme=scheme)
        tab.go(screen.addresses[0])
        tab.until(says("off"))
        assert tab.of("getComputedStyle(document.body).backgroundColor") == ground


def test_who_wants_no_motion_sees_no_ground_turn(bench: Bench, tmp_path: Path, tab: Tab) -> None:
    with shown(tmp_path) as screen:
        tab.prefer(prefers_reduced_motion="reduce")
        tab.go(screen.addresses[0])
        tab.until(TOLD)
        lay(bench)
        tab.until(says("ready"))
        tab.until("document.body.classList.contains('turned')", 3.0)
        ground = tab.of("getComputedStyle(document.body).getPropertyValue('--ground')").strip()
        red, green, blue = bytes.fromhex(ground.removeprefix("#"))
        now = tab.of("getComputedStyle(document.body).backgroundColor")
        assert now == f"rgb({red}, {green}, {blue})"


class Turning(Still):
    """Says of the cart's page what it is given, and counts how often it was asked."""

    page: Page

    def look(self, pages: Collection[str]) -> Mapping[str, Page]:
        return dict.fromkeys(pages, self.page)


async def test_what_stood_when_the_page_was_opened_calls_nobody_and_a_rest_does(
    tmp_path: Path, tab: Tab
) -> None:
    said: dict[str, Page] = {}
    for name in ("late", "plain", "no_work_here"):
        (tmp_path / name).mkdir()
        async with played(tmp_path / name, *STATES[name].jobs) as play:
            await STATES[name].reach(play)
            said[name] = pages(play)[CART]
    follower = Turning()
    follower.page = said["late"]
    async with serving(Limits(), follower) as there:

        def look() -> list[str]:
            found = []
            tab.go(f"http://127.0.0.1:{there.port}/{token(KEY, CART)}/")
            tab.until(says("late"))
            touch(tab)
            for name, field in (("plain", "plain"), ("no_work_here", "rest"), ("late", "late")):
                found.append(tab.of("JSON.stringify(shaken)"))
                follower.page = said[name]
                tab.until(says(field))
            return [*found, tab.of("JSON.stringify(shaken)")]

        rest = "[250,150,250,150,800]"
        assert await asyncio.to_thread(look) == [
            "[]", "[]", f"[{rest}]", f"[{rest},[500,200,500]]",
        ]  # fmt: skip


# Each of them ends where the next begins, or before.
FITS = """
(() => {
  const over = [];
  const seen = (one) => one.getClientRects().length > 0;
  const parts = [...document.querySelectorAll("header, main > *, #others > *, footer > p")];
  const box_of = (one) => [one.id || one.tagName, one.getBoundingClientRect()];
  const boxes = parts.filter(seen).map(box_of);
  for (const [id, box] of boxes) {
    if (box.left < -1 || box.right > innerWidth + 1 || box.bottom > innerHeight + 1) over.push(id);
    for (const [other, there] of boxes) {
      const apart = box.right <= there.left + 1 || there.right <= box.left + 1 ||
        box.bottom <= there.top + 1 || there.bottom <= box.top + 1;
      if (id < other && !apart) over.push(`${id} on ${other}`);
    }
  }
  return over.join(", ");
})()
"""


async def test_every_state_of_run_fits_on_phone_and_tablet(tmp_path: Path) -> None:
    states: dict[str, Page] = {}
    for name, state in STATES.items():
        (tmp_path / name).mkdir()
        async with played(tmp_path / name, *state.jobs) as play:
            await state.reach(play)
            states[name] = pages(play)[CART]
    follower = Turning()
    follower.page = states["plain"]
    async with serving(Limits(), follower) as there:
        address = f"http://127.0.0.1:{there.port}/{token(KEY, CART)}/"

        def look() -> list[str]:
            found = []
            with browser() as tab:
                tab.go(address)
                for name, page in states.items():
                    follower.page = page
                    assert isinstance(page, CartPage)
                    first, many = page.matters[0], len(page.matters)
                    for size in (TABLET, PHONE, TABLET[::-1], PHONE[::-1]):
                        tab.size(*size)
                        tab.until(
                            f"{TOLD} && told.matters[0].digits === {first.digits!r} && "
                            f"told.matters.length === {many} && !draw()"
                        )
                        over = tab.of(FITS)
                        if PICTURES:
                            tab.picture(Path(PICTURES) / f"{name}-{size[0]}x{size[1]}.png")
                        if over:
                            found.append(f"{name} {size}: {over}")
                assert tab.problems == []
            return found

        found = await asyncio.to_thread(look)
        assert not found, "\n".join(found)
