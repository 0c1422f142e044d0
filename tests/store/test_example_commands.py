"""The example commands, with what a bare Linux has: a shell, awk, and files as the kernel shows."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import cartclock.engine.store.laptop
from cartclock.engine.store.laptop.instrument import polled
from cartclock.engine.trouble import Refused

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="they are for a shell")
EXAMPLES = Path(cartclock.engine.store.laptop.__path__[0]) / "examples"


def command(name: str, *words: str) -> str:
    return shlex.join(("sh", str(EXAMPLES / name), *words))


def bare(folder: Path, *programs: str) -> str:
    """A path on which nothing but some programs lies."""
    tools = folder / "bin"
    tools.mkdir()
    for program in programs:
        found = shutil.which(program)
        assert found is not None
        (tools / program).symlink_to(found)
    return str(tools)


def sensor(folder: Path, chip: str, **files: str) -> None:
    (folder / chip).mkdir()
    for key, value in files.items():
        (folder / chip / key).write_text(f"{value}\n")


async def test_air_is_read_of_the_first_sensor_of_humidity(tmp_path: Path) -> None:
    sensor(tmp_path, "hwmon0", name="cpu", temp1_input="61000")
    sensor(tmp_path, "hwmon1", name="sht3x", temp1_input="31540", humidity1_input="43700")
    reading = await polled(command("read-air", str(tmp_path)))
    assert (reading.air_c, reading.rh) == (31.5, 44.0)


async def test_frost_is_read_with_its_sign(tmp_path: Path) -> None:
    sensor(tmp_path, "hwmon0", temp1_input="-3250", humidity1_input="90000")
    assert (await polled(command("read-air", str(tmp_path)))).air_c == pytest.approx(
        -3.25, abs=0.06
    )


async def test_without_a_sensor_it_fails_and_says_so(tmp_path: Path) -> None:
    sensor(tmp_path, "hwmon0", temp1_input="61000")
    with pytest.raises(Refused, match="failed with code 1"):
        await polled(command("read-air", str(tmp_path)))


def test_a_shell_cat_and_awk_are_all_it_needs(tmp_path: Path) -> None:
    path = bare(tmp_path, "sh", "cat", "awk")
    sensor(tmp_path, "hwmon0", temp1_input="20000", humidity1_input="50000")
    done = subprocess.run(
        ["sh", str(EXAMPLES / "read-air"), str(tmp_path)],
        env={"PATH": path},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout == "air_c=20.0 rh=50\n"


def test_where_nothing_speaks_the_bell_rings_three_times(tmp_path: Path) -> None:
    done = subprocess.run(
        ["sh", str(EXAMPLES / "say-it"), "LATE: bonnet"],
        env={"PATH": bare(tmp_path, "sh", "uname", "sleep")},
        capture_output=True,
        check=True,
        # Without a terminal of its own.
        start_new_session=True,
    )
    assert done.stdout == b"\a\a\a"


def test_where_something_speaks_it_is_given_the_sentence_and_no_option(tmp_path: Path) -> None:
    path = bare(tmp_path, "sh")
    said = tmp_path / "said"
    speaker = Path(path) / "spd-say"
    speaker.write_text(f'#!/bin/sh\nprintf "%s|" "$@" > {said}\n')
    speaker.chmod(0o755)
    subprocess.run(
        ["sh", str(EXAMPLES / "say-it"), "late", "-x $(touch no)"], env={"PATH": path}, check=True
    )
    assert said.read_text() == "--wait|--|-x $(touch no)|"
