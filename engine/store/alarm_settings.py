"""How alarms are heard, as the worker has settled it: bell, sound, notification, commands."""

from __future__ import annotations

from msgspec import Struct


class AlarmSettings(Struct, frozen=True):
    """What makes an alarm heard.

    Fields:
        bell: False silences the terminal's bell.
        sound: True plays a short sound, another one for each urgency.
        notify: True shows a notification on the desktop for what is late, a rest, an emergency.
        commands: urgency -> a command line that is given the sentence as its last word; it
            takes the place of the sound.
        signal: False leaves the ground of Run as it is; else ink and ground change places for a
            second where a new state is to be seen.
    """

    bell: bool = True
    sound: bool = False
    notify: bool = False
    commands: dict[str, str] = {}
    signal: bool = True
