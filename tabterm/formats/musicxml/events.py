"""From groups of written notes to events on the neck."""

from __future__ import annotations

from fractions import Fraction
from itertools import chain, pairwise
from typing import TYPE_CHECKING, TypeVar

from tabterm.formats.neck import LONGEST_SLUR, on_neck, within
from tabterm.instrument.model import MAX_FRETS
from tabterm.score.kinds import Direction, Reached, Stroke
from tabterm.score.model import Event, Note, SourceEvent
from tabterm.score.operations.draft import heal_event
from tabterm.score.operations.spelling import spell
from tabterm.score.operations.timeline import in_parts, rests

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.formats.musicxml.line import Group
    from tabterm.formats.musicxml.notes import Written
    from tabterm.formats.musicxml.report import Reporter
    from tabterm.formats.musicxml.tuning import Strings
    from tabterm.score.duration import Duration
    from tabterm.score.metre import Metre

Found = TypeVar("Found")

REACHED = {"hammer to": Reached.HAMMER, "pull to": Reached.PULL, "slide to": Reached.SLIDE}
STROKES = {"down": Stroke.DOWN, "up": Stroke.UP, "none": Stroke.NONE}
ROLLS = {"roll up": Direction.UP, "roll down": Direction.DOWN}
SLIDES_IN = {"slide in up": Direction.UP, "slide in down": Direction.DOWN}
SLIDES_OUT = {"slide out up": Direction.UP, "slide out down": Direction.DOWN}
PROPOSED = "proposed "
PROPOSED_STROKES = {f"{PROPOSED}{mark}": stroke for mark, stroke in STROKES.items()}


def mark_line(lines: Sequence[Sequence[Group]], report: Reporter, *, is_own: bool) -> None:
    """Turn what spans several notes into marks of each: slurs into hammer-ons and pull-offs, waves into vibrato.

    Slurs say nothing more where the file has hammer-ons and pull-offs of its own.
    """
    moments: list[list[Written]] = []
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


def _mark_waves(moments: Sequence[Sequence[Written]]) -> None:
    waving = False
    for note in chain.from_iterable(moments):
        begins, ends = "wave from" in note.marks and "trill" not in note.marks, "wave to" in note.marks
        if waving or begins:
            note.marks.add("vibrato")
        waving = (waving or begins) and not ends


def _mark_slurs(moments: Sequence[Sequence[Written]], report: Reporter) -> None:
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
                    what = f"slurs over more than {LONGEST_SLUR} notes are taken for phrases and left out"
                    report.left_out(what, moments[start][0].line)


def _slur(moments: Sequence[Sequence[Written]]) -> None:
    for before, after in pairwise(moments):
        for low, high in zip(_by_pitch(before), _by_pitch(after), strict=False):
            if low.pitch != high.pitch and "slide to" not in high.marks:
                high.marks.add("hammer to" if (high.pitch or 0) > (low.pitch or 0) else "pull to")


def _by_pitch(notes: Sequence[Written]) -> list[Written]:
    return sorted(notes, key=lambda note: -(note.pitch or 0))


