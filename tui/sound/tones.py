"""A short sound for each urgency, made of plain tones; they tell themselves apart by their number,
their way up or down and their speed.

Pitches between 500 and 1500 Hz, where the small loudspeaker of a laptop is loudest. All of it
is our own judgement, and no laptop is sure to be heard over a polisher.
"""

from __future__ import annotations

import array
import io
import math
import sys
import wave

from cartclock.engine.now.ringing import Urgency

RATE_HZ = 22050
# Of the full scale of 16 bits.
LOUDNESS = 0.8
# Rise and fall of a tone, so that it does not click.
EDGE_S = 0.008
# The highest point of a tone and a third of its third harmonic, by definition.
CREST = 2 * math.sqrt(2) / 3

# (pitch in Hz, 0 for silence; length in seconds), one after the other, less than a second in all.
TONES: dict[Urgency, tuple[tuple[int, float], ...]] = {
    "info": ((660, 0.25),),
    "ready": ((660, 0.15), (990, 0.25)),
    "late": ((1320, 0.12), (0, 0.06)) * 3,
    "rest": ((740, 0.25), (622, 0.25), (523, 0.35)),
    "emergency": ((1480, 0.1), (1050, 0.1)) * 4,
}


def samples(urgency: Urgency) -> array.array[int]:
    """The sound as 16-bit samples, one channel, RATE_HZ of them a second."""
    found = array.array("h")
    for pitch_hz, seconds in TONES[urgency]:
        count, edge = round(seconds * RATE_HZ), round(EDGE_S * RATE_HZ)
        turn = 2 * math.pi * pitch_hz / RATE_HZ
        for at in range(count):
            # A third of the third harmonic carries further from a small loudspeaker.
            height = (math.sin(turn * at) + math.sin(3 * turn * at) / 3) / CREST
            swell = min(1.0, at / edge, (count - 1 - at) / edge)
            found.append(round(32767 * LOUDNESS * swell * height))
    return found


def wav(urgency: Urgency) -> bytes:
    """The sound as a whole WAV file."""
    held = samples(urgency)
    if sys.byteorder == "big":
        # A WAV file is little endian.
        held.byteswap()
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        out.writeframes(held.tobytes())
    return file.getvalue()
