"""Rings on the real screens, and by what they are heard: players and commands made for the test."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
import time
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from msgspec.structs import replace

import cartclock.tui.sound.alarm
import cartclock.tui.terminal.awake
from cartclock.engine.facts import events as ev
from cartclock.engine.now.ringing import URGENCIES, Alarm
from cartclock.engine.products.reminders import BeforeWork
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.store.settings import Settings
from cartclock.tui.commands.group import commands
from cartclock.tui.sound.alarm import Voice, missing
from cartclock.tui.sound.player import Running, noter, players, spoken
from cartclock.tui.sound.tones import RATE_HZ, TONES, wav
from tests.kit.plans import COAT, WIPE
from tests.kit.stage import Play, played, whole

ROOT = Path(__file__).parents[2]
posix = pytest.mark.skipif(sys.platform == "win32", reason="the fake players are shell scripts")
LATE = Alarm("a", "late", "bonnet left: late, level")


def script(folder: Path, name: str, body: str = 'printf "%s\\n" "$@" >> "$0.heard"') -> Path:
    """A program that writes down the words it is given, or does what `body` says."""
    folder.mkdir(exist_ok=True)
    file = folder / name
    file.write_text(f"#!/bin/sh\n{body}\n", "utf-8")
    file.chmod(0o755)
    return file


def words(file: Path) -> list[str]:
    """What a script was given, word by word."""
    heard = file.with_name(f"{file.name}.heard")
    return heard.read_text("utf-8").splitlines() if heard.exists() else []


def until(so: Callable[[], object]) -> None:
    """Waits for a process of another's; a busy machine may take its time."""
    end = time.monotonic() + 20
    while not so():
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.01)


def done(voice: Voice) -> None:
    """Until everything that was started has ended."""

    def quiet() -> bool:
        voice.mind()
        return not voice.busy

    until(quiet)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that is all of PATH, so that no real player is there."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setenv("CARTCLOCK_HOME", str(tmp_path / "home"))
    for name in ("printf", "sleep", "touch"):
        there = shutil.which(name, path="/usr/bin:/bin")
        if there:
            (folder / name).symlink_to(there)
    return folder


@pytest.fixture
def voices() -> Iterator[Callable[..., Voice]]:
    """Makes voices, and ends what they started."""
    made: list[Voice] = []

    def make(settings: AlarmSettings, folder: Path, **facts: Any) -> Voice:
        facts.setdefault("platform", "linux")
        made.append(Voice(settings, facts.pop("bell", lambda: None), folder / "sounds", **facts))
        return made[-1]

    yield make
    for voice in made:
        voice.close()


# Rings on the screens.


async def one_window(play: Play) -> None:
    """A film of a minute that is stood by; it opens in 45 s and closes in 4 minutes."""
    await play.press("space")
    await play.wind(60)
    await play.choose("stand by")
    await play.press("space")


async def rings_in(play: Play, seconds: int) -> list[int]:
    """The seconds from now on in which the bell rings; each is looked at several times."""
    found = []
    for second in range(1, seconds + 1):
        before = play.app.bells
        play.clock.wind(1)
        play.app.tick()
        play.app.repaint()
        assert play.app.bells - before <= 1
        found += [second] * (play.app.bells - before)
    play.bench.beat()
    await play.settle()
    return found


