"""How an alarm is heard: the terminal's bell, a sound, a command of the worker's own, a note on
the desktop. What fails is a sentence, never a stop.
"""

from __future__ import annotations

import os
import shlex
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from cartclock.engine.now.alarm import rehearsed
from cartclock.engine.now.ringing import Alarm, Ringing, Urgency, ring
from cartclock.engine.store.alarm_settings import AlarmSettings
from cartclock.engine.times import Instant
from cartclock.tui.sound.player import Running, Which, noter, players, spoken

# Our own judgement: a sound takes a second, a spoken sentence a few.
SOUND_TIMEOUT_S = 5.0
COMMAND_TIMEOUT_S = 20.0
# A rehearsal leaves so much silence between two alarms.
PAUSE_S = 1.0
# What is worth a note on the desktop.
NOTED: frozenset[Urgency] = frozenset({"late", "rest", "emergency"})
NOTE = "note"


class Voice:
    """Rings, plays, notes and speaks.

    Args:
        settings: how alarms are to be heard.
        bell: rings the terminal's bell.
        folder: where the sounds are kept; made on use.
        seconds: a clock for what takes too long.
        platform, which: what there is to play with.

    Fields:
        ringing: what is heard, and what was.
        troubles: what failed last -> one sentence on it; empty if all went well.
    """

    def __init__(
        self,
        settings: AlarmSettings,
        bell: Callable[[], None],
        folder: Path,
        seconds: Callable[[], float] = time.monotonic,
        platform: str = sys.platform,
        which: Which = shutil.which,
    ) -> None:
        self.settings = settings
        self.ringing = Ringing()
        self.troubles: dict[str, str] = {}
        self._bell, self._folder, self._seconds = bell, folder, seconds
        self._players = players(platform, which) if settings.sound else []
        self._noter = noter(platform, which) if settings.notify else ()
        self._kept: set[Urgency] = set()
        # One of each at a time: "sound", NOTE, and the command of each urgency.
        self._running: dict[str, Running] = {}
        # Alarms whose sentence waits for the one before to be said.
        self._waiting: dict[str, list[Alarm]] = {}
        if settings.sound and not self._players:
            wanted = "afplay" if platform == "darwin" else "pw-play, paplay, aplay"
            self.troubles["sound"] = f"No sound: no player found ({wanted})."
        if settings.notify and not self._noter:
            self.troubles[NOTE] = "No notes on the desktop: no tool found (notify-send)."

    @property
    def player(self) -> str:
        """Name of the player in use; "" if there is none."""
        return Path(self._players[0][0]).stem if self._players else ""

    @property
    def noter(self) -> str:
        """Name of the tool for notes on the desktop; "" if there is none."""
        return self._noter[0] if self._noter else ""

    @property
    def busy(self) -> bool:
        """True while a process runs or a sentence waits."""
        return bool(self._running) or any(self._waiting.values())

    def hear(self, found: Sequence[Alarm], now_us: Instant) -> None:
        """What is to be heard of these alarms, most urgent first; called at every repaint."""
        self.ringing = ring(self.ringing, found, now_us)
        standing = {alarm.key for alarm in found}
        for way, waiting in self._waiting.items():
            self._waiting[way] = [alarm for alarm in waiting if alarm.key in standing]
        if self.ringing.ringing is not None:
            self.sound(self.ringing.ringing.urgency)
        said: set[str] = set()
        for alarm in self.ringing.told:
            if alarm.sentence not in said:
                said.add(alarm.sentence)
                self.tell(alarm)
        self.mind()

    def sound(self, urgency: Urgency) -> None:
        """One ring: the bell, and the sound unless a command takes its place."""
        if self.settings.bell:
            self._bell()
        replaced = urgency in self.settings.commands and urgency not in self.troubles
        if self._players and not replaced and "sound" not in self._running:
            try:
                file = str(self.kept(urgency))
            except OSError as why:
                self.troubles["sound"] = f"No sound: its file cannot be written: {why.strerror}."
                return
            self._start("sound", (*self._players[0], file), SOUND_TIMEOUT_S)

    def tell(self, alarm: Alarm) -> None:
        """The sentence of an alarm, by the command of its urgency and on the desktop."""
        ways: list[str] = [alarm.urgency] if alarm.urgency in self.settings.commands else []
        ways += [NOTE] if self._noter and alarm.urgency in NOTED else []
        for way in ways:
            waiting = self._waiting.setdefault(way, [])
            if alarm.key not in [one.key for one in waiting]:
                waiting.append(alarm)

    def mind(self) -> None:
        """Looks after what runs: ends what takes too long, and goes on to what waits."""
        for what, process in list(self._running.items()):
            failure = process.failure()
            if failure is not None:
                del self._running[what]
                self._ended(what, failure)
        for way, waiting in self._waiting.items():
            if waiting and way not in self._running:
                alarm = waiting.pop(0)
                words, timeout_s = self._noter, SOUND_TIMEOUT_S
                if way != NOTE:
                    words = tuple(shlex.split(self.settings.commands[alarm.urgency]))
                    timeout_s = COMMAND_TIMEOUT_S
                self._start(way, (*words, spoken(alarm.sentence)), timeout_s)

    def kept(self, urgency: Urgency) -> Path:
        """The WAV file of an urgency, written if it is not there. Raises OSError."""
        file = self._folder / f"{urgency}.wav"
        # A cache may be emptied at any time.
        if urgency in self._kept and file.exists():
            return file
        # On use: without sound nothing of it is needed.
        from cartclock.tui.sound.tones import wav

        held = wav(urgency)
        if not file.exists() or file.read_bytes() != held:
            self._folder.mkdir(parents=True, exist_ok=True)
            # Whole or not at all: two programs may write it at once.
            part = file.with_suffix(f".{os.getpid()}.part")
            part.write_bytes(held)
            part.replace(file)
        self._kept.add(urgency)
        return file

    def close(self) -> None:
        """Ends everything that still runs."""
        self._waiting.clear()
        for process in self._running.values():
            process.end()
        self._running.clear()

    def _start(self, what: str, words: Sequence[str], timeout_s: float) -> None:
        try:
            self._running[what] = Running(words, timeout_s, self._seconds)
        except (OSError, ValueError) as why:
            said = why.strerror if isinstance(why, OSError) else why
            self._ended(what, f"cannot be started: {said}")

    def _ended(self, what: str, failure: str) -> None:
        if not failure:
            self.troubles.pop(what, None)
        elif what == "sound":
            self.troubles[what] = f"No sound: {self.player} {failure}."
            # There may be another one; the last one is tried again at the next ring.
            self._players = self._players[1:] or self._players
        elif what == NOTE:
            self.troubles[what] = f"No note on the desktop: {self.noter} {failure}."
        else:
            self.troubles[what] = f"The alarm command for {what} {failure}."


