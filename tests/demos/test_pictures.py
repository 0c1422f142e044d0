"""The pictures of README and of the manual are what the program draws.

With CARTCLOCK_WRITE_DOCS=1 in the environment they are written anew; look at them before they
are kept.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.house.test_docs import manual
from tests.kit.sessions import result
from tests.kit.shown import DEMO, FOLDER, HEIGHT, ON_RUN, PAGES, WIDTH, pages

pytestmark = pytest.mark.xdist_group("demo sessions")

SVG = "{http://www.w3.org/2000/svg}"
# What a page may make a reader load.
MOST_BYTES = 60_000


def _same(name: str, drawn: str) -> None:
    path = FOLDER / f"{name}.svg"
    if os.environ.get("CARTCLOCK_WRITE_DOCS"):
        path.write_text(drawn, encoding="utf-8")
        return
    assert path.read_text(encoding="utf-8") == drawn, f"{path.name} is behind the screens"


def test_pictures_of_run_are_those_of_a_day_of_the_demo() -> None:
    found = result(DEMO).watched.found
    assert found.keys() == ON_RUN.keys()
    for name, drawn in found.items():
        _same(name, drawn)


async def test_pictures_of_pages_are_what_their_keys_lead_to(tmp_path: Path) -> None:
    for name, drawn in (await pages(tmp_path)).items():
        _same(name, drawn)


def test_every_picture_is_whole_small_and_shown_somewhere() -> None:
    shown = set()
    for page in manual():
        text = page.read_text(encoding="utf-8")
        for name in re.findall(r"!\[[^]]+\]\(([^)]+)\)", text):
            shown.add((page.parent / name).resolve())
    assert {path.stem for path in FOLDER.iterdir()} == {*ON_RUN, *PAGES}
    assert shown == {path.resolve() for path in FOLDER.iterdir()}
    for path in FOLDER.iterdir():
        assert path.stat().st_size < MOST_BYTES
        tree = ElementTree.parse(path).getroot()
        assert tree.get("viewBox") == f"0 0 {80 * WIDTH} {24 * HEIGHT}"
        assert {one.tag for one in tree} == {f"{SVG}path", f"{SVG}text"}
