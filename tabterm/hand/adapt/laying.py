"""A line laid on the neck: octaves chosen, chords in shapes, marks carried over; courses still to be chosen."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.adapt.articulation import WORDS, reached_between
from tabterm.hand.adapt.chords import Fitted, fitted, frets_words
from tabterm.hand.adapt.octaves import lowest_frets, octaves
from tabterm.hand.adapt.summary import moves
from tabterm.hand.neck import neck_of
from tabterm.harmony.spelling import harmony_in_force, pitch_words
from tabterm.score.kinds import Reached
from tabterm.score.line import EVENT_MARKS, NOTE_MARKS
from tabterm.score.model import Event, Note
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.report import Kind, Remark

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.hand.adapt.line import Phrased
    from tabterm.hand.adapt.octaves import Frets, Octaves
    from tabterm.hand.neck import Neck
    from tabterm.hand.player import Player
    from tabterm.score.model import Head, Score
    from tabterm.score.place import Place
    from tabterm.score.source import Tone


@dataclass(frozen=True, slots=True)
class Laid:
    """A line on the lowest frets.

    Attributes:
        score: The draft.
        octaves: By how many octaves the moments that sound were moved.
        done: What was moved, left out or replaced.
    """

    score: Score
    octaves: Octaves
    done: tuple[Remark, ...]


def laid(score: Score, player: Player, head: Head, line: Sequence[Phrased], semitones: int) -> Laid:
    """Lay a line, moved by semitones, on the neck of another head; it fills the measures of the score."""
    frets = lowest_frets(head.instrument)
    sounding = [moment for moment in line if moment.notes]
    chosen = octaves(frets, sounding, semitones)
    shifts = {moment.place: shift for moment, shift in zip(sounding, chosen.each, strict=True)}
    layer = _Layer(score, neck_of(head, player), frets)
    events: list[list[Event]] = [[] for _ in score.measures]
    for moment in line:
        shift = shifts.get(moment.place)
        move = None if shift is None else semitones + 12 * shift
        events[moment.place.measure].append(layer.event(moment, move))
    drafts = [MeasureDraft.of(measure, each) for measure, each in zip(score.measures, events, strict=True)]
    draft = commit(score, 0, len(drafts), drafts, head)
    return Laid(draft, chosen, (*moves(draft, sounding, chosen, semitones), *layer.done))


@dataclass
class _Layer:
    """Makes the events of a line, one after the other."""

    score: Score
    neck: Neck
    frets: Frets
    done: list[Remark] = field(default_factory=list)
    reshaped: set[str] = field(default_factory=set)
    """What was said of chords: each once, in its first place."""
    before: dict[int, Note] = field(default_factory=dict)
    """The notes of the event before, by pitch; none after a rest."""

    def event(self, moment: Phrased, move: int | None) -> Event:
        """The event of a moment, its pitches moved by semitones (None: it has no place on the neck)."""
        if move is None or not moment.notes:
            for tone in moment.notes:
                self._leave_out(moment.place, tone.pitch, "it is beyond the neck")
            self.before = {}
            return Event(duration=moment.duration)
        tones = {tone.pitch + move: tone for tone in moment.notes}
        grace = tuple(self._grace(moment, move))
        lowered = {now + move: was + move for was, now in moment.lowered}
        laid = self._on_the_neck(moment.place, tones, lowered)
        before = {self._pitch(grace[-1]): grace[-1]} if grace else self.before
        notes = [
            self._note(moment.place, _tone_for(pitch, tones), pitch, spot, before, moved=bool(move))
            for pitch, spot in laid.items()
        ]
        self.before = dict(zip(laid, notes, strict=True))
        marks = {name: getattr(moment, name) for name in EVENT_MARKS}
        return Event(duration=moment.duration, notes=tuple(notes), grace=grace, **marks)

    def _on_the_neck(
        self, place: Place, tones: dict[int, Tone], lowered: dict[int, int]
    ) -> dict[int, tuple[int, int]]:
        """Course and fret of every pitch that is played: tied ones where they are, chords in a shape.

        Args:
            place: When.
            tones: The notes by pitch, the melody's on top.
            lowered: Pitches that were brought down under the melody, and what they were.
        """
        melody = tones[max(tones)].voice
        first = {pitch % 12 for pitch, tone in tones.items() if tone.voice == melody}
        written, found = self._shape(place, tones, first)
        beside = " and ".join(self._name(place, each) for each in found.pitches)
        why = f"no hand can play it with {beside}"
        for pitch, name in found.lost:
            if pitch % 12 in first:
                self._leave_out(place, pitch, why, name)
        for pitch, tone in tones.items():
            at = next((each for each in found.pitches if (each - pitch) % 12 == 0), None)
            whose = f"voice {tone.voice + 1}"
            if at is None and pitch % 12 not in first:
                self._leave_out(place, lowered.get(pitch, pitch), why, whose)
            elif at is not None and pitch in lowered:
                name, now = self._name(place, lowered[pitch]), self._name(place, at)
                message = f"{name} ({whose}) is played as {now}, under the melody"
                self.done.append(Remark(Kind.MOVED, message, place=place))
        if not found.lost and found.pitches != written:
            before, after = (
                " ".join(self._name(place, each) for each in sorted(row)) for row in (written, found.pitches)
            )
            message = f"the chord {before} is played {frets_words(self.neck.instrument, found.places)}: {after}"
            if message not in self.reshaped:
                self.reshaped.add(message)
                self.done.append(Remark(Kind.RESHAPED, message, place=place))
        return dict(zip(found.pitches, found.places, strict=True))

    def _shape(self, place: Place, tones: dict[int, Tone], first: set[int]) -> tuple[tuple[int, ...], Fitted]:
        """Pitches and their shape: of all voices, or without the last ones where these cost the first one a note.

        Args:
            place: When.
            tones: The notes by pitch, the melody's on top.
            first: Pitch classes of the melody's voice.
        """
        tied = {pitch % 12 for pitch, tone in tones.items() if tone.tied}
        kept = tuple(note.spot for pitch, note in self.before.items() if pitch % 12 in tied)
        chord = harmony_in_force(self.score, place)
        melody = tones[max(tones)].voice
        ways = []
        for last in sorted({tone.voice for tone in tones.values() if tone.voice >= melody}, reverse=True):
            row = tuple(sorted((pitch for pitch, tone in tones.items() if tone.voice <= last), reverse=True))
            ways.append((row, fitted(self.neck, row, chord, kept=kept, at_mm=self._at_mm())))
        return min(ways, key=lambda way: sum(pitch % 12 in first for pitch, _ in way[1].lost))

    def _at_mm(self) -> float | None:
        """Where the hand is along the neck; None where nothing is stopped."""
        stopped = [self.neck.mm(note.fret) for note in self.before.values() if note.fret]
        return sum(stopped) / len(stopped) if stopped else None

    def _note(
        self,
        place: Place,
        tone: Tone,
        pitch: int,
        spot: tuple[int, int],
        before: dict[int, Note],
        *,
        moved: bool,
    ) -> Note:
        """The note of a tone with its marks; a finger only where pitch and instrument are the original's."""
        course, fret = spot
        old = before.get(pitch)
        tied = tone.tied and old is not None and (old.course, old.fret) == spot
        if tone.tied and not tied:
            self._replace(place, f"{self._name(place, pitch)} is struck again, not tied: it has to change course")
        reached = Reached.STRUCK
        is_same = not moved and self.score.head.instrument == self.neck.instrument
        if tone.slurred:
            reached = reached_between(self.neck.instrument, before, pitch, tone.reached)
            if reached is Reached.STRUCK:
                why = "too far, or not on one course" if before else "no note comes before it"
                what = f"the {WORDS[tone.reached]} to {self._name(place, pitch)}"
                self._replace(place, f"{what} is picked: {why}")
        marks = {name: getattr(tone, name) for name in NOTE_MARKS}
        finger = tone.finger if is_same else None
        return Note(course=course, fret=fret, finger=finger, reached=reached, tied=tied, **marks)

    def _grace(self, moment: Phrased, move: int) -> Iterator[Note]:
        """The grace notes of a moment that the neck has."""
        before = self.before
        for tone in moment.grace:
            pitch = tone.pitch + move
            if pitch not in self.frets:
                self._leave_out(moment.place, pitch, "it is beyond the neck", "grace note")
                continue
            spot = self.neck.instrument.places_of(pitch)[0]
            note = self._note(moment.place, tone, pitch, spot, before, moved=bool(move))
            before = {pitch: note}
            yield note

    def _leave_out(self, place: Place, pitch: int, why: str, what: str = "") -> None:
        name = self._name(place, pitch) + (f" ({what})" if what else "")
        self.done.append(Remark(Kind.LEFT_OUT, f"{name} is left out: {why}", place=place))

    def _replace(self, place: Place, message: str) -> None:
        self.done.append(Remark(Kind.CHANGED, message, place=place))

    def _name(self, place: Place, pitch: int) -> str:
        return pitch_words(pitch, self.score.keys[place.measure])

    def _pitch(self, note: Note) -> int:
        return self.neck.instrument.pitch(note.course, note.fret)


def _tone_for(pitch: int, tones: dict[int, Tone]) -> Tone:
    """The tone that is played at a pitch: its own, else the highest of the same name."""
    return tones.get(pitch) or tones[max(each for each in tones if (each - pitch) % 12 == 0)]