class EventMaker:
    """Makes the events of measures one after the other; ties and slurs go from one to the next.

    What is moved and left out of another instrument's line is said where it is fitted to the neck.
    """

    def __init__(self, strings: Strings, report: Reporter) -> None:
        self._strings = strings
        self._instrument = strings.instrument
        self._report = report
        self._before: Event | None = None
        self._sounding: set[int | None] = set()

    def make(
        self, groups: Sequence[Group], length: Fraction, metre: Metre, lead: Fraction
    ) -> tuple[list[Event], tuple[SourceEvent, ...]]:
        """The events of a measure, and its line as written where that is another instrument's.

        Args:
            groups: What begins in the measure, in order.
            length: Quarters of the measure.
            metre: Its metre.
            lead: Where in the metre it begins.

        Raises:
            ScoreError: A stretch of time is too fine to write.
        """
        events: list[Event] = []
        origins: list[tuple[Group | None, bool]] = []
        at = Fraction(0)
        for group in groups:
            end = min(group.end, length)
            if end <= group.onset:
                continue
            if group.onset > at:
                events += rests(lead + at, group.onset - at, metre)
            origins += [(None, False)] * (len(events) - len(origins))
            parts = self._parts(group, end - group.onset, metre, lead)
            events += parts
            origins += [(group, number > 0) for number in range(len(parts))]
            at = end
        if at < length:
            events += rests(lead + at, length - at, metre)
        origins += [(None, False)] * (len(events) - len(origins))
        self._heal(events, [group for group, _ in origins])
        if self._strings.is_ours:
            return events, ()
        written = zip(events, origins, strict=True)
        return events, tuple(_as_written(event.duration, *origin) for event, origin in written)

    def _parts(self, group: Group, length: Fraction, metre: Metre, lead: Fraction) -> list[Event]:
        durations: tuple[Duration, ...]
        if group.duration is not None and group.duration.length == length:
            durations = (group.duration,)
        else:
            durations = spell(lead + group.onset, length, metre)
        notes = self._notes(group.notes) if group.notes else ()
        if not notes:
            return [Event(duration=duration) for duration in durations]
        event = self._event(group, notes, durations[0])
        return in_parts(event, durations) if len(durations) > 1 else [event]

    def _event(self, group: Group, notes: tuple[Note, ...], duration: Duration) -> Event:
        marks = set().union(*(note.marks for note in group.notes))
        return Event(
            duration=duration,
            notes=notes,
            stroke=_first(STROKES, marks),
            proposed_stroke=_first(PROPOSED_STROKES, marks),
            tremolo="tremolo" in marks,
            proposed_tremolo="proposed tremolo" in marks,
            accent="accent" in marks,
            staccato="staccato" in marks,
            roll=_first(ROLLS, marks),
            grace=tuple(self._grace(group.grace)),
        )

    def _heal(self, events: list[Event], groups: Sequence[Group | None]) -> None:
        """Strike what is tied or slurred from nothing, and remember the last event and its pitches as written."""
        for number, (event, group) in enumerate(zip(events, groups, strict=True)):
            healed = heal_event(self._before, event)
            if healed is not event and group is not None:
                events[number] = healed
                slurs = sum(note.slurred for note in event.notes) - sum(note.slurred for note in healed.notes)
                self._tell_struck(group, has_slur=slurs > 0)
            self._before = healed
            self._sounding = {note.pitch for note in group.notes} if group is not None else set()

    def _tell_struck(self, group: Group, *, has_slur: bool) -> None:
        """Why a tie or slur is struck; of a moment that is tied as a whole, the fitting tells it."""
        tied = {note.pitch for note in group.notes if "tied" in note.marks}
        if has_slur or not tied <= self._sounding:
            self._report.changed("ties and slurs from nothing are struck", group.line)
        elif self._strings.is_ours:
            self._report.changed("ties between other courses, frets or dead notes are struck", group.line)
        elif len(tied) < len(group.notes):
            self._report.changed("ties inside chords are struck where the lowest frets part them", group.line)

    # Notes

    def _notes(self, written: Sequence[Written]) -> tuple[Note, ...]:
        """Notes on different courses, the highest first."""
        placed = self._by_strings(written) if self._strings.is_ours else self._by_pitches(written)
        notes: dict[int, Note] = {}
        for each, place in zip(written, placed, strict=True):
            if place is None or place[0] in notes:
                if self._strings.is_ours:
                    self._report.left_out("notes that find no course are left out", each.line)
            else:
                notes[place[0]] = self._note(each, *place)
        return tuple(notes[course] for course in sorted(notes))

    def _by_strings(self, written: Sequence[Written]) -> list[tuple[int, int] | None]:
        """Course and fret of each note as the file says them; of one that it says nothing of, the lowest free."""
        places = [self._told(each) for each in written]
        used = {place[0] for place in places if place is not None}
        for number, each in enumerate(written):
            if places[number] is None and each.pitch is not None:
                self._report.guessed("notes without string and fret are laid on the lowest fret", each.line)
                free = [
                    place
                    for place in self._instrument.places_of(within(self._instrument, each.pitch))
                    if place[0] not in used
                ]
                if free:
                    places[number] = free[0]
                    used.add(free[0][0])
        return places

    def _told(self, note: Written) -> tuple[int, int] | None:
        if note.string is None or not 1 <= note.string <= self._instrument.course_count or note.pitch is None:
            return None
        fret = note.fret
        if fret is None:
            fret = note.pitch - self._instrument.pitch(note.string, 0)
        if not 0 <= fret <= MAX_FRETS:
            return None
        if (self._instrument.pitch(note.string, fret) - note.pitch) % 12:
            self._report.changed(
                "where string and fret sound another pitch than the note, they are read", note.line
            )
        return note.string, fret

    def _by_pitches(self, written: Sequence[Written]) -> list[tuple[int, int] | None]:
        """Places for pitches of any instrument; a tied note stays where it is if nothing else is there."""
        pitches = [note.pitch or 0 for note in written]
        places = [
            None if note is None else (note.course, note.fret) for note in on_neck(self._instrument, pitches)
        ]
        for number, note in enumerate(written):
            moved = within(self._instrument, pitches[number])
            if "tied" in note.marks and self._before is not None:
                held = [
                    (each.course, each.fret)
                    for each in self._before.notes
                    if self._instrument.pitch(each.course, each.fret) == moved
                ]
                others = {place[0] for place in places[:number] + places[number + 1 :] if place is not None}
                if held and held[0][0] not in others:
                    places[number] = held[0]
            if note.finger is not None and note.string is None:
                self._report.left_out("fingers without strings are left out", note.line)
        return places

    def _note(self, written: Written, course: int, fret: int) -> Note:
        marks = written.marks
        if not marks and written.bend is None and written.finger is None:
            return Note(course=course, fret=fret)
        tied = "tied" in marks
        reached = _first(REACHED, marks) if not tied else None
        fingers = self._strings.is_ours
        return Note(
            course=course,
            fret=fret,
            finger=written.finger if fingers else None,
            proposed_finger=_proposed_finger(marks) if fingers else None,
            course_set="held" in marks and fingers,
            reached=reached or Reached.STRUCK,
            tied=tied,
            bend=written.bend,
            slide_in=_first(SLIDES_IN, marks),
            slide_out=_first(SLIDES_OUT, marks),
            muted="muted" in marks,
            ring="ring" in marks,
            vibrato="vibrato" in marks,
        )

    def _grace(self, grace: Sequence[Written]) -> Iterator[Note]:
        for note in grace:
            yield from self._notes([note])


def _first(table: dict[str, Found], marks: set[str]) -> Found | None:
    return next((value for mark, value in table.items() if mark in marks), None)


def _proposed_finger(marks: set[str]) -> int | None:
    return next((finger for finger in range(5) if f"{PROPOSED}finger {finger}" in marks), None)


def _as_written(duration: Duration, group: Group | None, is_later: bool) -> SourceEvent:
    """A moment of the line as the file has it: silence, a group, or a later part of one."""
    if group is None or not group.notes:
        return SourceEvent(duration=duration)
    pitches = sorted({note.pitch for note in group.notes if note.pitch is not None}, reverse=True)
    struck = {note.pitch for note in group.notes if not is_later and "tied" not in note.marks}
    return SourceEvent.of(duration, pitches, set(pitches) - struck)
