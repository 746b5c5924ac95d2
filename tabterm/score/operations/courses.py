"""Moving notes to other courses, and transposing."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.key import Key
from tabterm.score.model import ChordMark, Event, Note, Score
from tabterm.score.operations.draft import Draft, commit
from tabterm.score.place import Place, Span, describe

if TYPE_CHECKING:
    from collections.abc import Callable

_ROOT = re.compile(r"([A-G])([#b]?)")
_SHARP = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_FLAT = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


def map_events(score: Score, span: Span, change: Callable[[Place, Event], Event]) -> Score:
    """The score with every event that begins in a span changed; lengths must stay."""
    last = min(span.end.measure, len(score.measures) - 1)
    drafts = [
        Draft.of(
            score.measures[index],
            [
                change(Place(index, offset), event) if Place(index, offset) in span else event
                for offset, event in score.measures[index].timed()
            ],
        )
        for index in range(span.start.measure, last + 1)
    ]
    return commit(score, span.start.measure, len(drafts), drafts)


def move_course(score: Score, span: Span, step: int, course: int | None = None) -> Score:
    """Move the notes of a span `step` courses (positive: lower-pitched) at the same pitch.

    With `course`, only the notes on that course move.

    Raises:
        ScoreError: The first note that has no such place on the neck, or whose new course is taken.
    """

    def moved(place: Place, note: Note) -> Note:
        if course is not None and note.course != course:
            return note
        pitch = score.head.instrument.pitch(note.course, note.fret)
        return _placed(score, place, note, pitch, note.course + step)

    def change(place: Place, event: Event) -> Event:
        notes = tuple(moved(place, note) for note in event.notes)
        return _rewritten(score, place, event, notes, tuple(moved(place, note) for note in event.grace))

    return map_events(score, span, change)


def transpose(score: Score, span: Span, semitones: int) -> Score:
    """Move the pitches of a span; each note stays on its course, or goes to the nearest that has it.

    Raises:
        ScoreError: A note leaves the instrument; nothing is changed then.
    """

    def change(place: Place, event: Event) -> Event:
        taken: set[int] = set()
        notes = []
        for note in event.notes:
            notes.append(_transposed(score, place, note, semitones, taken))
            taken.add(notes[-1].course)
        grace = tuple(_transposed(score, place, note, semitones, set()) for note in event.grace)
        return _rewritten(score, place, event, tuple(notes), grace)

    return map_events(score, span, change) if semitones else score


def transpose_to_key(score: Score, key: Key) -> Score:
    """Transpose the whole score to another tonic, by the shortest way, with keys and chord symbols.

    Raises:
        ScoreError: A note leaves the instrument, or the key would need more than a single accidental.
    """
    semitones = (key.tonic - score.head.key.tonic + 6) % 12 - 6
    moved = transpose(score, Span(Place(0), Place(len(score.measures))), semitones)
    drafts = [
        Draft.of(
            measure,
            key=None if measure.key is None else _moved_key(measure.key, semitones, key),
            chords=tuple(_moved_chord(mark, semitones, key) for mark in measure.chords),
        )
        for measure in moved.measures
    ]
    respelled = commit(moved, 0, len(drafts), drafts)
    return Score(head=respelled.head.with_(key=key), measures=respelled.measures)


def _transposed(score: Score, place: Place, note: Note, semitones: int, taken: set[int]) -> Note:
    instrument = score.head.instrument
    pitch = instrument.pitch(note.course, note.fret) + semitones
    places = [(course, fret) for course, fret in instrument.places_of(pitch) if course not in taken]
    if not places:
        raise ScoreError(
            f"transposed by {semitones}, course {note.course} fret {note.fret} leaves the instrument",
            place=describe(score, place),
            hint="transpose less, or the other way",
        )
    course, fret = min(places, key=lambda at: (abs(at[0] - note.course), at[1]))
    return _freed(note, course, fret)


def _placed(score: Score, place: Place, note: Note, pitch: int, course: int) -> Note:
    fret = _fret(score, course, pitch)
    if (course, fret) not in score.head.instrument.places_of(pitch):
        raise ScoreError(
            f"course {note.course} fret {note.fret} has no place on course {course}",
            place=describe(score, place),
            hint="move it the other way",
        )
    return _freed(note, course, fret)


def _fret(score: Score, course: int, pitch: int) -> int:
    inside = 1 <= course <= score.head.instrument.course_count
    return pitch - score.head.instrument.open_pitch(course) if inside else -1


def _freed(note: Note, course: int, fret: int) -> Note:
    """The note at another place, its finger forgotten where the place differs."""
    if (course, fret) == (note.course, note.fret):
        return note
    return note.with_(course=course, fret=fret, finger=None, proposed_finger=None)


def _rewritten(
    score: Score, place: Place, event: Event, notes: tuple[Note, ...], grace: tuple[Note, ...]
) -> Event:
    if notes == event.notes and grace == event.grace:
        return event
    if len({note.course for note in notes}) < len(notes):
        raise ScoreError(
            "two notes would meet on one course", place=describe(score, place), hint="move them one by one"
        )
    return event.with_(notes=tuple(sorted(notes, key=lambda note: note.course)), grace=grace)


def _moved_key(old: Key, semitones: int, towards: Key) -> Key:
    name = _name((old.tonic + semitones) % 12, towards)
    return Key(name[0], {"#": 1, "b": -1}.get(name[1:], 0), old.mode)


def _moved_chord(mark: ChordMark, semitones: int, key: Key) -> ChordMark:
    """The symbol with its root, and its bass behind a slash, moved."""
    root, slash, bass = mark.symbol.partition("/")
    moved = _moved_name(root, semitones, key) + slash + _moved_name(bass, semitones, key)
    return ChordMark(offset=mark.offset, symbol=moved)


def _moved_name(text: str, semitones: int, key: Key) -> str:
    match = _ROOT.match(text)
    if match is None or text.startswith("N.C"):
        return text
    tonic = Key.parse(match.group()).tonic
    return _name((tonic + semitones) % 12, key) + text[match.end() :]


def _name(pitch_class: int, key: Key) -> str:
    return (_FLAT if key.fifths < 0 else _SHARP)[pitch_class]
