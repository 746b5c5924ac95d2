"""From groups of written notes to events: on the courses that the file says, or at their pitches."""

from __future__ import annotations

from itertools import chain, pairwise
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from tabterm.instrument.model import MAX_FRETS
from tabterm.score.duration import QUARTER
from tabterm.score.kinds import Direction, Reached, Stroke
from tabterm.score.line import LONGEST_SLUR, Moment
from tabterm.score.model import Event, Note
from tabterm.score.source import Tone

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.formats.musicxml.line import NoteGroup
    from tabterm.formats.musicxml.notes import WrittenNote
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.instrument import Instrument

Found = TypeVar("Found")

REACHED = {"hammer to": Reached.HAMMER, "pull to": Reached.PULL, "slide to": Reached.SLIDE}
STROKES = {"down": Stroke.DOWN, "up": Stroke.UP, "none": Stroke.NONE}
ROLLS = {"roll up": Direction.UP, "roll down": Direction.DOWN}
SLIDES_IN = {"slide in up": Direction.UP, "slide in down": Direction.DOWN}
SLIDES_OUT = {"slide out up": Direction.UP, "slide out down": Direction.DOWN}
PROPOSED = "proposed "
PROPOSED_STROKES = {f"{PROPOSED}{mark}": stroke for mark, stroke in STROKES.items()}


def mark_line(lines: Sequence[Sequence[NoteGroup]], report: XmlReporter, *, is_own: bool) -> None:
    """Turn what spans several notes into marks of each: slurs into hammer-ons and pull-offs, waves into vibrato.

    Slurs say nothing more where the file has hammer-ons and pull-offs of its own.
    """
    moments: list[list[WrittenNote]] = []
    for line in lines:
        for group in line:
            moments += [[note] for note in group.grace]
            moments += [group.notes] if group.notes else []
    if not is_own:
        for note in chain.from_iterable(moments):
            note.marks = {mark.removeprefix(PROPOSED) for mark in note.marks}
    _mark_waves(moments)
    if not any(note.marks & {"hammer to", "pull to"} for note in chain.from_iterable(moments)):
        _mark_slurs(moments, report)


def _mark_waves(moments: Sequence[Sequence[WrittenNote]]) -> None:
    waving = False
    for note in chain.from_iterable(moments):
        begins, ends = "wave from" in note.marks and "trill" not in note.marks, "wave to" in note.marks
        if waving or begins:
            note.marks.add("vibrato")
        waving = (waving or begins) and not ends


def _mark_slurs(moments: Sequence[Sequence[WrittenNote]], report: XmlReporter) -> None:
    begun: dict[str, int] = {}
    for index, notes in enumerate(moments):
        for starts, key in sorted(slur for note in notes for slur in note.slurs):  # a stop before a start
            if starts:
                begun[key] = index
            elif key in begun:
                start = begun.pop(key)
                if index - start < LONGEST_SLUR:
                    _slur(moments[start : index + 1])
                else:
                    what = f"slurs over more than {LONGEST_SLUR} notes are read as phrase marks and left out"
                    report.left_out(what, moments[start][0].line)


def _slur(moments: Sequence[Sequence[WrittenNote]]) -> None:
    for before, after in pairwise(moments):
        for low, high in zip(_by_pitch(before), _by_pitch(after), strict=False):
            if low.pitch != high.pitch and "slide to" not in high.marks:
                high.marks.add("hammer to" if (high.pitch or 0) > (low.pitch or 0) else "pull to")


def _by_pitch(notes: Sequence[WrittenNote]) -> list[WrittenNote]:
    return sorted(notes, key=lambda note: -(note.pitch or 0))


Heard_co = TypeVar("Heard_co", Event, Moment, covariant=True)


class Maker(Protocol[Heard_co]):
    """Makes what happens in a measure of what is written in the file."""

    def event(self, group: NoteGroup) -> Heard_co:
        """What a group is; its duration is still to be told."""

    def pitch(self, note: Any) -> int:
        """What a note of it sounds."""


