"""A reading from a command: what it prints, and every way in which it may fail."""

from __future__ import annotations

import shlex
import sys
import time

import pytest

from cartclock.engine.facts import events as ev
from cartclock.engine.store.laptop.instrument import polled, read_printed
from cartclock.engine.trouble import Refused


def test_values_are_found_among_other_words() -> None:
    text = "garage: air_c=31.5, rh=44; panel_c=38 battery=3.1 wbgt_c = 27.25\n"
    assert read_printed(text) == ev.ReadingTaken(31.5, 44.0, panel_c=38.0, wbgt_c=27.25)


def test_place_and_air_movement_stay_as_they_were() -> None:
    last = ev.ReadingTaken(20, 50, panel_c=21, place="sun", moving="fan", rain_at_us=5)
    assert read_printed("air_c=31 rh=44", last) == ev.ReadingTaken(
        31.0, 44.0, place="sun", moving="fan"
    )


@pytest.mark.parametrize(
    ("printed", "says"),
    [
        ("", "no air_c and no rh"),
        ("air_c=31", "no rh"),
        ("air_c=31 rh=140", "rh='140'"),
        ("air_c=inf rh=40", "air_c='inf'"),
        ("air_c=warm rh=40", "air_c='warm'"),
        ("air_c=31 rh=40 globe_c=900", "globe_c='900'"),
    ],
)
def test_what_cannot_be_is_refused(printed: str, says: str) -> None:
    with pytest.raises(Refused, match=says):
        read_printed(printed)


async def test_a_command_that_hangs_is_stopped() -> None:
    hangs = shlex.join([sys.executable, "-c", "import time; time.sleep(60)"])
    begun = time.monotonic()
    with pytest.raises(Refused, match=r"did not answer within 0\.3 s"):
        await polled(hangs, timeout_s=0.3)
    assert time.monotonic() - begun < 20


@pytest.mark.parametrize(
    "command", ["no-such-program-here --x", "'unclosed", ""], ids=["missing", "quote", "empty"]
)
async def test_a_command_that_cannot_start_is_a_sentence(command: str) -> None:
    with pytest.raises(Refused, match="cannot be started"):
        await polled(command)


async def test_bytes_that_are_no_text_do_no_harm() -> None:
    prints = "import sys; sys.stdout.buffer.write(b'\\xff\\x9a air_c=30 rh=40')"
    command = shlex.join([sys.executable, "-c", prints])
    assert await polled(command) == ev.ReadingTaken(30.0, 40.0)
