"""A melody as the ear follows it: each note between the one it comes from and those it leads to."""

from __future__ import annotations

from fractions import Fraction
from itertools import islice, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.harmony.chords import chord_of
from tabterm.harmony.spelling import chord_before, fifths_in_chord, fifths_in_key, is_extension
from tabterm.score.place import Place, lead_in
from tabterm.score.query import distance, events_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.chords import Chord
    from tabterm.score.key import Key
    from tabterm.score.model import Event, Note, Score
    from tabterm.score.place import Span

STEP = 2  #: semitones; common practice, no source
"""A whole step, the widest move by step."""

BEAT = Fraction(1)  #: quarters; common practice, no source
"""A rest of a beat ends the line; a note of a beat can stand for itself."""


class Setting(NamedTuple):
    """An event, where it is from the start of the measure looked at, and the chord and key in force there."""

    at: Fraction
    event: Event
    symbol: str | None
    chord: Chord | None
    key: Key


class MelodyNote(NamedTuple):
    """A note, and the chord and key that it stands against."""

    setting: Setting
    note: Note
    pitch: int

    @property
    def root(self) -> int:
        """Pitch class of the root of its chord, of the tonic where there is none."""
        chord, tonic = self.setting.chord, self.setting.key.tonic
        return tonic if chord is None or chord.root is None else chord.root

    @property
    def interval(self) -> int:
        """Semitones above that root."""
        return (self.pitch - self.root) % 12

    @property
    def in_chord(self) -> bool:
        """Whether its chord has it."""
        return self.setting.chord is not None and self.interval in self.setting.chord.intervals

    @property
    def is_chord_tone(self) -> bool:
        """Whether it is root, third, fifth or seventh of its chord."""
        chord = self.setting.chord
        return self.in_chord and chord is not None and not is_extension(self.interval, chord)

    @property
    def above_tonic(self) -> int:
        """Semitones above the tonic."""
        return (self.pitch - self.setting.key.tonic) % 12

    @property
    def in_key(self) -> bool:
        """Whether the scale of its key has it; minor has its sixth and seventh raised as well."""
        key = self.setting.key
        raised = key.mode == "minor" and self.above_tonic in {9, 11}
        return raised or 0 <= fifths_in_key(self.pitch, key) - key.fifths + 1 <= 6

    @property
    def fifths(self) -> int:
        """Where its chord writes it, else its key, on the line of fifths from C."""
        chord = self.setting.chord
        if self.in_chord and chord is not None:
            return chord.root_fifths + fifths_in_chord(self.interval, chord)
        return fifths_in_key(self.pitch, self.setting.key)


class SoundingNote(NamedTuple):
    """A note as it is heard, with all that is tied to it.

    Attributes:
        place: Where it begins.
        at: Quarters from the start of the span that was asked about.
        pitch: MIDI note number.
        length: Quarters.
        course: Where it is played.
        strength: Of its moment: 3 first in the measure, 2 on the other strong beats, 1 on a beat, 0 between.
    """

    place: Place
    at: Fraction
    pitch: int
    length: Fraction
    course: int
    strength: int


def sounds(score: Score, span: Span) -> list[SoundingNote]:
    """What is heard of the events of a span, by time, the highest course first; dead notes are left out."""
    pitch, found, going_on = score.head.instrument.pitch, list[SoundingNote](), dict[int, int]()
    for place, event in events_in(score, span):
        at, going = distance(score, span.start, place), dict[int, int]()
        for note in event.notes:
            if note.muted:
                continue
            here = SoundingNote(
                place, at, pitch(note.course, note.fret), event.length, note.course, strength(score, place)
            )
            number = going_on.get(note.course) if note.tied else None
            if number is None:
                number = len(found)
                found.append(here)
            else:
                found[number] = found[number]._replace(length=found[number].length + event.length)
            going[note.course] = number
        going_on = going
    return found


def strength(score: Score, place: Place) -> int:
    """How strong a moment is: 3 first in the measure, 2 halfway where that is a beat, 1 on other beats, else 0."""
    metre, at = score.metres[place.measure], place.offset + lead_in(score, place.measure)
    if at == 0:
        return 3
    halves = len(metre.beats) % 2 == 0 and at * 2 == metre.length
    return 2 if halves else int(at in metre.beats)