async def test_ready_rings_three_times_and_late_rings_on_and_stops(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await one_window(play)
        window = next(w for job in play.bench.jobs.values() for w in job.films)
        opens = (window.opens_us - play.bench.now_us) // 1_000_000
        assert await rings_in(play, opens + 10) == [opens, opens + 1, opens + 2]
        closes = (window.closes_us - play.bench.now_us) // 1_000_000
        on = [closes + second for second in (0, 1, 2, *range(30, 300, 30))]
        assert await rings_in(play, closes + 400) == on


async def test_what_is_taken_up_is_silent_at_once(tmp_path: Path) -> None:
    async with played(tmp_path, (COAT,)) as play:
        await one_window(play)
        await play.leap(300)
        assert await rings_in(play, 1) == [1]
        await play.choose("level")
        await play.press("space")
        assert "late" not in [alarm.urgency for alarm in play.app.voice.ringing.told]
        assert await rings_in(play, 60) == []


@posix
async def test_a_command_receives_the_sentence_once_for_three_rings(
    tmp_path: Path, path: Path
) -> None:
    say = script(path, "say-it")
    settings = Settings(alarm=AlarmSettings(commands={"ready": "say-it --calm"}))
    async with played(tmp_path, (COAT,), settings=settings) as play:
        await one_window(play)
        await play.wind(60)
        await rings_in(play, 3)
        done(play.app.voice)
        assert words(say) == ["--calm", "bonnet left: level"]
        assert play.app.voice.troubles == {}


@posix
async def test_a_command_that_fails_is_one_notice_and_no_stop(tmp_path: Path, path: Path) -> None:
    fails = script(path, "say-it", "exit 3")
    settings = Settings(alarm=AlarmSettings(commands={"ready": "say-it", "late": "none-such"}))
    async with played(tmp_path, (COAT,), settings=settings) as play:
        await one_window(play)
        await play.wind(60)
        done(play.app.voice)
        await play.wind(25)
        said = "The alarm command for ready failed with code 3."
        assert [notice for notice in play.glance.notices if "alarm command" in notice] == [said]
        assert said in play.notice
        assert play.app.bells == 1
        await play.wind(300)
        assert play.app.voice.troubles["late"] == (
            "The alarm command for late cannot be started: No such file or directory."
        )
        assert len([n for n in play.glance.notices if "alarm command" in n]) == 1
        assert whole(play) == []
        # The next one goes well.
        script(path, fails.name)
        play.app.voice.tell(Alarm("b", "ready", "roof: level"))
        play.app.voice.mind()
        done(play.app.voice)
        assert "ready" not in play.app.voice.troubles


async def test_a_missing_sign_of_life_rings_by_its_loudness(tmp_path: Path) -> None:
    quiet = Settings(reminders=BeforeWork(products=False))
    async with played(tmp_path, (WIPE,), settings=quiet) as play:
        await play.press("space", "j", "space")
        assert play.bench.rows[-1].event == ev.CheckedIn(900)
        await play.wind(899)
        assert await rings_in(play, 60) == [1, 2, 3]
        assert await rings_in(play, 60) == [1, 2, 3]
        await play.wind(181)
        # The first ring of this loudness was that of the second before.
        assert await rings_in(play, 60) == [1, 2, 20, 21, 22, 40, 41, 42, 60]
        await play.wind(245)
        assert len(await rings_in(play, 60)) >= 34


# What is heard by which means.


@posix
def test_a_sound_is_played_by_what_is_there(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    play = script(path, "aplay")
    voice = voices(AlarmSettings(sound=True), tmp_path)
    assert voice.player == "aplay"
    voice.hear([LATE], 0)
    done(voice)
    file = tmp_path / "sounds" / "late.wav"
    assert words(play) == ["-q", str(file)]
    assert file.read_bytes() == wav("late")
    # An emptied cache is filled again, and what is broken is written anew.
    file.write_bytes(b"")
    again = voices(AlarmSettings(sound=True), tmp_path)
    again.sound("late")
    done(again)
    assert file.read_bytes() == wav("late")
    file.unlink()
    again.sound("late")
    assert file.read_bytes() == wav("late")
    assert again.troubles == {}


@posix
def test_a_player_that_fails_gives_way_to_the_next(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    script(path, "pw-play", "exit 1")
    good = script(path, "paplay")
    voice = voices(AlarmSettings(sound=True), tmp_path)
    voice.sound("info")
    done(voice)
    assert voice.troubles == {"sound": "No sound: pw-play failed with code 1."}
    voice.sound("info")
    done(voice)
    assert words(good) == [str(tmp_path / "sounds" / "info.wav")]
    assert voice.troubles == {}


def test_without_a_player_the_bell_rings_and_a_sentence_says_so(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    bells: list[int] = []
    settings = AlarmSettings(sound=True, notify=True)
    voice = voices(settings, tmp_path, bell=lambda: bells.append(1))
    assert voice.troubles == {
        "sound": "No sound: no player found (pw-play, paplay, aplay).",
        "note": "No notes on the desktop: no tool found (notify-send).",
    }
    voice.hear([LATE], 0)
    assert (len(bells), voice.busy) == (1, False)


@posix
def test_sounds_that_cannot_be_kept_are_a_sentence(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    script(path, "aplay")
    (tmp_path / "sounds").write_text("in the way", "utf-8")
    voice = voices(AlarmSettings(sound=True), tmp_path)
    voice.hear([LATE], 0)
    assert voice.troubles["sound"].startswith("No sound: its file cannot be written: ")


@posix
def test_a_command_takes_the_place_of_the_sound_until_it_fails(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    play, say = script(path, "aplay"), script(path, "say-it", "exit 1")
    voice = voices(AlarmSettings(sound=True, commands={"late": "say-it"}), tmp_path)
    voice.hear([LATE], 0)
    done(voice)
    assert words(play) == []
    voice.hear([LATE], 1_000_000)
    done(voice)
    assert words(play)
    assert words(say) == []


@posix
def test_what_hangs_is_ended_with_its_children(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    script(path, "say-it", 'sleep 30 & printf x > "$0.pid"; wait; touch "$0.after"')
    now = 0.0
    voice = voices(AlarmSettings(commands={"late": "say-it"}), tmp_path, seconds=lambda: now)
    begun = time.monotonic()
    voice.hear([LATE], 0)
    assert time.monotonic() - begun < 5
    until((path / "say-it.pid").exists)
    voice.mind()
    assert (voice.busy, voice.troubles) == (True, {})
    now = 21.0
    voice.mind()
    assert not voice.busy
    assert voice.troubles == {"late": "The alarm command for late did not end within 20 s."}
    assert not (path / "say-it.after").exists()


@posix
@pytest.mark.parametrize(
    "body",
    [
        # It ends at once and leaves a child, or talks for ever.
        'sleep 30 & printf "$!" > "$0.pid"',
        'sleep 30 & printf "$!" > "$0.pid"; while :; do printf "%s\\n" "$@"; done',
        'while :; do printf "%s\\n" "$@" >&2; done & printf "$!" > "$0.pid"',
    ],
    ids=["leaves a child", "talks for ever", "leaves one that complains"],
)
@pytest.mark.parametrize("closed", [False, True], ids=["after its time", "at the end"])
def test_a_command_ends_with_all_it_started(
    tmp_path: Path, path: Path, voices: Callable[..., Voice], body: str, closed: bool
) -> None:
    script(path, "say-it", body)
    now = 0.0
    voice = voices(AlarmSettings(commands={"late": "say-it"}), tmp_path, seconds=lambda: now)
    voice.hear([LATE], 0)
    told = path / "say-it.pid"
    until(lambda: told.exists() and told.read_text())
    child = int(told.read_text())
    os.kill(child, 0)
    voice.mind()
    assert (voice.busy, voice.troubles) == (True, {})
    now = 21.0
    voice.close() if closed else voice.mind()
    assert not voice.busy
    until(lambda: not alive(child))
    said = "The alarm command for late did not end within 20 s."
    assert voice.troubles == ({} if closed else {"late": said})


def alive(number: int) -> bool:
    """Whether a process runs; one of which nobody took note that it ended does not."""
    seen = subprocess.run(["/bin/ps", "-o", "stat=", "-p", str(number)], capture_output=True)
    return seen.stdout.strip()[:1] not in (b"", b"Z")


@posix
def test_sentences_of_one_urgency_are_said_one_after_the_other(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    body = '[ -e "$0.busy" ] && printf "at once\\n" >> "$0.heard"; touch "$0.busy"; sleep 0.1'
    say = script(
        path, "say-it", f'{body}; printf "%s\\n" "$@" >> "$0.heard"; exec /bin/rm "$0.busy"'
    )
    voice = voices(AlarmSettings(commands={"late": "say-it"}), tmp_path)
    alarms = [Alarm(str(n), "late", f"panel {n}: late, level") for n in range(3)]
    # The same sentence of another section is said once.
    voice.hear([*alarms, Alarm("x", "late", "panel 2: late, level")], 0)
    done(voice)
    assert words(say) == [alarm.sentence for alarm in alarms]
    # What ended while it waited is not said any more.
    again = [replace(alarm, key=f"{alarm.key} again") for alarm in alarms]
    voice.hear(again, 40_000_000)
    voice.hear(again[:1], 41_000_000)
    done(voice)
    assert words(say)[3:] == ["panel 0: late, level"]


@posix
def test_notes_on_the_desktop_for_what_presses_only(
    tmp_path: Path, path: Path, voices: Callable[..., Voice]
) -> None:
    note = script(path, "notify-send")
    voice = voices(AlarmSettings(notify=True), tmp_path)
    assert voice.noter == "notify-send"
    for number, urgency in enumerate(URGENCIES):
        voice.hear([Alarm(urgency, urgency, f"-- {urgency}\x1b now")], number * 10_000_000)
        done(voice)
    heard = [word for word in words(note) if word.endswith("now")]
    assert heard == ["late  now", "rest  now", "emergency  now"]


def test_the_line_to_the_screen_is_closed(tmp_path: Path) -> None:
    code = "import os, sys; sys.stdout.write('x'); sys.stderr.write('x'); open(sys.argv[1], 'w')"
    file = tmp_path / "there"
    outer = (
        "import sys, time; from cartclock.tui.sound.player import Running\n"
        f"one = Running((sys.executable, '-c', {code!r}, {str(file)!r}), 60, time.monotonic)\n"
        "while one.failure() is None: time.sleep(0.01)\n"
        "assert one.failure() == ''"
    )
    seen = subprocess.run([sys.executable, "-c", outer], capture_output=True, cwd=ROOT)
    assert (seen.returncode, seen.stdout, seen.stderr) == (0, b"", b"")
    assert file.exists()


def test_what_cannot_be_started_raises_what_is_caught() -> None:
    with pytest.raises(OSError, match="none-such"):
        Running(("none-such",), 1, time.monotonic)


@pytest.mark.parametrize(
    ("there", "platform", "found"),
    [
        ("aplay pw-play", "linux", ["pw-play", "aplay"]),
        ("", "linux", []),
        ("afplay aplay", "darwin", ["afplay"]),
        ("", "darwin", []),
        ("", "win32", [sys.executable]),
    ],
    ids=["linux", "bare linux", "macos", "bare macos", "windows"],
)
def test_players_of_a_system(there: str, platform: str, found: list[str]) -> None:
    def which(name: str) -> str | None:
        return name if name in there.split() else None

    assert [player[0] for player in players(platform, which)] == found


def test_tools_for_notes_of_a_system() -> None:
    assert noter("darwin", str)[:2] == ("osascript", "-e")
    assert noter("linux", str)[-1] == "--"
    assert noter("win32", str) == ()
    assert noter("linux", lambda _name: None) == ()


@pytest.mark.parametrize(
    ("sentence", "word"),
    [
        ("bonnet left: level", "bonnet left: level"),
        ("--help: level", "help: level"),
        (" - -x", "x"),
        ("a\x1b]0;b\x07c\nd\x9b", "a ]0;b c d"),
    ],
)
def test_a_sentence_is_one_plain_word(sentence: str, word: str) -> None:
    assert spoken(sentence) == word


# Sounds.


@pytest.mark.parametrize("urgency", URGENCIES)
def test_a_sound_is_short_loud_and_begins_and_ends_in_silence(urgency: str) -> None:
    with wave.open(io.BytesIO(wav(urgency)), "rb") as file:  # type: ignore[arg-type]  # by name
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        assert 0.2 < file.getnframes() / RATE_HZ < 1
        held = file.readframes(file.getnframes())
    heights = [
        int.from_bytes(held[at : at + 2], "little", signed=True) for at in range(0, len(held), 2)
    ]
    assert heights[0] == heights[-1] == 0
    assert 20_000 < max(heights) < 32_767


def test_sounds_tell_themselves_apart() -> None:
    assert set(TONES) == set(URGENCIES)
    melodies = {tuple(pitch for pitch, _seconds in tones) for tones in TONES.values()}
    assert len(melodies) == len(URGENCIES)
    assert len({len(wav(urgency)) for urgency in URGENCIES}) == len(URGENCIES)


# The command.


def rehearsed(home: Path, settings: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """What `cartclock test-alarm` prints."""
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text(settings, "utf-8")
    monkeypatch.setattr(cartclock.tui.sound.alarm, "PAUSE_S", 0.0)
    seen = CliRunner().invoke(commands, ["test-alarm"])
    assert seen.exit_code == 0, seen.output
    return seen.output


@posix
def test_the_command_rings_every_urgency_and_says_by_what(
    tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    play, say, note = (script(path, name) for name in ("aplay", "say-it", "notify-send"))
    monkeypatch.setattr(sys, "platform", "linux")
    said = rehearsed(
        tmp_path / "home",
        'alarm = { sound = true, notify = true, commands = { rest = "say-it" } }',
        monkeypatch,
    )
    for urgency in URGENCIES:
        assert f"{urgency}: " in said
    assert said.count("heard by bell, sound by aplay") == 4
    assert "heard by bell, command: say-it, note by notify-send" in said
    files = [word for word in words(play) if word.endswith(".wav")]
    assert [Path(file).stem for file in files] == ["info", "ready", "late", "emergency"]
    assert words(say) == ["rest now, 20 minutes"]
    assert "bonnet left: late, level" in words(note)
    assert "off" not in said


def test_the_command_says_what_is_missing(
    tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = rehearsed(tmp_path / "home", "bell = false", monkeypatch)
    assert said.count("heard by nothing") == len(URGENCIES)
    for missed in ("The bell is off", "The sound is off", "No command", "desktop are off"):
        assert missed in said
    said = rehearsed(tmp_path / "home", "alarm = { sound = true }", monkeypatch)
    assert said.count("No sound: no player found") == 1


def test_what_is_missing_names_the_player_there_would_be(
    tmp_path: Path, path: Path, voices: Callable[..., Voice], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cartclock.tui.sound.alarm, "players", lambda: [("aplay", "-q")])
    said = list(missing(voices(AlarmSettings(), tmp_path)))
    assert any("plays it by aplay." in line for line in said)
