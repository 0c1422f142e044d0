"""What README, the manual and EVENTS.md say is what the program does.

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

from cartclock.demo_sessions import session
from cartclock.engine.facts import events as ev
from cartclock.engine.facts.job import JOB_TABLE
from cartclock.engine.facts.section import SECTION_TABLE
from cartclock.engine.facts.shift import SHIFT_TABLE
from cartclock.engine.store.plan_file.reader import read_plan
from cartclock.engine.store.settings import SETTING_LINES, read_settings
from cartclock.tui.app import CartClock
from cartclock.tui.commands.group import commands
from cartclock.tui.keys import KEYS, markdown_table

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
MANUAL = ROOT / "tui/MANUAL.md"
LINK = re.compile(r"\]\(([^)#]+)(?:#[^)]*)?\)")
EVENTS = ROOT / "engine/facts/EVENTS.md"


def between(path: Path, opening: str, closing: str, wanted: str) -> None:
    """What stands between two comments of a page is this."""
    wanted = f"\n\n{wanted.strip()}\n\n"
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


def test_key_table_stands_in_the_manual() -> None:
    between(ROOT / "tui/DAY.md", "<!-- keys:", "<!-- /keys -->", markdown_table())


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


def blocks(language: str, page: Path = README) -> list[str]:
    """The code blocks of a page in one language, in their order."""
    return re.findall(rf"(?m)^```{language}\n(.*?)^```$", page.read_text(encoding="utf-8"), re.S)


def typed(block: str) -> list[str]:
    """The commands of a block in which every line is one behind a prompt."""
    lines = block.splitlines()
    assert all(line.startswith("$ ") for line in lines), block
    return [line[2:] for line in lines]


def manual() -> list[Path]:
    """README, and every page that the manual's first page names."""
    named = LINK.findall(MANUAL.read_text(encoding="utf-8"))
    return [README, MANUAL, *((MANUAL.parent / name).resolve() for name in named)]


def test_the_plans_and_settings_in_the_manual_have_no_fault() -> None:
    stages = set()
    for page in manual():
        for text in blocks("toml", page):
            if page.name == "SETTINGS.md":
                assert read_settings(text, page.name).unheeded == ()
            else:
                stages |= {stage.name for stage in read_plan(text, page.name).stages}
    assert "Seal" in stages


def played_once(name: str) -> session.Played:
    """A demo as the tests of demos play it; what else is tested here needs none of their kit."""
    from tests.kit.sessions import result

    return result(name).played


# A demo is played in the process that plays all of them, once.
PLAYED = pytest.mark.xdist_group("demo sessions")
# Commands of these begin with a server, or wait until they are ended; they have tests of their own.
OTHER_BLOCKS = ("SHOP.md", "SHOW.md")
# Language of a block -> the pages that may have one, None for all: each is run or read here, of
# others in tests/joined/test_shop_manual.py, tests/show/test_show_command.py and
# tests/store/test_exchange.py.
RUN = {
    "console": None,
    "toml": None,
    "sh": ("README.md",),
    "sql": ("SHOP.md",),
    "python": ("FORMAT.md",),
}


def test_no_block_of_the_manual_is_run_by_nobody() -> None:
    for page in manual():
        fences = re.findall(r"(?m)^```(.*)$", page.read_text(encoding="utf-8"))
        assert not any(fences[1::2]) and len(fences) % 2 == 0, page
        for language in fences[::2]:
            pages = RUN.get(language, ())
            assert pages is None or page.name in pages, (page.name, language)


@pytest.mark.parametrize(
    "page",
    [
        pytest.param(one, marks=[PLAYED] if one.name == "TOUR.md" else [])
        for one in manual()
        if blocks("console", one) and one.name not in OTHER_BLOCKS
    ],
    ids=lambda page: page.name,
)
def test_the_commands_in_the_manual_do_what_they_say(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(session, "play", played_once)
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    for line in typed("".join(blocks("console", page))):
        name, *words = shlex.split(line)
        assert name == "cartclock"
        done = CliRunner().invoke(commands, words)
        # Without a terminal the screens refuse with one line; every other command works.
        assert done.exit_code == (1 if not words else 0), (line, done.output)


def test_every_command_named_in_the_manual_exists() -> None:
    text = "\n".join(page.read_text(encoding="utf-8") for page in manual())
    named = set(re.findall(r"`cartclock ([a-z-]+)", text))
    assert len(named) > 20
    assert named <= set(commands.list_commands(click.Context(commands)))


def test_every_option_named_in_the_manual_exists() -> None:
    text = "\n".join(page.read_text(encoding="utf-8") for page in manual())
    # Of these the options are those of other programs.
    for other in (*blocks("sh"), *re.findall(r"`[^`]*\b(?:pip|psql)\b[^`]*`", text)):
        text = text.replace(other, "")
    text = re.sub(r"(?m)^.*\bpsql\b.*$", "", text)
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


def test_every_link_of_the_manual_leads_to_what_is_there() -> None:
    for page in manual():
        assert page.is_file(), page
        for link in LINK.findall(page.read_text(encoding="utf-8")):
            assert not link.startswith(("http:", "https:", "/")), (page.name, link)
            assert (page.parent / link).resolve().is_file(), (page.name, link)


def test_readme_names_every_page_of_the_manual_and_the_manual_leads_nowhere_else() -> None:
    told = {(ROOT / link).resolve() for link in LINK.findall(README.read_text(encoding="utf-8"))}
    pages = manual()[1:]
    assert set(pages) - told <= {
        ROOT / "engine/store/exchange/FORMAT.md",
        ROOT / "engine/joined/NODES.md",
        ROOT / "engine/joined/SHOP.md",
        ROOT / "engine/joined/SPEED.md",
    }
    # Installed, nothing but these and what the demos bring is there.
    there = {*pages, *(ROOT / "demo_sessions").rglob("*.md"), *(ROOT / "tui/pictures").iterdir()}
    for page in pages:
        links = LINK.findall(page.read_text(encoding="utf-8"))
        beside = {(page.parent / link).resolve() for link in links} - there
        assert not beside, (page.name, beside)


def test_both_readme_commands_make_their_own_environment() -> None:
    # What behind them installs, upgrades and uninstalls is run in tests/house/test_packages.py.
    commands = blocks("sh")[:2]
    for command in commands:
        assert command.startswith("python3 -m venv ")
    assert "cartclock demo" in commands[0]
    assert "-m pytest" in commands[1]
