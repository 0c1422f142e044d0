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
OWN_UPPER = {"engine.store", "engine.paper", "engine.bench", "engine.shop", "tui", "demo_sessions"}


@pytest.mark.parametrize(
    ("module", "banned"),
    [
        ("engine.figures.heat", DISK | SCREEN | OWN_UPPER | {"msgspec", "engine.job"}),
        ("engine.figures.body", DISK | SCREEN | OWN_UPPER | {"msgspec", "engine.job"}),
        ("engine.job.record", DISK | SCREEN | OWN_UPPER),
        ("engine.job.glance", DISK | SCREEN | OWN_UPPER),
        ("engine.job.changes", DISK | SCREEN | OWN_UPPER),
        ("engine.paper.sheets.record", DISK | SCREEN | {"engine.store", "engine.bench", "tui"}),
        ("engine.paper.forms.calendar_form", DISK | SCREEN | {"engine.store", "icalendar"}),
        ("engine.outlet", SCREEN | {"tui", "reportlab", "icalendar"}),
        ("engine.bench", SCREEN | {"tui", "engine.paper"}),
        ("tui.cli", SCREEN | {"sqlite3", "engine.store", "engine.bench", "tui.commands"}),
        ("tui.start", SCREEN | {"sqlite3", "engine.store", "engine.bench", "tui.commands"}),
        (
            "tui.app",
            {"click", "reportlab", "icalendar", "dateutil", "tzlocal", "tomllib", "ctypes"}
            | {"tui.commands", "engine.outlet", "engine.shelf", "engine.paper.papers"},
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


def test_the_screens_load_no_ciphers_and_leave_them_to_others() -> None:
    code = (
        "import sys; from tui.start import _load_loop; _load_loop(); import tui.app\n"
        "assert 'asyncio' in sys.modules and 'ssl' not in sys.modules\n"
        "import ssl; ssl.create_default_context()\n"
        "import asyncio; asyncio.run(asyncio.sleep(0))"
    )
    subprocess.run([sys.executable, "-W", "error", "-c", code], check=True)
