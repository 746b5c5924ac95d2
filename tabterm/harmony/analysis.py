"""What each note is against the chord that sounds and against the key, how it is spelled, and where it leads.

The classes and their order are common practice, no source; `tests/harmony/labels.txt` has what a teacher says.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.melody import (
    BEAT,
    STEP,
    MelodyNote,
    Neighbours,
    Setting,
    neighbours_of,
    setting_before,
    settings_behind,
    settings_of,
)
from tabterm.harmony.spelling import (
    EXTENSIONS,
    chord_before,
    chord_degree,
    degree_name,
    note_name,
)
from tabterm.memory import Memory
from tabterm.score.kinds import Reached

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.score.model import Score


class NoteClass(StrEnum):
    """What a note is; the values are the words for it."""

    CHORD_TONE = "chord tone"
    EXTENSION = "extension"
    BLUE_THIRD = "blue third"
    BLUE = "blue note"
    SCALE = "scale tone"
    APPROACH = "approach"
    ENCLOSURE = "enclosure"
    PASSING = "passing tone"
    ANTICIPATION = "anticipation"
    OUTSIDE = "outside"


SHORT = {
    NoteClass.CHORD_TONE: "ct",
    NoteClass.EXTENSION: "ext",
    NoteClass.BLUE_THIRD: "b3>3",
    NoteClass.BLUE: "bn",
    NoteClass.SCALE: "st",
    NoteClass.ENCLOSURE: "enc",
    NoteClass.PASSING: "pt",
    NoteClass.ANTICIPATION: "ant",
    NoteClass.OUTSIDE: "out",
}
"""Each kind on a row; an approach says how many semitones it moves: `a+1` is a half step up."""

HELD = Fraction(2)  #: quarters; common practice, no source
"""A note this long stands for itself, wherever it goes."""

#: semitones above the tonic, fifths above it; common practice, no source
BLUE_NOTES = {3: -3, 6: -6, 10: -2}
"""The blue notes of a key, flat as they are spelled."""

#: semitones above the root; common practice, no source
COLOURS, MINOR_COLOURS, MAJOR_COLOURS, DOMINANT_COLOURS = {2, 9}, {5}, {6}, {1, 3, 8}
"""What extends any chord, a minor one, and of the tones of the key a major and a dominant one."""

#: fifths above C; from Gb to A#: tuned here
FLATTEST, SHARPEST = -6, 10
"""A note that leads by a semitone is spelled by where it leads only between these; beyond lie Cb and E#."""


class Lead(NamedTuple):
    """Where a note leads: how many semitones up or down, and the degree of what follows to its chord."""

    semitones: int
    degree: str


@dataclass(frozen=True, slots=True)
class Standing:
    """What a note is.

    Attributes:
        offset: Quarters from the start of the measure.
        course: Its course.
        name: The note as it is spelled, without octave.
        to_key: Degree above the tonic of the key.
        to_chord: Degree above the root of the chord; above the tonic where there is no chord.
        kind: Its class.
        leads: To the nearest note of what follows; None before a rest of a beat, and at the end.
    """

    offset: Fraction
    course: int
    name: str
    to_key: str
    to_chord: str
    kind: NoteClass
    leads: Lead | None

    @property
    def short(self) -> str:
        """Its class in a few signs: `ct`, `a-2`."""
        return SHORT.get(self.kind) or f"a{self.leads.semitones if self.leads else 0:+}"


_ANALYSES: Memory[tuple[Standing, ...]] = Memory(
    "analyses",
    hangs_on="a measure and the events beside it, their chords and keys, the instrument",
    most=20_000,
)


def analyse(score: Score, index: int) -> tuple[Standing, ...]:
    """What each note of a measure is, by offset and course; dead notes are left out."""
    symbol = chord_before(score, index)
    before, after = setting_before(score, index, symbol), settings_behind(score, index, symbol)
    hangs_on = (
        *(symbol, score.keys[index], score.chord_names, score.head.instrument),
        tuple((each.at, each.symbol, each.key) for each in (*before, *after)),
    )
    beside = (each.event for each in (*before, *after))
    things = (score.measures[index], *beside)
    return _ANALYSES.of(
        things, hangs_on, lambda: _analyse(score, before, [*settings_of(score, index, symbol)], after)
    )


