"""The voicing of an instrument: what its parts, courses and strings sound like, as numbers that cross a link."""

from __future__ import annotations

import math
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any, Self

from tabterm.dataclass import dataclass
from tabterm.performance.model import AS_MADE, ToneControls
from tabterm.sound.timbre import BANJO_PROGRAM, BASS, Timbre, timbre_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from tabterm.instrument import Course, Instrument


@dataclass(frozen=True, slots=True)
class StringVoice:
    """One string of a course.

    Attributes:
        semitones: What it sounds above the pitch of the course.
        cents: By how much it is out of tune.
        inharmonicity: B of the open string, with which partial k lies at k f sqrt((1 + B k^2) / (1 + B)).
        level: Amplitude against the other string.
        loss: How fast it dies, against what the timbre says.
        eases_per_khz: And by how much less the higher it is: by 1 + `eases_per_khz` at 1 kHz.
        pan: -1 left to 1 right.
    """

    semitones: int
    cents: float
    inharmonicity: float
    level: float
    loss: float
    eases_per_khz: float
    pan: float

    def loss_at(self, hertz: float) -> float:
        """How fast it dies at a pitch, against what the timbre says."""
        return self.loss / (1.0 + self.eases_per_khz * hertz / 1000.0)


@dataclass(frozen=True, slots=True)
class CourseVoice:
    """A course: the open pitch as a MIDI note number, its vibrating length, and its strings, lower pitch first."""

    pitch: int
    length_mm: float
    strings: tuple[StringVoice, ...]


@dataclass(frozen=True, slots=True)
class PartVoice:
    """What one part sounds like: its timbre, its amplitude in the mix, its courses, highest first."""

    timbre: Timbre
    level: float
    courses: tuple[CourseVoice, ...]

    def course(self, number: int, pitch: int) -> CourseVoice:
        """The course of that number or, where it cannot give the pitch, the nearest lower one."""
        if 1 <= number <= len(self.courses) and self.courses[number - 1].pitch <= pitch:
            return self.courses[number - 1]
        can = [course for course in self.courses if course.pitch <= pitch]
        return max(can, key=lambda course: course.pitch) if can else self.courses[-1]


@dataclass(frozen=True, slots=True)
class SoundVoicing:
    """What each part sounds like, and the room round all of them.

    Attributes:
        parts: By the name of the part; one that is not in it (the click) has no strings.
        room: Amplitude of what the room reflects, against a small one with a carpet; 0 is none.
    """

    parts: Mapping[str, PartVoice]
    room: float = 1.0

    def as_values(self) -> dict[str, Any]:
        """The same as values that JSON can hold."""
        return {"parts": {name: asdict(part) for name, part in self.parts.items()}, "room": self.room}

    @classmethod
    def from_values(cls, values: Mapping[str, Any]) -> Self:
        """The voicing that `as_values` told; JSON's lists are taken for tuples."""
        return cls({name: _part(part) for name, part in values["parts"].items()}, values["room"])


def _part(values: Mapping[str, Any]) -> PartVoice:
    timbre = dict(values["timbre"])
    for name in ("body", "modes"):
        timbre[name] = tuple((hertz, decibels, q) for hertz, decibels, q in timbre[name])
    courses = tuple(
        CourseVoice(each["pitch"], each["length_mm"], tuple(StringVoice(**string) for string in each["strings"]))
        for each in values["courses"]
    )
    return PartVoice(Timbre(**timbre), values["level"], courses)


# How the parts stand in the mix, and the strings before the listener.
SOLO_LEVEL, CHORDS_LEVEL, BASS_LEVEL = 0.135, 0.076, 0.25  #: amplitude; tuned here, by ear
DRUM_LOUDER = 1.7  #: times; tuned here, so that a banjo is as loud as the others
CHORDS_PAN, BASS_PAN = 0.35, -0.15  #: -1 left to 1 right; tuned here, by ear
COURSE_SPREAD, PAIR_SPREAD = 0.12, 0.10  #: -1 left to 1 right; tuned here, by ear

UNISON_CENTS = 1.5  #: cents; tuned here
"""Two strings of a course are hardly ever nearer than this."""

DULLEST_HZ = 1000.0  #: Hz; tuned here
"""No tone is made duller than this reach of its spectrum."""

