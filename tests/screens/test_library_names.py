"""What the screens take from inside their library, which may go without notice.

Driver and wire stand on names that the library promises to nobody. They are listed here, each
with what is lost without it, and a private name that is used and not listed is a failure too.
"""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from textual import constants, events
from textual._xterm_parser import XTermParser
from textual.app import App
from textual.driver import Driver
from textual.drivers.linux_driver import LinuxDriver
from textual.screen import Screen
from textual.widget import Widget

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has another driver")

ROOT = Path(__file__).parents[2]

# Private attribute -> the class that sets it, and what is lost without it.
ATTRIBUTES: dict[str, tuple[type, str]] = {
    "_app": (Driver, "a signal could not end the program, and the wire would not know the size"),
    "_debug": (Driver, "what is typed could not be parsed"),
    "_loop": (Driver, "a signal would leave the terminal in the alternate screen"),
    "_file": (LinuxDriver, "a terminal that went away would leave the program hanging"),
    "_writer_thread": (LinuxDriver, "the rows of the demo's caption would be drawn over"),
    "_batch_count": (App, "each screen would be drawn twice before it is seen"),
    "_driver": (App, "the title of the window could not be written"),
    "_sync_available": (App, "a picture could be seen half written"),
    "_compositor": (Screen, "each second would be drawn by the library, for twice the price"),
    "_dirty_widgets": (Screen, "a picture would be written twice"),
    "_layout_required": (Widget, "a picture would be written where a list is to stand"),
    "_repaint_required": (Widget, "a picture would be written twice"),
    "_styles_cache": (Widget, "the library would paint an older picture"),
    "_exit": (App, "a tick would look at clocks whose log is closed"),
    "_exception": (App, "a fault would end the program as if the worker had left it"),
}
# Private methods, with what is lost without them.
METHODS = {"_handle_exception": "a fault in a tick would be lost, and the clocks would stand"}
# Private modules, with what is lost without them.
MODULES = {
    "textual._xterm_parser": "what is typed could not be parsed",
    "textual._ansi_sequences": "a picture could be seen half written",
}
# What the driver takes the place of: under another name the library's own would run.
REPLACED = {
    "write": "every frame would go out whole",
    "start_application_mode": "a signal during the start would not give the terminal back",
    "process_message": "half a letter would reach the screens",
    "run_input_thread": "one byte that is no text would end the program",
}


def used() -> Iterator[tuple[str, str]]:
    """Private names that the screens use and do not make themselves, and where."""
    trees = {path: ast.parse(path.read_text("utf-8")) for path in (ROOT / "tui").rglob("*.py")}
    own: set[str] = set()
    read: list[tuple[str, Path]] = []
    for path, tree in trees.items():
        for node in ast.walk(tree):
            match node:
                case ast.FunctionDef(name) | ast.AsyncFunctionDef(name) | ast.ClassDef(name):
                    own.add(name)
                case ast.Assign(targets):
                    own |= {name.id for name in targets if isinstance(name, ast.Name)}
                case ast.AnnAssign(target=ast.Name(name)):
                    own.add(name)
                case ast.Attribute(attr=name, ctx=ast.Store()) if name not in ATTRIBUTES:
                    own.add(name)
                case ast.Attribute(attr=name) if name.startswith("_"):
                    read.append((name, path))
                case ast.ImportFrom(module=str(name)) if "._" in name:
                    read.append((name, path))
    for name, path in read:
        if not name.startswith("__") and (name in ATTRIBUTES or name not in own):
            yield name, str(path.relative_to(ROOT))


def test_every_private_name_that_is_used_is_listed() -> None:
    found = dict(used())
    assert found.keys() == ATTRIBUTES.keys() | METHODS.keys() | MODULES.keys()


@cache
def set_by(owner: type) -> frozenset[str]:
    """The attributes that a class sets, of its instances and of others."""
    tree = ast.parse(inspect.getsource(owner))
    return frozenset(
        node.attr
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)
    )


@pytest.mark.parametrize("name", ATTRIBUTES)
def test_the_library_has_the_attribute(name: str) -> None:
    owner, lost = ATTRIBUTES[name]
    assert name in set_by(owner), f"{owner.__name__} has no {name} any more: {lost}."


@pytest.mark.parametrize("name", METHODS)
def test_the_library_has_the_method(name: str) -> None:
    there = inspect.isfunction(getattr(App, name, None))
    assert there, f"App has no {name} any more: {METHODS[name]}."


@pytest.mark.parametrize("name", REPLACED)
def test_the_library_has_what_is_replaced(name: str) -> None:
    there = inspect.isfunction(getattr(LinuxDriver, name, None))
    assert there, f"LinuxDriver has no {name} any more: {REPLACED[name]}."


def test_the_screen_draws_where_it_is_held_back() -> None:
    there = inspect.isfunction(getattr(Screen, "_compositor_refresh", None))
    assert there, "Screen draws under another name: each screen is drawn twice before it is seen."


def test_the_driver_is_called_where_it_replaces() -> None:
    inside = inspect.getsource(LinuxDriver)
    for call in ("self.run_input_thread", "self.write(", "WriterThread(self._file)"):
        assert call in inside, (
            f"LinuxDriver does not say {call} any more: look at tui/terminal/driver.py."
        )


def test_the_parser_is_fed_and_ticked() -> None:
    parser = XTermParser(False)
    keys = [one for one in parser.feed("a") if isinstance(one, events.Key)]
    assert [key.key for key in keys] == ["a"], "XTermParser.feed gives no keys any more."
    assert list(parser.tick()) == [], "XTermParser.tick is not what it was."


def test_an_escape_alone_is_waited_for_no_longer() -> None:
    assert constants.ESCAPE_DELAY == 0.1, (
        "LOOK_S in tui/terminal/driver.py goes by the library's delay."
    )


@pytest.mark.long
def test_the_newest_release_of_the_pinned_major_does_as_well(tmp_path: Path) -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    (wish,) = (d for d in declared["project"]["dependencies"] if d.startswith("textual"))
    got = subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--target", str(tmp_path), wish],
        capture_output=True,
        text=True,
    )
    if got.returncode:
        pytest.skip(f"the newest release cannot be had here: {got.stderr.strip()[-200:]}")
    names = ("test_library_names", "test_wire", "test_terminal", "test_bytes")
    code = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r}); import textual, pytest\n"
        f"assert textual.__file__.startswith({str(tmp_path)!r})\n"
        f"print('textual', textual.__version__)\n"
        f"sys.exit(pytest.main({[f'tests/screens/{name}.py' for name in names]!r} + ['-n', '0']))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-3000:]
