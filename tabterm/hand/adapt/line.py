"""A line as the fitting sees it: moment by moment with what parts its phrases; and the line of a score."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.line import EVENT_MARKS, NOTE_MARKS, Bar, Line, Moment
from tabterm.score.model import Event, Signs
from tabterm.score.place import Place
from tabterm.score.source import Tone
from tabterm.values import field_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.instrument import Instrument
    from tabterm.score.model import Measure, Note, Score
    from tabterm.score.source import SourceEvent

SHORT_REST = Fraction(1, 4)  #: quarters; common practice, no source
"""Quarters: a shorter rest only shortens the note before it and parts no phrase."""


class Phrased(Moment):
    """What begins in the line at a place.

    Attributes:
        place: When.
        breath: Quarters since the onset of the moment before; of a rest in between, twice what it lasts.
        opens: A phrase begins: after a rest, or with a section or a repeat.
        on_bar: It is the first of a measure.
        lowered: Of other voices that go above the melody, the pitches as written and those under the melody that
            `notes` have.
    """

    place: Place
    breath: Fraction = Fraction(0)
    opens: bool = True
    on_bar: bool = False
    lowered: tuple[tuple[int, int], ...] = ()

    @property
    def top(self) -> int:
        """The melody's pitch: the highest of the first voice that sounds."""
        return self.notes[0].pitch

    @property
    def written(self) -> tuple[int, ...]:
        """Its pitches as they are written; the highest need not be the melody."""
        were = {now: was for was, now in self.lowered}
        return tuple(were.get(note.pitch, note.pitch) for note in self.notes)

    @property
    def tied(self) -> bool:
        """A note goes on from the moment before."""
        return any(note.tied for note in self.notes)

    @property
    def slurred(self) -> bool:
        """A note is slurred from the moment before; after grace notes it is slurred from them."""
        return not self.grace and any(note.slurred for note in self.notes)


def phrased(line: Line) -> list[Phrased]:
    """The moments of a line, rests included."""
    moments: list[Phrased] = []
    before: Phrased | None = None
    since, rested = Fraction(0), Fraction(0)
    for index, bar in enumerate(line.measures):
        border = index > 0 and _parted(line.measures[index - 1], bar)
        offset = Fraction(0)
        for moment in bar.events:
            fields = {name: getattr(moment, name) for name in field_names(Moment)}
            place, length = Place(index, offset), moment.length
            offset += length
            if not moment.notes:
                moments.append(Phrased(**fields, place=place))
                rested += length
                since += length
                continue
            notes, lowered = _under_melody(moment.notes)
            fields["notes"] = _tied(None if rested else before, notes)
            before = Phrased(
                **fields,
                lowered=lowered,
                place=place,
                breath=since + rested,
                opens=border or before is None or rested >= SHORT_REST,
                on_bar=not place.offset,
            )
            moments.append(before)
            since, rested, border = length, Fraction(0), False
    return moments


def _under_melody(notes: tuple[Tone, ...]) -> tuple[tuple[Tone, ...], tuple[tuple[int, int], ...]]:
    """Notes with those of other voices that go above the first one's brought down by octaves, and which these are.

    One that comes onto a note of the first voice only doubles it, and goes. That the first voice has the melody is
    common practice, no source.
    """
    first = min(note.voice for note in notes)
    top = max(note.pitch for note in notes if note.voice == first)
    lowered = {note.pitch: top - (top - note.pitch) % 12 for note in notes if note.pitch > top}
    if not lowered or min(lowered.values()) < 0:
        return notes, ()
    under: dict[int, Tone] = {}
    for note in sorted(notes, key=lambda note: note.voice):
        pitch = lowered.get(note.pitch, note.pitch)
        under.setdefault(pitch, note.with_(pitch=pitch))
    told = tuple((was, now) for was, now in lowered.items() if under[now].voice > first)
    return tuple(under[pitch] for pitch in sorted(under, reverse=True)), told


def _parted(before: Bar, bar: Bar) -> bool:
    """Whether a section, a repeat or an ending begins or ends between two measures."""
    begins = bar.section or bar.repeat_start
    return bool(begins or before.repeat_times or before.endings != bar.endings)