#: times the loss, easing at 1 kHz; tuned here; that they differ: Weinreich 1977
PAIR_LOSSES = ((1.34, 0.0), (0.87, 0.22))
"""Two strings on one bridge do not share their losses evenly, so that a course falls fast at first and then rings,
the more so the higher it is (Weinreich, G. (1977): Coupled piano strings, JASA 62, 1474-1484, from memory; these
factors are our choice)."""

OCTAVE_LEVEL = 0.7  #: times; tuned here, by ear
"""The upper string of an octave course is lighter."""

BASS_COURSES, BASS_LENGTH_MM = (43, 38, 33, 28), 1050.0  #: MIDI note, mm; common practice, no source
BASS_INHARMONICITY = 6e-5  #: B; tuned here
"""A double bass: G2 D2 A1 E1 on about 1.05 m."""


def voicing_of(instrument: Instrument, tone: ToneControls = AS_MADE) -> SoundVoicing:
    """The voices of an instrument's solo, of the same instrument playing chords, and of the bass."""
    timbre = toned(timbre_of(instrument), tone)
    louder = DRUM_LOUDER if instrument.program == BANJO_PROGRAM else 1.0
    bass = tuple(
        CourseVoice(pitch, BASS_LENGTH_MM, (StringVoice(0, 0.0, BASS_INHARMONICITY, 1.0, 1.0, 0.0, BASS_PAN),))
        for pitch in BASS_COURSES
    )
    return SoundVoicing(
        {
            "solo": PartVoice(timbre, louder * SOLO_LEVEL, _courses(instrument, 0.0, tone)),
            "chords": PartVoice(timbre, louder * CHORDS_LEVEL, _courses(instrument, CHORDS_PAN, tone)),
            "bass": PartVoice(BASS, BASS_LEVEL, bass),
        },
        room=tone.room / 100,
    )


def toned(timbre: Timbre, tone: ToneControls) -> Timbre:
    """A timbre made brighter or duller, with more or less of the body."""
    brighter, body = tone.brightness / 100, tone.body / 100
    return replace(
        timbre,
        bright_hz=max(timbre.bright_hz * brighter, DULLEST_HZ),
        pick_noise=timbre.pick_noise * brighter,
        knock=timbre.knock * body,
        sympathy=timbre.sympathy * body,
    )


def _courses(instrument: Instrument, pan: float, tone: ToneControls) -> tuple[CourseVoice, ...]:
    """The courses before the listener as they lie before the player, the lowest to the left."""
    count, length_mm = instrument.course_count, instrument.scale_length_mm
    places = [pan + COURSE_SPREAD * (1 - 2 * (number + 0.5) / count) for number in range(count)]
    return tuple(
        CourseVoice(
            course.pitch, length_mm, tuple(_strings(course, length_mm, place, UNISON_CENTS * tone.detuning / 100))
        )
        for course, place in zip(instrument.courses, places, strict=True)
    )


def _strings(course: Course, length_mm: float, pan: float, apart_cents: float) -> Iterator[StringVoice]:
    if course.single:
        yield StringVoice(0, 0.0, inharmonicity(course.pitch, length_mm), 1.0, 1.0, 0.0, pan)
        return
    second = 12 if course.octave else 0
    for number, semitones in enumerate((0, second)):
        side = 1 - 2 * number
        yield StringVoice(
            semitones,
            -side * apart_cents / 2,
            inharmonicity(course.pitch + semitones, length_mm),
            OCTAVE_LEVEL if semitones else 1.0,
            *((1.0, 0.0) if course.octave else PAIR_LOSSES[number]),
            pan + side * PAIR_SPREAD / 2,
        )


def inharmonicity(pitch: int, length_mm: float) -> float:
    """B of the string that is usual for an open pitch: pi^3 E d^4 / (64 T L^2), d the diameter of the core.

    Fletcher, H. (1964): Normal vibration frequencies of a stiff piano string, JASA 36, 203-209 (from memory).
    """
    from tabterm.instrument.strings import YOUNG_N_MM2, hertz_of, usual_string

    string = usual_string(pitch, length_mm)
    tension_n = string.tension_n(hertz_of(pitch), length_mm)
    return math.pi**3 * YOUNG_N_MM2 * string.core_mm**4 / (64.0 * tension_n * length_mm**2)
