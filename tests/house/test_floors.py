"""Imports point down only, and the lower floors bring nothing in that they should not know."""

from __future__ import annotations

import subprocess
import sys

import pytest


def test_import_contracts_are_kept() -> None:
    done = subprocess.run(
        ["lint-imports", "--no-cache"],
        capture_output=True,
        text=True,
        executable=None,
        env=_with_tools(),
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _with_tools() -> dict[str, str]:
    import os
    from pathlib import Path

    tools = str(Path(sys.executable).parent)
    return {**os.environ, "PATH": tools + os.pathsep + os.environ.get("PATH", "")}


# What a fresh interpreter must not have loaded after the import.
DISK = {"sqlite3", "sqlite_utils", "platformdirs", "tomllib"}
SCREEN = {"textual", "rich", "click"}
OWN_UPPER = {
    "cartclock.engine.store",
    "cartclock.engine.paper",
    "cartclock.engine.desk.bench",
    "cartclock.engine.desk.shop",
    "cartclock.tui",
    "cartclock.demo_sessions",
}


@pytest.mark.parametrize(
    ("module", "banned"),
    [
        (
            "cartclock.engine.figures.heat",
            DISK | SCREEN | OWN_UPPER | {"msgspec", "cartclock.engine.plan"},
        ),
        (
            "cartclock.engine.figures.body",
            DISK | SCREEN | OWN_UPPER | {"msgspec", "cartclock.engine.plan"},
        ),
        ("cartclock.engine.record.record", DISK | SCREEN | OWN_UPPER),
        ("cartclock.engine.now.glance", DISK | SCREEN | OWN_UPPER),
        ("cartclock.engine.rules.changes", DISK | SCREEN | OWN_UPPER),
        (
            "cartclock.engine.paper.sheets.record",
            DISK
            | SCREEN
            | {"cartclock.engine.store", "cartclock.engine.desk.bench", "cartclock.tui"}
            | {"cartclock.engine.body.pace", "difflib"},
        ),
        (
            "cartclock.engine.paper.forms.calendar_form",
            DISK | SCREEN | {"cartclock.engine.store", "icalendar"},
        ),
        ("cartclock.engine.desk.outlet", SCREEN | {"cartclock.tui", "reportlab", "icalendar"}),
        ("cartclock.engine.desk.bench", SCREEN | {"cartclock.tui", "cartclock.engine.paper"}),
        (
            "cartclock.tui.cli",
            SCREEN
            | {
                "sqlite3",
                "cartclock.engine.store",
                "cartclock.engine.desk.bench",
                "cartclock.tui.commands.group",
            },
        ),
        (
            "cartclock.tui.commands.start",
            SCREEN
            | {
                "sqlite3",
                "cartclock.engine.store",
                "cartclock.engine.desk.bench",
                "cartclock.tui.commands.group",
            },
        ),
        ("cartclock.tui.told.sight", SCREEN | {"cartclock.tui.screens", "cartclock.tui.lists"}),
        (
            "cartclock.tui.app",
            {
                "click",
                "reportlab",
                "icalendar",
                "dateutil",
                "tzlocal",
                "tomllib",
                "ctypes",
                "_hashlib",
            }
            | {
                "cartclock.tui.commands.group",
                "cartclock.engine.desk.outlet",
                "cartclock.engine.desk.shelf",
                "cartclock.engine.paper.papers",
            },
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "banned",
)
def test_a_clean_interpreter_loads_nothing_from_above(module: str, banned: set[str]) -> None:
    code = f"import sys, {module}; print('\\n'.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert module in loaded
    assert not {name for name in loaded if name in banned or name.split(".")[0] in banned & SCREEN}


def test_a_record_loads_no_backports_of_what_python_has_and_leaves_them_to_others() -> None:
    code = (
        "import sys; from cartclock.tui.cli import _load_structs; _load_structs()\n"
        "import cartclock.tui.commands.group, cartclock.engine.desk.copies\n"
        "assert not {'typing_extensions', 'json', 'copy', 'difflib'} & {*sys.modules}\n"
        "import typing_extensions; typing_extensions.get_type_hints"
    )
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True)


def test_a_command_loads_no_other_one() -> None:
    code = (
        "import sys; from cartclock.tui.commands.group import commands\n"
        "commands.get_command(None, 'check'); room = 'cartclock.tui.commands.'\n"
        "print(*(name for name in sys.modules if name.startswith(room)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    room = "cartclock.tui.commands."
    assert {*done.stdout.split()} == {
        f"{room}{name}" for name in ("group", "door", "plan_files", "finishing")
    }


def test_the_screens_load_no_ciphers_and_leave_them_to_others() -> None:
    code = (
        "import sys; from cartclock.tui.commands.start import _load_loop; _load_loop(); "
        "import cartclock.tui.app\n"
        "assert 'asyncio' in sys.modules and 'ssl' not in sys.modules\n"
        "import ssl; ssl.create_default_context()\n"
        "import asyncio; asyncio.run(asyncio.sleep(0))"
    )
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True)