def _tied(before: Moment | None, notes: Sequence[Tone]) -> tuple[Tone, ...]:
    """The notes, of their ties only those that have the same pitch to come from."""
    pitches = before.pitches if before else ()
    return tuple(note.with_(tied=False) if note.tied and note.pitch not in pitches else note for note in notes)


# The line of a score


def line_of(score: Score, *, own: bool = False, shift: int = 0) -> Line:
    """The line of a score; with `own`, and in measures without a source line, its own notes.

    A moment of the source row has the articulation that it keeps; where it keeps none, that of the notes that are
    played for it, and always their fingers and stroke, which are the player's business.
    `shift` is how many semitones the score's own notes stand above the line; they come in as the line has them.
    """
    bars = [_bar(score.head.instrument, measure, own=own, shift=shift) for measure in score.measures]
    return Line(head=score.head, measures=tuple(bars))


def _bar(instrument: Instrument, measure: Measure, *, own: bool, shift: int) -> Bar:
    signs = {name: getattr(measure, name) for name in field_names(Signs)}
    if own or not measure.source:
        pairs = ((event, _own(instrument, event.notes, shift)) for event in measure.events)
        return Bar(events=tuple(_moment(instrument, *pair, shift) for pair in pairs), **signs)
    events = dict(measure.timed())
    made = []
    for offset, written in measure.timed_source():
        event = events.get(offset, Event(duration=written.duration))
        moment = _moment(instrument, event, _marked(instrument, written, event, shift), shift)
        made.append(
            moment.with_(duration=written.duration) if written.marks is None else _as_kept(written, moment)
        )
    return Bar(events=tuple(made), **signs)


def _as_kept(written: SourceEvent, played: Moment) -> Moment:
    """A moment as the source row keeps it, with the stroke and the fingers of what is played for it."""
    kept = Moment.of(written)
    fingers = {tone.pitch: tone.finger for tone in played.notes}
    notes = sorted(kept.notes, key=lambda tone: -tone.pitch)
    return kept.with_(stroke=played.stroke, notes=tuple(tone.with_(finger=fingers[tone.pitch]) for tone in notes))


def _moment(instrument: Instrument, event: Event, notes: Iterable[Tone], shift: int) -> Moment:
    """The moment of an event, with what is marked on it and its grace notes."""
    ordered = tuple(sorted(notes, key=lambda note: -note.pitch))
    if not ordered:
        return Moment(duration=event.duration)
    marks = {name: getattr(event, name) for name in EVENT_MARKS}
    grace = tuple(
        _tone(instrument, note, _beside(instrument.pitch(*note.spot) - shift, ordered[0].pitch))
        for note in event.grace
    )
    return Moment(duration=event.duration, notes=ordered, grace=grace, **marks)


def _own(instrument: Instrument, notes: Iterable[Note], shift: int) -> list[Tone]:
    return [_tone(instrument, note, instrument.pitch(*note.spot) - shift, tied=note.tied) for note in notes]


def _tone(instrument: Instrument, note: Note, pitch: int, *, tied: bool = False) -> Tone:
    """A pitch as a note plays it; its finger is meant for the very place."""
    finger = note.finger if instrument.pitch(*note.spot) == pitch else None
    marks = {name: getattr(note, name) for name in NOTE_MARKS}
    return Tone(pitch=pitch, tied=tied, finger=finger, reached=note.reached, **marks)


def _beside(pitch: int, main: int) -> int:
    """The pitch in the octave that brings it nearest to the one after it: where a grace note was written."""
    return pitch + 12 * round((main - pitch) / 12)


def _marked(instrument: Instrument, written: SourceEvent, event: Event, shift: int) -> list[Tone]:
    """The written pitches, each as the note plays it that stands for it: at the same pitch, or octaves away."""
    notes = [(instrument.pitch(*note.spot) - shift, note) for note in event.notes]
    found: dict[int, Note] = {}
    pitches = tuple(dict.fromkeys(written.pitches))
    for modulus in (128, 12):  # first at the very pitch
        for pitch in pitches:
            near = [each for each in notes if (each[0] - pitch) % modulus == 0]
            if near and pitch not in found:
                notes.remove(near[0])
                found[pitch] = near[0][1]
    return [
        _tone(instrument, found[pitch], pitch, tied=written.holds(pitch) or found[pitch].tied)
        if pitch in found
        else Tone(pitch=pitch, tied=written.holds(pitch))
        for pitch in pitches
    ]