def rehearse(voice: Voice, pause: Callable[[float], None] = time.sleep) -> Iterator[str]:
    """Rings one alarm of each urgency in turn; tells what each is heard by, and what is missing."""
    settings = voice.settings
    said: set[str] = set()
    for alarm in rehearsed():
        yield f"{alarm.urgency}: {alarm.sentence}"
        heard = ["bell"] if settings.bell else []
        command = settings.commands.get(alarm.urgency)
        if command:
            heard.append(f"command: {command}")
        elif voice.player:
            heard.append(f"sound by {voice.player}")
        if voice.noter and alarm.urgency in NOTED:
            heard.append(f"note by {voice.noter}")
        yield f"  heard by {', '.join(heard)}" if heard else "  heard by nothing"
        voice.sound(alarm.urgency)
        voice.tell(alarm)
        voice.mind()
        pause(PAUSE_S)
        while voice.busy:
            pause(0.1)
            voice.mind()
        for sentence in [one for one in voice.troubles.values() if one not in said]:
            said.add(sentence)
            yield f"  {sentence}"
    yield from missing(voice)


def missing(voice: Voice) -> Iterator[str]:
    """What the settings leave out or the machine has not."""
    settings = voice.settings
    if not settings.bell:
        yield "The bell is off: alarm = { bell = true } rings it."
    if not settings.sound:
        there = players()
        by = f" by {Path(there[0][0]).stem}" if there else ", once there is a player"
        yield f"The sound is off: alarm = {{ sound = true }} plays it{by}."
    if not settings.commands:
        yield 'No command: alarm = { commands = { late = "say-it" } } runs one with the sentence.'
    if not settings.notify:
        yield "Notes on the desktop are off: alarm = { notify = true } shows them."
