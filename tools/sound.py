"""Makes the sound of a reminder: one soft swell of two low notes that dies away, with no pulse in it.

``python -m tools.sound`` writes it. It is our own, made from sines, and unlike the bursts of an alarm: it rises slowly,
sounds once, and lies below 600 Hz. Source: practice:H59 (a reminder is never taken for an alarm).
"""

from __future__ import annotations

import io
import math
import wave
from pathlib import Path

TARGET = Path(__file__).parent.parent / "src/ebbwell/web/static/sounds/reminder.wav"
RATE = 11025
"""Samples a second."""
LENGTH = 2.4
"""Seconds."""
NOTES = ((261.6, 0.6), (392.0, 0.4))
"""Hertz and share of each note."""
RISE = 0.35
"""Seconds in which it swells."""


def swell(at: float) -> float:
    """How loud it is at a time [s], 0 to 1: up slowly, then dying away, never up again."""
    if at < RISE:
        return math.sin(math.pi / 2 * at / RISE) ** 2
    return math.cos(math.pi / 2 * (at - RISE) / (LENGTH - RISE)) ** 2


def sound() -> bytes:
    """The file, the same bytes each time."""
    samples = bytearray()
    for n in range(int(RATE * LENGTH)):
        at = n / RATE
        tone = sum(share * math.sin(2 * math.pi * pitch * at) for pitch, share in NOTES)
        samples.append(128 + round(115 * swell(at) * tone))
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(1)
        file.setframerate(RATE)
        file.writeframes(bytes(samples))
    return out.getvalue()


if __name__ == "__main__":
    TARGET.parent.mkdir(exist_ok=True)
    TARGET.write_bytes(sound())
