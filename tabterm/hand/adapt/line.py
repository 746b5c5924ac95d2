"""The original line of a score: moment by moment its pitches as written, and what was marked on them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tabterm.score.duration import Duration
    from tabterm.score.model import Event, Measure, Note, Score, SourceEvent

SHORT_REST = Fraction(1, 4)  #: quarters; common practice, no source
"""Quarters: a shorter rest only shortens the note before it and parts no phrase."""


@dataclass(frozen=True, slots=True)
class Tone:
    """A pitch of the line.

    Attributes:
        pitch: MIDI note number, whatever the instrument reaches.
        marks: The note of the score that stands for it, for how it is reached and shaded; or None.
        tied: It goes on from the moment before.
    """

    pitch: int
    marks: Note | None = None
    tied: bool = False

    @property
    def slurred(self) -> bool:
        """It is to be sounded by the left hand."""
        return self.marks is not None and self.marks.slurred and not self.tied


@dataclass(frozen=True, slots=True)
class Moment:
    """What begins in the line at a place.

    Attributes:
        place: When.
        duration: How long, as written.
        tones: The highest first; none for a rest.
        grace: Grace notes before it, in playing order.
        event: The event of the score that begins there, for its marks; or None.
        breath: Quarters since the onset of the moment before; of a rest in between, twice what it lasts.
        opens: A phrase begins: after a rest, or with a section or a repeat.
        on_bar: It is the first of a measure.
    """

    place: Place
    duration: Duration
    tones: tuple[Tone, ...] = ()
    grace: tuple[Tone, ...] = ()
    event: Event | None = None
    breath: Fraction = Fraction(0)
    opens: bool = True
    on_bar: bool = False

    @property
    def top(self) -> int:
        """The melody's pitch."""
        return self.tones[0].pitch

    @property
    def tied(self) -> bool:
        """A tone goes on from the moment before."""
        return any(tone.tied for tone in self.tones)

    @property
    def slurred(self) -> bool:
        """A tone is slurred from the moment before; after grace notes it is slurred from them."""
        return not self.grace and any(tone.slurred for tone in self.tones)


def line_of(score: Score, *, own: bool = False, shift: int = 0) -> list[Moment]:
    """The line of a score, rests included; with `own`, and in measures without a source line, its own notes.

    `shift` is how many semitones the score's own notes stand above the line; they come in as the line has them.
    """
    instrument = score.head.instrument

    def written(note: Note) -> int:
        return instrument.pitch(note.course, note.fret) - shift

    moments: list[Moment] = []
    before: Moment | None = None
    since, rested = Fraction(0), Fraction(0)
    for index, measure in enumerate(score.measures):
        border = index > 0 and _parted(score.measures[index - 1], measure)
        for moment in _moments(written, index, measure, own=own):
            if not moment.tones:
                moments.append(moment)
                rested += moment.duration.length
                since += moment.duration.length
                continue
            before = replace(
                _tied(None if rested else before, moment),
                breath=since + rested,
                opens=border or before is None or rested >= SHORT_REST,
                on_bar=not moment.place.offset,
            )
            moments.append(before)
            since, rested, border = moment.duration.length, Fraction(0), False
    return moments


def _parted(before: Measure, measure: Measure) -> bool:
    """Whether a section, a repeat or an ending begins or ends between two measures."""
    begins = measure.section or measure.repeat_start
    return bool(begins or before.repeat_times or before.endings != measure.endings)


def _moments(pitch_of: Callable[[Note], int], index: int, measure: Measure, *, own: bool) -> Iterator[Moment]:
    """The moments of a measure, not yet joined to those before."""
    events = dict(measure.timed())
    if own or not measure.source:
        for offset, event in events.items():
            tones = [Tone(pitch_of(note), note, note.tied) for note in event.notes]
            yield _moment(pitch_of, Place(index, offset), event.duration, tones, event)
        return
    offset = Fraction(0)
    for written in measure.source:
        marked = events.get(offset)
        tones = _marked(pitch_of, written, marked)
        yield _moment(pitch_of, Place(index, offset), written.duration, tones, marked)
        offset += written.duration.length


def _moment(
    pitch_of: Callable[[Note], int], place: Place, duration: Duration, tones: Sequence[Tone], event: Event | None
) -> Moment:
    ordered = tuple(sorted(tones, key=lambda tone: -tone.pitch))
    grace = event.grace if event is not None and ordered else ()
    return Moment(
        place,
        duration,
        ordered,
        tuple(Tone(_beside(pitch_of(note), ordered[0].pitch), note) for note in grace),
        event,
    )


def _beside(pitch: int, main: int) -> int:
    """The pitch in the octave that brings it nearest to the one after it: where a grace note was written."""
    return pitch + 12 * round((main - pitch) / 12)


def _marked(pitch_of: Callable[[Note], int], written: SourceEvent, event: Event | None) -> list[Tone]:
    """The written pitches, each with the note that stands for it: at the same pitch, or octaves away."""
    pitches = tuple(dict.fromkeys(written.pitches))
    notes = [] if event is None else [(pitch_of(note), note) for note in event.notes]
    found: dict[int, Note] = {}
    for modulus in (128, 12):  # first at the very pitch
        for pitch in pitches:
            near = [each for each in notes if (each[0] - pitch) % modulus == 0]
            if near and pitch not in found:
                notes.remove(near[0])
                found[pitch] = near[0][1]
    return [
        Tone(pitch, found.get(pitch), written.holds(pitch) or (pitch in found and found[pitch].tied))
        for pitch in pitches
    ]


def _tied(before: Moment | None, moment: Moment) -> Moment:
    """The moment with only those ties that have the same pitch to come from."""
    pitches = {tone.pitch for tone in before.tones} if before else set()
    tones = tuple(replace(tone, tied=tone.tied and tone.pitch in pitches) for tone in moment.tones)
    return replace(moment, tones=tones)