def _analyse(
    score: Score, before: Sequence[Setting], within: Sequence[Setting], after: Sequence[Setting]
) -> tuple[Standing, ...]:
    pitch = score.head.instrument.pitch
    settings = [*before, *within, *after]
    tones = [
        [MelodyNote(each, note, pitch(note.course, note.fret)) for note in each.event.notes if not note.muted]
        for each in settings
    ]
    here = range(len(before), len(before) + len(within))
    return tuple(
        _standing(neighbours_of(settings, tones, number, tone)) for number in here for tone in tones[number]
    )


def _standing(line: Neighbours) -> Standing:
    here, after = line.here, line.after
    kind = next(kind for kind, holds in RULES if holds(line))
    fifths = _fifths(line, kind)
    leads = None if after is None else Lead(line.move, _to_chord(after, after.fifths))
    return Standing(
        here.setting.at,
        here.note.course,
        note_name(fifths),
        degree_name(fifths - here.setting.key.tonic_fifths),
        _to_chord(here, fifths, kind),
        kind,
        leads,
    )


def _to_chord(tone: MelodyNote, fifths: int, kind: NoteClass | None = None) -> str:
    """The degree of a note to its chord, to the key where there is none."""
    chord, key = tone.setting.chord, tone.setting.key
    if chord is None or chord.root is None:
        return degree_name(fifths - key.tonic_fifths)
    if tone.in_chord:
        return chord_degree(tone.interval, chord)
    return EXTENSIONS[tone.interval] if kind is NoteClass.EXTENSION else degree_name(fifths - chord.root_fifths)


def _fifths(line: Neighbours, kind: NoteClass) -> int:
    """Where a note is written on the line of fifths, from C.

    The chord decides, then the scale of the key; a blue note is flat, and any other is written as a half step
    from the note that it leads to: sharp on the way up, flat on the way down.
    """
    here, after, key = line.here, line.after, line.here.setting.key
    if here.in_chord or here.in_key:
        return here.fifths
    if kind is NoteClass.BLUE:
        return key.tonic_fifths + BLUE_NOTES[here.above_tonic]
    if kind is NoteClass.BLUE_THIRD and here.setting.chord is not None:
        return here.setting.chord.root_fifths + BLUE_NOTES[3]
    if after is not None and abs(line.move) == 1:
        leading = after.fifths + 5 * line.move
        if FLATTEST <= leading <= SHARPEST:
            return leading
    return here.fifths


def _is_blue_third(line: Neighbours) -> bool:
    """A minor third that the left hand makes a major one: hammered, slid or bent, or grace note and note."""
    here, after, chord = line.here, line.after, line.here.setting.chord
    if chord is None or 4 not in chord.intervals or 3 in chord.intervals:
        return False
    if here.interval == 4:
        graces = (each for each in here.setting.event.grace if each.course == here.note.course)
        return here.note.slurred and here.note.fret - 1 in {each.fret for each in graces}
    slurred = (
        after is not None
        and line.move == 1
        and after.note.course == here.note.course
        and after.note.reached in {Reached.HAMMER, Reached.SLIDE}
    )
    return here.interval == 3 and (slurred or here.note.bend is not None)


def _is_anticipation(line: Neighbours) -> bool:
    """A short note of the chord that comes next, which has it again, or from which it does not move by step."""
    here, coming = line.here, line.coming
    if coming is None or coming.chord in {None, here.setting.chord} or here.setting.event.length > BEAT:
        return False
    return here._replace(setting=coming).is_chord_tone and (line.goes_on or not line.by_step)


def _is_enclosure(line: Neighbours) -> bool:
    """One of two notes by step from either side of a chord tone, which follows them."""
    trios = ((line.here, line.after, line.then), (line.before, line.here, line.after))
    return any(map(_encloses, *zip(*trios, strict=True)))


