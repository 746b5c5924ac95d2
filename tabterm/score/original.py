"""The original line as a score of its own, to be heard beside the arrangement."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.instrument import Course, Instrument
from tabterm.instrument.model import MAX_FRETS
from tabterm.score.model import Event, Note, Score, SourceEvent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.model import Measure

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
            "there is no original line here", hint="open a MIDI, MusicXML or ABC file: its line is kept"
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