class Neighbours(NamedTuple):
    """A note between the one that it comes from and the two that follow.

    Attributes:
        before: The nearest note of the event before.
        here: The note.
        after: What follows it nearest, behind what is tied to it.
        then: What follows that.
        length: Quarters, with what is tied to it.
        coming: The very next event.
        goes_on: That event has the note again.
    """

    before: MelodyNote | None
    here: MelodyNote
    after: MelodyNote | None
    then: MelodyNote | None
    length: Fraction
    coming: Setting | None
    goes_on: bool

    @property
    def move(self) -> int:
        """Semitones to what follows, 0 where nothing does."""
        return self.after.pitch - self.here.pitch if self.after else 0

    @property
    def by_step(self) -> bool:
        """Whether it moves on by step or half step."""
        return 0 < abs(self.move) <= STEP


AHEAD = 3  #: events; tuned here: a tie and the two notes behind it
"""How far over the bar line a note is followed."""


def settings_of(score: Score, index: int, symbol: str | None) -> Iterator[Setting]:
    """The settings of a measure, where `symbol` is in force as it begins."""
    measure = score.measures[index]
    marks = list(measure.chords)
    for offset, event in measure.timed():
        while marks and marks[0].offset <= offset:
            symbol = marks.pop(0).symbol
        yield Setting(offset, event, symbol, chord_of(score, symbol) if symbol else None, score.keys[index])


def setting_before(score: Score, index: int, symbol: str | None) -> list[Setting]:
    """The last setting before a measure that begins with `symbol`, if there is one."""
    if not index:
        return []
    before = score.measures[index - 1]
    symbol = chord_before(score, index - 1) if before.chords else symbol
    return [each._replace(at=each.at - before.length) for each in settings_of(score, index - 1, symbol)][-1:]


def settings_behind(score: Score, index: int, symbol: str | None) -> list[Setting]:
    """The first settings behind a measure that begins with `symbol`."""
    return list(islice(_behind(score, index, symbol), AHEAD))


def _behind(score: Score, index: int, symbol: str | None) -> Iterator[Setting]:
    at = Fraction(0)
    for measure, following in pairwise(range(index, len(score.measures))):
        at += score.measures[measure].length
        symbol = next((mark.symbol for mark in reversed(score.measures[measure].chords)), symbol)
        for setting in settings_of(score, following, symbol):
            yield setting._replace(at=at + setting.at)


def neighbours_of(
    settings: Sequence[Setting], tones: Sequence[Sequence[MelodyNote]], number: int, here: MelodyNote
) -> Neighbours:
    """The line through a note of the setting of a number; `tones` are the notes of each setting."""
    end = here.setting.at + here.setting.event.length
    held = number + 1
    while held < len(tones) and any(each.note.tied and each.pitch == here.pitch for each in tones[held]):
        end = tones[held][0].setting.at + tones[held][0].setting.event.length
        held += 1
    found: list[MelodyNote | None] = []
    last, end_of_last = here, end
    for later in tones[held:]:
        if later and len(found) < 2:
            if later[0].setting.at - end_of_last >= BEAT:
                break
            last = _nearest(later, last)
            end_of_last = last.setting.at + last.setting.event.length
            found.append(last)
    after, then, *_ = [*found, None, None]
    earlier = tones[number - 1] if number else ()
    before = _nearest(earlier, here) if earlier else None
    coming = settings[number + 1] if number + 1 < len(settings) else None
    goes_on = coming is not None and any(each.pitch == here.pitch for each in tones[number + 1])
    return Neighbours(before, here, after, then, end - here.setting.at, coming, goes_on)


def _nearest(tones: Sequence[MelodyNote], to: MelodyNote) -> MelodyNote:
    """The nearest in pitch; of two that are as near the one on the same course."""
    return min(tones, key=lambda each: (abs(each.pitch - to.pitch), each.note.course != to.note.course))