class OnCourses:
    """Makes events of groups of notes whose strings and frets are courses and frets of an instrument."""

    def __init__(self, instrument: Instrument, report: XmlReporter) -> None:
        self._instrument = instrument
        self._report = report

    def event(self, group: NoteGroup) -> Event:
        """The event of a group; its duration is still to be told."""
        notes = self._notes(group.notes)
        if not notes:
            return Event(duration=QUARTER)
        marks = _marks_of(group)
        return Event(
            duration=QUARTER,
            notes=notes,
            proposed_stroke=_first(PROPOSED_STROKES, marks),
            proposed_tremolo="proposed tremolo" in marks,
            grace=tuple(note for each in group.grace for note in self._notes([each])),
            **_event_marks(marks),
        )

    def pitch(self, note: Note) -> int:
        """What a note sounds."""
        return self._instrument.pitch(*note.spot)

    def _notes(self, written: Sequence[WrittenNote]) -> tuple[Note, ...]:
        """Notes on different courses, the highest first."""
        notes: dict[int, Note] = {}
        for each, place in zip(written, self._places(written), strict=True):
            if place is None or place[0] in notes:
                self._report.left_out("notes that fit no course are left out", each.line)
            else:
                notes[place[0]] = self._note(each, *place)
        return tuple(notes[course] for course in sorted(notes))

    def _places(self, written: Sequence[WrittenNote]) -> list[tuple[int, int] | None]:
        """Course and fret of each note as the file says them; of one that it says nothing of, the lowest free."""
        places = [self._told(each) for each in written]
        used = {place[0] for place in places if place is not None}
        for number, each in enumerate(written):
            if places[number] is None and each.pitch is not None:
                self._report.guessed("notes without string and fret are put on the lowest fret", each.line)
                free = places[number] = self._instrument.free_place(each.pitch, used)
                used |= {free[0]} if free is not None else set()
        return places

    def _told(self, note: WrittenNote) -> tuple[int, int] | None:
        if note.string is None or not 1 <= note.string <= self._instrument.course_count or note.pitch is None:
            return None
        fret = note.fret
        if fret is None:
            fret = note.pitch - self._instrument.pitch(note.string, 0)
        if not 0 <= fret <= MAX_FRETS:
            return None
        if (self._instrument.pitch(note.string, fret) - note.pitch) % 12:
            what = "if string and fret disagree with the pitch, they are used"
            self._report.changed(what, note.line)
        return note.string, fret

    def _note(self, written: WrittenNote, course: int, fret: int) -> Note:
        marks = written.marks
        return Note(
            course=course,
            fret=fret,
            finger=written.finger,
            proposed_finger=_proposed_finger(marks),
            course_set="held" in marks,
            **_note_marks(written),
        )


class AtPitches:
    """Makes moments of groups of notes that are for any instrument."""

    def __init__(self, report: XmlReporter) -> None:
        self._report = report

    def event(self, group: NoteGroup) -> Moment:
        """The moment of a group; its duration is still to be told."""
        notes = {tone.pitch: tone for each in reversed(group.notes) for tone in self._tones(each)}
        if not notes:
            return Moment(duration=QUARTER)
        return Moment(
            duration=QUARTER,
            notes=tuple(notes[pitch] for pitch in sorted(notes, reverse=True)),
            grace=tuple(tone for each in group.grace for tone in self._tones(each)),
            **_event_marks(_marks_of(group)),
        )

    def pitch(self, note: Tone) -> int:
        """What a note sounds."""
        return note.pitch

    def _tones(self, written: WrittenNote) -> Iterator[Tone]:
        if written.finger is not None and written.string is None:
            self._report.left_out("fingers without strings are left out", written.line)
        if written.pitch is not None:
            yield Tone(pitch=written.pitch, voice=written.rank, **_note_marks(written))


def _marks_of(group: NoteGroup) -> set[str]:
    return set().union(*(note.marks for note in group.notes))


def _event_marks(marks: set[str]) -> dict[str, Any]:
    """What is marked on notes that sound together."""
    return {
        "stroke": _first(STROKES, marks),
        "tremolo": "tremolo" in marks,
        "accent": "accent" in marks,
        "staccato": "staccato" in marks,
        "damp": "damp" in marks,
        "roll": _first(ROLLS, marks),
    }


def _note_marks(written: WrittenNote) -> dict[str, Any]:
    """How a note is reached and shaded."""
    marks = written.marks
    if not marks and written.bend is None:
        return {}
    tied = "tied" in marks
    return {
        "reached": Reached.STRUCK if tied else _first(REACHED, marks) or Reached.STRUCK,
        "tied": tied,
        "bend": written.bend,
        "slide_in": _first(SLIDES_IN, marks),
        "slide_out": _first(SLIDES_OUT, marks),
        "muted": "muted" in marks,
        "ring": "ring" in marks,
        "vibrato": "vibrato" in marks,
    }


def _first(table: dict[str, Found], marks: set[str]) -> Found | None:
    return next((value for mark, value in table.items() if mark in marks), None)


def _proposed_finger(marks: set[str]) -> int | None:
    return next((finger for finger in range(5) if f"{PROPOSED}finger {finger}" in marks), None)