def _encloses(one: MelodyNote | None, other: MelodyNote | None, goal: MelodyNote | None) -> bool:
    if one is None or other is None or goal is None or one.is_chord_tone or other.is_chord_tone:
        return False
    sides = sorted((one.pitch - goal.pitch, other.pitch - goal.pitch))
    return goal.is_chord_tone and -STEP <= sides[0] < 0 < sides[1] <= STEP


def _is_blue(line: Neighbours) -> bool:
    """A blue note of the key that neither key nor chord has, and that is not the flat ninth of the chord."""
    here = line.here
    of_key = here.above_tonic in BLUE_NOTES and not here.in_key
    return of_key and not here.in_chord and here.interval != 1 and not _is_raised_fourth(line)


def _is_raised_fourth(line: Neighbours) -> bool:
    """What would be the flat fifth of a major key, on its way up: to the fifth, or from a step below."""
    here, before = line.here, line.before
    from_below = before is not None and 0 < here.pitch - before.pitch <= STEP
    rises = line.move == 1 or (from_below and line.move > 0)
    return here.above_tonic == 6 and here.setting.key.mode != "minor" and rises


def _sounds_blue(line: Neighbours) -> bool:
    """A blue note over a dominant chord or in minor, however it moves, and the third of 2 b3 3; never 4 #4 5."""
    here, chord, minor = line.here, line.here.setting.chord, line.here.setting.key.mode == "minor"
    dominant = chord is not None and {4, 10} <= {*chord.intervals}
    from_second = line.before is not None and here.pitch - line.before.pitch == 1
    rising = here.above_tonic == here.interval == 3 and line.move == 1 and from_second
    return _is_blue(line) and (dominant or minor or rising)


def _is_passing(line: Neighbours) -> bool:
    """Between two notes by step in one direction, one of them a chord tone; a blue note by half steps."""
    here, before, after = line.here, line.before, line.after
    if before is None or after is None or line.length >= HELD:
        return False
    widest = 1 if _is_blue(line) else STEP
    came = here.pitch - before.pitch
    steps = 0 < abs(came) <= widest and 0 < abs(line.move) <= widest and came * line.move > 0
    return steps and (before.is_chord_tone or after.is_chord_tone)


def _is_approach(line: Neighbours) -> bool:
    """By step to a chord tone; a blue note by half step."""
    widest = 1 if _is_blue(line) else STEP
    leads = line.after is not None and line.after.is_chord_tone
    return leads and 0 < abs(line.move) <= widest and line.length < HELD


def _is_extension(line: Neighbours) -> bool:
    """One of the colours of a chord, a beat long or, over a chord with a seventh, left by a leap."""
    here, chord = line.here, line.here.setting.chord
    if chord is None or not chord.intervals:
        return False
    has, tones = here.interval, {*chord.intervals}
    major, dominant, seventh = 4 in tones, {4, 10} <= tones, bool({10, 11} & tones)
    colour = has in COLOURS | (set() if major else MINOR_COLOURS)
    of_key = here.in_key and has in (MAJOR_COLOURS if major else set()) | (DOMINANT_COLOURS if dominant else set())
    return (colour or of_key) and (line.length >= BEAT or (seventh and not line.by_step))


RULES: tuple[tuple[NoteClass, Callable[[Neighbours], bool]], ...] = (
    (NoteClass.BLUE_THIRD, _is_blue_third),
    (NoteClass.CHORD_TONE, lambda line: line.here.is_chord_tone),
    (NoteClass.EXTENSION, lambda line: line.here.in_chord),
    (NoteClass.ANTICIPATION, _is_anticipation),
    (NoteClass.ENCLOSURE, _is_enclosure),
    (NoteClass.BLUE, _sounds_blue),
    (NoteClass.PASSING, _is_passing),
    (NoteClass.APPROACH, _is_approach),
    (NoteClass.BLUE, _is_blue),
    (NoteClass.EXTENSION, _is_extension),
    (NoteClass.SCALE, lambda line: line.here.in_key),
    (NoteClass.OUTSIDE, lambda _: True),
)
"""What a note is: the first rule that holds."""
