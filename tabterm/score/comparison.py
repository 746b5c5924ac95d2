"""An arrangement beside its original: where what is played departs from it, and the original as a score."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from enum import StrEnum
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.instrument import Course, Instrument
from tabterm.instrument.model import MAX_FRETS
from tabterm.memory import Memory
from tabterm.score.model import Event, Note, Score
from tabterm.score.place import Place
from tabterm.score.source import SourceEvent

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.score.model import Measure


T = TypeVar("T")


CHORD = 3
"""Tones of so many names are a chord."""


class Differs(StrEnum):
    """How a note departs from the original."""

    HIGHER = "in a higher octave"
    LOWER = "in a lower octave"
    CHANGED = "changed"
    DROPPED = "left out"
    ADDED = "added"


@dataclass(frozen=True, slots=True)
class Difference:
    """A note that departs from the original.

    Attributes:
        place: When it begins, in the arrangement or, of a note left out, in the original.
        kind: How it departs.
        written: MIDI note number of the original; None for a note that is added.
        played: MIDI note number of the arrangement; None for a note left out.
    """

    place: Place
    kind: Differs
    written: int | None
    played: int | None


def differences(score: Score) -> tuple[Difference, ...]:
    """Every note that departs from the original, in score order; measures without a source line are left out."""
    return tuple(each for index in range(len(score.measures)) for each in differences_in(score, index))


def differences_in(score: Score, index: int) -> tuple[Difference, ...]:
    """The notes of one measure that depart from the original."""
    measure = score.measures[index]
    if not measure.source:
        return ()
    instrument, shift = score.head.instrument, transposition(score)
    source, events = tuple(measure.timed_source()), tuple(measure.timed())
    found: list[Difference] = []
    for offset in sorted({at for at, _ in source} | {at for at, _ in events}):
        start, original = _at(source, offset)
        if original.proposed and all(event.is_rest for at, event in events if at == _at(events, offset)[0]):
            continue  # not confirmed, and so not left out
        onset, event = _at(events, offset)
        if any(note.muted for note in event.notes):
            continue
        wanted = [pitch + shift for pitch in original.pitches]
        begun = [pitch + shift for pitch in original.pitches if offset == start and not original.holds(pitch)]
        struck = [not note.tied and offset == onset for note in event.notes]
        pitches = [_meant(instrument, event, note, wanted) for note in event.notes]
        for kind, written, played in _compared(begun, wanted, list(zip(pitches, struck, strict=True))):
            unshifted = None if written is None else written - shift
            found.append(Difference(Place(index, offset), kind, unshifted, played))
    return tuple(found)


def _compared(
    begun: Sequence[int], sounding: Sequence[int], played: Sequence[tuple[int, bool]]
) -> Iterator[tuple[Differs, int | None, int | None]]:
    """What differs at a moment.

    Args:
        begun: Pitches of the original that begin, in the octave and key of the arrangement.
        sounding: Those that sound.
        played: Pitches of the arrangement that sound, and whether each is struck now.

    In a chord a tone that sounds anyway may be doubled or not.
    """
    left, is_chord = list(begun), len({pitch % 12 for pitch in sounding}) >= CHORD
    rest = [(pitch, struck) for pitch, struck in played if not _taken(left, pitch) and pitch not in sounding]
    others = []
    for pitch, struck in rest:
        same = next((each for each in (left or sounding) if (each - pitch) % 12 == 0), None)
        if is_chord and same not in left and any((each - pitch) % 12 == 0 for each in sounding):
            continue
        if same is None:
            others.append((pitch, struck))
            continue
        if same in left:
            left.remove(same)
        if struck:
            yield (Differs.HIGHER if pitch > same else Differs.LOWER), same, pitch
    if is_chord:
        heard = {pitch % 12 for pitch, _ in played}
        left = [pitch for pitch in left if pitch % 12 not in heard]
    struck_now = [pitch for pitch, struck in others if struck]
    for number in range(max(len(left), len(struck_now))):
        if number >= len(struck_now):
            yield Differs.DROPPED, left[number], None
        elif number >= len(left):
            yield Differs.ADDED, None, struck_now[number]
        else:
            yield Differs.CHANGED, left[number], struck_now[number]


def _meant(instrument: Instrument, event: Event, note: Note, wanted: Sequence[int]) -> int:
    """The pitch that a note stands for: that of the grace note it is slurred from, where the original has it.

    So a slide is played for a bend of the original, from its written pitch.
    """
    source = bent_from(event, note) or note
    began = instrument.pitch(*source.spot)
    return began if began in wanted else instrument.pitch(*note.spot)


def bent_from(event: Event, note: Note) -> Note | None:
    """The last grace note of an event, where a note is slurred up from it, as a slide for a bend is."""
    last = event.grace[-1] if event.grace and note.slurred else None
    return last if last is not None and last.course == note.course and last.fret < note.fret else None


def _taken(left: list[int], pitch: int) -> bool:
    """Take a pitch out of those that are left; False where it is not among them."""
    if pitch not in left:
        return False
    left.remove(pitch)
    return True


def _at(timed: Sequence[tuple[Fraction, T]], offset: Fraction) -> tuple[Fraction, T]:
    """What began last at an offset, and when."""
    return timed[bisect_right(timed, offset, key=lambda each: each[0]) - 1]


# The interval that is agreed


_INTERVALS: Memory[Counter[int]] = Memory(
    "intervals from the original", hangs_on="a measure, the instrument", most=20_000
)
_AGREED: Memory[int] = Memory("transposition from the original", hangs_on="a score", most=4)


def transposition(score: Score) -> int:
    """Semitones from the original up to the arrangement, where more than half of all notes agree; else 0.

    They may agree but for octaves: then it is the interval of theirs that most have.
    """
    return _AGREED.of((score,), (), lambda: _agreed(score))


def _agreed(score: Score) -> int:
    instrument = score.head.instrument
    counts: Counter[int] = Counter()
    for measure in score.measures:
        if measure.source:
            counts.update(_INTERVALS.of((measure,), (instrument,), partial(_intervals, measure, instrument)))
    classes: Counter[int] = Counter()
    for interval, count in counts.items():
        classes[interval % 12] += count
    most = [each for each, count in classes.items() if count * 2 > counts.total()]
    return max(counts, key=lambda each: (each % 12 in most, counts[each])) if most else 0


def _intervals(measure: Measure, instrument: Instrument) -> Counter[int]:
    """How far the highest notes that begin together are apart, in semitones."""
    source = dict(measure.timed_source())
    pairs = (
        (source[offset].pitches, [instrument.pitch(note.course, note.fret) for note in event.notes])
        for offset, event in measure.timed()
        if offset in source and source[offset].pitches and event.notes
    )
    return Counter(max(played) - max(written) for written, played in pairs)


MOST_COURSES = 8
APART = 5
"""Semitones between the courses that are added."""


def has_source(score: Score) -> bool:
    """Whether a score keeps an original line."""
    return any(event.pitches for measure in score.measures for event in measure.source)


def source_score(score: Score) -> Score:
    """The source line at its written pitches, in the measures of the score; silence where there is none.

    It is played on the score's instrument or, where the line goes beyond it, on that with further courses.

    Raises:
        ScoreError: The score has no source line.
    """
    pitches = {pitch for measure in score.measures for event in measure.source for pitch in event.pitches}
    if not pitches:
        raise ScoreError(
            "the score has no original line", hint="open a MIDI, MusicXML or ABC file: its line is kept"
        )
    own = score.head.instrument
    chords = {event.pitches for measure in score.measures for event in measure.source}
    fits = all(len(_spots(own, chord, {})) == len(set(chord)) for chord in chords)
    instrument = own if fits else _wide(own, min(pitches))
    measures, before = [], dict[int, Note]()
    for measure in score.measures:
        events = []
        for moment in _moments(measure):
            notes = _notes(instrument, moment, before)
            before = {instrument.pitch(note.course, note.fret): note for note in notes}
            events.append(Event(duration=moment.duration, notes=notes))
        measures.append(measure.with_(events=tuple(events)))
    return Score(head=score.head.with_(instrument=instrument), measures=tuple(measures))


def _moments(measure: Measure) -> Sequence[SourceEvent]:
    return measure.source or [SourceEvent(duration=event.duration) for event in measure.events]


def _notes(instrument: Instrument, moment: SourceEvent, before: dict[int, Note]) -> tuple[Note, ...]:
    held = {pitch: (note.course, note.fret) for pitch, note in before.items() if moment.holds(pitch)}
    spots = _spots(instrument, moment.pitches, held)
    notes = [Note(course=course, fret=fret, tied=pitch in held) for pitch, (course, fret) in spots.items()]
    return tuple(sorted(notes, key=lambda note: note.course))


def _spots(
    instrument: Instrument, pitches: Sequence[int], held: dict[int, tuple[int, int]]
) -> dict[int, tuple[int, int]]:
    """A course and fret for each pitch, as far as courses go; held ones first, then from the highest down."""
    spots = dict(held)
    for pitch in sorted(set(pitches) - held.keys(), reverse=True):
        taken = {course for course, _ in spots.values()}
        free = [place for place in instrument.places_of(pitch) if place[0] not in taken]
        if free:
            spots[pitch] = free[0]
    return spots


def _wide(own: Instrument, lowest: int) -> Instrument:
    """The instrument with a longer neck, and with as many lower courses behind its own as MIDI has channels for.

    Its own courses keep their numbers, so that the arrangement sounds on it as on its own.
    """
    frets = min(MAX_FRETS, 127 - max(course.pitch for course in own.courses))
    highest = min(lowest, 127 - frets)
    opens = {max(highest - APART * number, 0) for number in range(MOST_COURSES - own.course_count)}
    lower = tuple(Course(pitch=pitch) for pitch in sorted(opens, reverse=True))
    return own.with_(courses=(*own.courses, *lower), frets=frets)
