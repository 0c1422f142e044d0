"""What README and EVENTS.md say is what the program does.

Tables and the catalogue are written from the code: with CARTCLOCK_WRITE_DOCS=1 in the
environment they are written anew, otherwise they are compared.
"""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from msgspec import Struct

from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import JOB_TABLE
from cartclock.engine.facts.section import SECTION_TABLE
from cartclock.engine.facts.shift import SHIFT_TABLE
from cartclock.engine.products.chemistry import FAMILIES
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.settings import SETTING_LINES
from cartclock.tui.app import CartClock
from cartclock.tui.commands.group import commands
from cartclock.tui.keys import KEYS, markdown_table

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
EVENTS = ROOT / "engine/facts/EVENTS.md"


def between(path: Path, opening: str, closing: str, wanted: str) -> None:
    _within(path, opening, closing, "\n\n" + wanted.strip() + "\n\n")


def _within(path: Path, opening: str, closing: str, wanted: str) -> None:
    """The same with nothing around it: between two comments of one line."""
    text = path.read_text(encoding="utf-8")
    start = text.index(opening)
    start = text.index("-->", start) + 3
    end = text.index(closing, start)
    if os.environ.get("CARTCLOCK_WRITE_DOCS"):
        path.write_text(text[:start] + wanted + text[end:], encoding="utf-8")
        return
    assert text[start:end] == wanted, f"{path.name} is behind the code; see the docstring"


def _table(rows: dict[str, dict[str, str]]) -> str:
    kinds = list(dict.fromkeys(kind for row in rows.values() for kind in row))
    lines = ["| event | " + " | ".join(rows) + " |", "|---" * (len(rows) + 1) + "|"]
    for kind in sorted(kinds):
        cells = [row.get(kind, "") for row in rows.values()]
        lines.append(f"| {kind} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("name", "rows"),
    [("section", SECTION_TABLE), ("job", JOB_TABLE), ("shift", SHIFT_TABLE)],
    ids=["section", "job", "shift"],
)
def test_transition_tables_stand_beside_the_events(
    name: str, rows: dict[str, dict[str, str]]
) -> None:
    between(EVENTS, f"<!-- table: {name} -->", "<!-- /table -->", _table(rows))


def _catalogue() -> str:
    parts = []
    for title, classes in (
        ("Shift", ev.SHIFT_EVENTS),
        ("Job", ev.JOB_EVENTS),
        ("Cart", ev.CART_EVENTS),
        ("Corrections", ev.CORRECTIONS),
    ):
        parts.append(f"### {title}\n")
        parts += [_entry(cls) for cls in classes]
        parts.append("")
    return "\n".join(parts)


def _entry(cls: type[Struct]) -> str:
    said = (cls.__doc__ or "").split("\n\n")[0].replace("\n", " ")
    said = re.sub(r"\s+", " ", said).strip()
    fields = ", ".join(f"`{name}`" for name in cls.__struct_fields__)
    return f"- **{cls.__name__}** {said}" + (f" Fields: {fields}." if fields else "")


def test_event_catalogue_stands_beside_the_events() -> None:
    between(EVENTS, "<!-- catalogue -->", "<!-- /catalogue -->", _catalogue())


def test_every_event_says_what_it_is() -> None:
    for cls in (kind.event for kind in ev.KINDS.values()):
        assert cls.__doc__ and not cls.__doc__.startswith(cls.__name__), cls


def test_key_table_stands_in_readme() -> None:
    between(README, "<!-- keys:", "<!-- /keys -->", markdown_table())


def test_families_of_products_stand_in_readme() -> None:
    names = ", ".join(family.name for family in FAMILIES)
    _within(README, "<!-- families -->", "<!-- /families -->", names)


def test_the_table_of_settings_is_that_of_the_program() -> None:
    lines = ["| setting | what it means | like |", "|---|---|---|"]
    for name, setting in SETTING_LINES.items():
        said, like = (text.replace("|", "\\|") for text in (setting.said, setting.like))
        lines.append(f"| `{name}` | {said} | `{like}` |")
    between(ROOT / "engine/store/SETTINGS.md", "<!-- settings", "<!-- /settings", "\n".join(lines))


def test_every_key_does_something_on_every_screen_it_is_named_for() -> None:
    # A maker may import its screen first, so the screen itself is asked.
    screens = {name: made() for name, made in CartClock.SCREENS.items()}
    for key in KEYS:
        for name in key.screens:
            assert hasattr(screens[name], f"press_{key.id}"), (key.id, name)


def _blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README.read_text(encoding="utf-8"), re.S)


def test_the_plan_in_readme_has_no_fault() -> None:
    (text,) = _blocks("toml")
    plan = read_plan(text, "README.md")
    assert [stage.name for stage in plan.stages] == ["Seal"]


def test_the_commands_in_readme_do_what_they_say(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    console = "".join(_blocks("console"))
    lines = [line[2:] for line in console.splitlines() if line.startswith("$ ")]
    assert len(lines) == 6
    for line in lines:
        name, *words = shlex.split(line)
        assert name == "cartclock"
        done = CliRunner().invoke(commands, words)
        # Without a terminal the screens refuse with one line; every other command works.
        assert done.exit_code == (1 if not words else 0), (line, done.output)
    assert (tmp_path / "estate.toml").exists()


def test_every_command_named_in_readme_exists() -> None:
    named = set(re.findall(r"`cartclock ([a-z-]+)", README.read_text(encoding="utf-8")))
    assert named
    assert named <= set(commands.list_commands(click.Context(commands)))


def test_every_option_named_in_readme_exists() -> None:
    text = README.read_text(encoding="utf-8")
    for block in _blocks("sh"):
        # Of these the options are those of other programs.
        text = text.replace(block, "")
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", text))
    assert len(named) > 5
    assert named <= {"--help", *_options(commands)}


def _options(command: click.Command) -> set[str]:
    """Every option of a command and of those under it."""
    found = {name for one in command.params for name in one.opts if name.startswith("--")}
    if isinstance(command, click.Group):
        here = click.Context(command)
        under = (command.get_command(here, name) for name in command.list_commands(here))
        found.update(*(_options(one) for one in under if one is not None))
    return found


def test_both_readme_commands_make_their_own_environment() -> None:
    commands = _blocks("sh")
    assert len(commands) == 2
    for command in commands:
        assert command.startswith("python3 -m venv ")
    assert "cartclock demo" in commands[0]
    assert "-m pytest" in commands[1]
