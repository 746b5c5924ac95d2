"""What a performance is: messages and marks on a time line in seconds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.place import Place


@dataclass(frozen=True, slots=True)
class Options:
    """How a score is to be played.

    Attributes:
        tempo_percent: 20 to 200 percent of the written tempo.
        count_in: Measures counted before the start, 0 to 2.
        click: Sound the beat while the music plays; a count-in always sounds.
    """

    tempo_percent: int = 100
    count_in: int = 0
    click: bool = False


class TimedMessage(NamedTuple):
    """A MIDI channel message of three bytes and when it is due, in seconds from the start."""

    time_s: float
    data: bytes


class Mark(NamedTuple):
    """Where in the score the performance is from a moment on."""

    time_s: float
    place: Place


@dataclass(frozen=True, slots=True)
class Performance:
    """A score, or a part of it, ready to be sent.

    Attributes:
        setup: Messages to send once before everything else: programs and bend ranges.
        messages: In order of time; at one moment note-offs come first, then bends, then note-ons. At the end
            no note sounds and no bend is left, so that the whole from `lead_s` on can be sent again.
        marks: In order of time: every onset and every beat.
        measures: The measures in playing order, each with its time.
        lead_s: Length of the count-in; a loop goes back to this moment.
        duration_s: Musical length, count-in included; nothing sounds on after it.
    """

    setup: tuple[bytes, ...]
    messages: tuple[TimedMessage, ...]
    marks: tuple[Mark, ...]
    measures: tuple[PlayedMeasure, ...]
    lead_s: float
    duration_s: float
