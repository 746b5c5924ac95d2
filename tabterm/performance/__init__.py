"""From a score to timed attacks and MIDI messages: repeats, swing, slurs, bends, click, chords and bass."""

from tabterm.performance.model import (
    ALL_PARTS,
    AS_WRITTEN,
    SOLO_ALONE,
    Attack,
    Click,
    Mark,
    Options,
    Part,
    Performance,
    Pluck,
    Release,
    TimedMessage,
    ToneControls,
)
from tabterm.performance.perform import perform, playing_order

__all__ = [
    "ALL_PARTS",
    "AS_WRITTEN",
    "SOLO_ALONE",
    "Attack",
    "Click",
    "Mark",
    "Options",
    "Part",
    "Performance",
    "Pluck",
    "Release",
    "TimedMessage",
    "ToneControls",
    "perform",
    "playing_order",
]
