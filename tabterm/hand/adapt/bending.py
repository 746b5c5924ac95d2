"""Bends of the original that this instrument cannot make, brought to the pitch that they are meant to reach."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.adapt.articulation import bend_trouble
from tabterm.hand.bends import as_slur, bounds, landing
from tabterm.harmony.spelling import pitch_words
from tabterm.score.kinds import BendShape, Reached
from tabterm.score.operations import map_events
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of
from tabterm.score.report import Kind, Remark

if TYPE_CHECKING:
    from tabterm.score.model import Event, Note, Score


WAYS = {BendShape.RISE: "to {}", BendShape.FALL: "from {}", BendShape.RISE_AND_FALL: "to {} and back"}
"""What a bend of each shape is as a slide, by the pitch that it reaches."""


def without_bends(score: Score) -> tuple[Score, list[Remark]]:
    """The score with slides, or from open courses hammer-ons, for the bends that its courses do not give easily.

    They reach the same pitch; a small bend does what is left between two frets. Where the pitch cannot be reached
    so, a bend that is hard stays, and one that is impossible is left out.
    """
    slides = _Slides(score)
    changed = map_events(score, Span(Place(0), end_of(score)), slides.event)
    return (changed, slides.done) if slides.done else (score, [])


@dataclass
class _Slides:
    """Goes through the events of a score, in order."""

    score: Score
    done: list[Remark] = field(default_factory=list)
    slid: dict[int, tuple[int, int]] = field(default_factory=dict)
    """By course, the fret to which the note before was slid, and that where it was written."""

    def event(self, place: Place, event: Event) -> Event:
        """The event with its bends as slides."""
        before, self.slid = self.slid, {}
        grace, notes = event.grace, []
        for note in event.notes:
            came, left = self._note(place, self._after(note, before.get(note.course)))
            grace += came
            notes.append(left)
        changed = any(left is not note for left, note in zip(notes, event.notes, strict=True))
        return event.with_(notes=tuple(notes), grace=grace) if changed else event

    def _note(self, place: Place, note: Note) -> tuple[tuple[Note, ...], Note]:
        """Grace notes before a note, and what it becomes."""
        instrument, bend = self.score.head.instrument, note.bend
        trouble = bend_trouble(instrument, note)
        if bend is None or not trouble:
            return (), note
        slurred = as_slur(instrument, note.with_(tied=False))
        if slurred is None:
            if note.fret and bend.cents <= bounds(instrument, note.course, note.fret).possible_cents:
                return (), note
            self._say(place, note, f"is left out: {trouble}")
            return (), note.with_(bend=None)
        fret, rest = landing(instrument, note.course, note.fret, bend) or (note.fret, None)
        how = "slide" if note.fret else "hammer-on"
        bent = f" and a bend of {rest.cents} cents" if rest and bend.shape is BendShape.RISE else ""
        target = pitch_words(instrument.pitch(note.course, fret), self.score.keys[place.measure])
        self._say(place, note, f"is played as a {how} {WAYS[bend.shape].format(target)}{bent}: {trouble}")
        if bend.shape is BendShape.RISE:
            self.slid[note.course] = (slurred[1].fret, note.fret)
        elif note.tied:
            return (), note.with_(bend=None)
        return () if note.tied else slurred[0], slurred[1]

    def _say(self, place: Place, note: Note, what: str) -> None:
        pitch = self.score.head.instrument.pitch(note.course, note.fret)
        name = pitch_words(pitch, self.score.keys[place.measure])
        self.done.append(Remark(Kind.CHANGED, f"the bend of {name} {what}", place=place))

    def _after(self, note: Note, slid: tuple[int, int] | None) -> Note:
        """A note behind one that was slid: tied to it there, or slurred from there."""
        if slid is None or not (note.tied or note.slurred):
            return note
        if note.tied:
            self.slid[note.course] = slid
            return note.with_(fret=slid[0], finger=None, proposed_finger=None) if note.fret == slid[1] else note
        if note.fret == slid[0]:
            return note.with_(reached=Reached.STRUCK)
        if note.reached is Reached.SLIDE:
            return note
        return note.with_(reached=Reached.HAMMER if note.fret > slid[0] else Reached.PULL)
