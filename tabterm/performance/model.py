"""What a performance is: messages and marks on a time line in seconds."""

from __future__ import annotations

from enum import Enum, StrEnum
from typing import TYPE_CHECKING, Final, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.score.record_mix import AS_IT_IS, RecordMix

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.click_rests import ClickRests
    from tabterm.score.model import Swing
    from tabterm.score.place import Place


class Part(StrEnum):
    """Who plays: what can be heard, or left out, on its own."""

    SOLO = "solo"
    CHORDS = "chords"
    BASS = "bass"
    CLICK = "click"


SOLO_ALONE: Final = frozenset({Part.SOLO})
ALL_PARTS: Final = frozenset({Part.SOLO, Part.CHORDS, Part.BASS})
"""Everybody who plays notes; the click is asked for by itself."""


class ToneControls(NamedTuple):
    """What the built-in strings sound like, each in percent of what they are made as.

    Attributes:
        brightness: How far the spectrum reaches, and how much of the pick is heard.
        body: What the body and the open courses answer.
        room: What the room reflects.
        detuning: How far apart the two strings of a course are.
    """

    brightness: int = 100  #: %; definition: as made
    body: int = 100  #: %; definition: as made
    room: int = 100  #: %; definition: as made
    detuning: int = 100  #: %; definition: as made


AS_MADE: Final = ToneControls()


class Click(StrEnum):
    """Where the click falls: nowhere, on the beats, the first of a measure accented, or between them."""

    OFF = "off"
    BEATS = "beats"
    OFFBEATS = "offbeats"


class AsWritten(Enum):
    """The one value that stands for what the score says."""

    AS_WRITTEN = "as written"


AS_WRITTEN: Final = AsWritten.AS_WRITTEN


@dataclass(frozen=True, slots=True)
class Options:
    """How a score is to be played.

    Attributes:
        tempo_percent: 20 to 200 percent of the written tempo.
        count_in: Measures counted before the start, 0 to 2.
        click: Where it clicks while the music plays; a count-in always sounds, on the beats.
        click_rests: Where the click rests; measures in turn are counted from the first whole one played.
        parts: Who is heard. Chords and bass come from the chord symbols.
        style: Name of the accompaniment's style in `styles.STYLES`, or None for the one that metre and swing
            propose.
        groove: The style's accents and its playing before or behind the beat; without it every note of the
            accompaniment lies on its place in the measure and is as loud as the others of its kind.
        swing: Instead of the score's swing, None for straight.
        levels: How loud each part is, in percent of its MIDI velocity; what is not named is as it is.
        tone: What the built-in strings sound like.
    """

    tempo_percent: float = 100  #: %; definition: as written
    count_in: int = 0
    click: Click = Click.OFF
    click_rests: ClickRests | None = None
    parts: frozenset[Part] = SOLO_ALONE
    style: str | None = None
    groove: bool = True
    swing: Swing | AsWritten | None = AS_WRITTEN
    levels: tuple[tuple[Part, int], ...] = ()
    tone: ToneControls = AS_MADE

    def louder(self, part: Part, velocity: int) -> int:
        """The velocity of an attack of a part at its level, 1 to 127; 0 where the part is silent."""
        level = dict(self.levels).get(part, 100)
        return min(max(round(velocity * level / 100), 1), 127) if level else 0


class TimedMessage(NamedTuple):
    """A MIDI channel message of three bytes and when it is due, in seconds from the start."""

    time_s: float
    data: bytes


class Attack(StrEnum):
    """What sets a string off: a stroke of the pick, or a finger of the left hand."""

    DOWN = "down"
    UP = "up"
    HAMMER = "hammer"
    PULL = "pull"


class Release(StrEnum):
    """What the finger of a stopped note does when the note ends before the next attack on its course.

    It leaves the course, which is open then, or it lets go of the fret and lies on the course still.
    """

    NONE = "none"
    DAMPS = "damps"
    LEAVES = "leaves"


class Pluck(NamedTuple):
    """One attack on a course and what becomes of it until it is stopped: what a string model needs to know.

    Attributes:
        part: Who plays it.
        course: 1 = highest, of the score's instrument for solo and chords; always 1 for the bass, each of whose
            notes ends the one before; 0 where the part has no courses (click).
        pitch: MIDI note number at the attack; of a click, the note of the General MIDI percussion map.
        start_s: Attack, in seconds from the start of the performance.
        end_s: When it is stopped.
        velocity: 1 to 127.
        attack: What sets it off.
        muted: A dead note.
        curve: (time in s, cents from `pitch`) in order of time, absolute times; pitch goes straight from one
            point to the next, from 0 cents at the attack where no point lies there, and stays at the last.
        release: What its finger does at the end.
    """

    part: Part
    course: int
    pitch: int
    start_s: float
    end_s: float
    velocity: int
    attack: Attack = Attack.DOWN
    muted: bool = False
    curve: tuple[tuple[float, float], ...] = ()
    release: Release = Release.NONE


class Mark(NamedTuple):
    """Where in the score the performance is from a moment on."""

    time_s: float
    place: Place


class Passage(NamedTuple):
    """A part of a recording, and when it begins in the performance; all in seconds."""

    start_s: float
    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Record:
    """A recording that sounds along with a performance, or alone in it.

    Attributes:
        path: The file.
        mark: Tells its sound from that of any other file.
        speed: Share of its own speed.
        semitones: How much higher, or (negative) lower, in semitones and parts of them.
        level: Share of its own level.
        apart: The recording is heard left and all else right.
        mix: Which side of it, how balanced, and which register is brought forward.
        passages: What is heard of it, in order of time.
    """

    path: str
    mark: str
    speed: float = 1.0  #: share; definition: its own
    semitones: float = 0.0  #: semitones; definition: its own
    level: float = 1.0  #: share; definition: its own
    apart: bool = False
    mix: RecordMix = AS_IT_IS  #: words; definition: all of it
    passages: tuple[Passage, ...] = ()


@dataclass(frozen=True, slots=True)
class Performance:
    """A score, or a part of it, ready to be sent.

    Attributes:
        setup: Messages to send once before everything else: programs and bend ranges.
        messages: In order of time; at one moment note-offs come first, then bends, then note-ons. At the end
            no note sounds and no bend is left, so that the whole from `lead_s` on can be sent again.
        plucks: The same as attacks on strings and clicks, in order of time.
        marks: In order of time: every onset and every beat.
        measures: The measures in playing order, each with its time.
        lead_s: Length of the count-in; a loop goes back to this moment.
        duration_s: Musical length, count-in included; nothing sounds on after it.
        instrument: What it is played on.
        tone: What its strings sound like.
        record: The recording that is heard with it.
    """

    setup: tuple[bytes, ...]
    messages: tuple[TimedMessage, ...]
    plucks: tuple[Pluck, ...]
    marks: tuple[Mark, ...]
    measures: tuple[PlayedMeasure, ...]
    lead_s: float
    duration_s: float
    instrument: Instrument
    tone: ToneControls = AS_MADE
    record: Record | None = None
