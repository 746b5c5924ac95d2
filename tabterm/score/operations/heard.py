"""What was heard in a recording, notes of the source line and chords: taken, changed, or left out."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.model import HeardChord
from tabterm.score.operations.draft import change_measure
from tabterm.score.operations.entry import write_notes
from tabterm.score.operations.marks import set_chord
from tabterm.score.place import Place, describe
from tabterm.score.query import event_at, whole_length
from tabterm.score.source import Proposed, SourceEvent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from tabterm.score.model import Score
    from tabterm.score.place import Span


def pending(score: Score, span: Span | None = None) -> Iterator[Place]:
    """Where something is proposed, in order."""
    for index, measure in enumerate(score.measures):
        for offset, event in measure.timed_source() if measure.proposes else ():
            place = Place(index, offset)
            if event.proposed and (span is None or place in span):
                yield place


def source_at(score: Score, place: Place) -> SourceEvent:
    """What is proposed at a place; raises ScoreError where nothing is."""
    measure = score.measures[place.measure] if place.measure < len(score.measures) else None
    found = None if measure is None else dict(measure.timed_source()).get(place.offset)
    if found is None or not found.proposed:
        raise ScoreError(
            "nothing is proposed here", place=describe(score, place), hint="'next-heard' goes to the next"
        )
    return found


def set_heard(score: Score, sources: Mapping[int, Sequence[SourceEvent]]) -> Score:
    """Put what was heard into the source line of measures, in place of what stood there."""
    for index, source in sources.items():
        score = change_measure(score, index, source=tuple(source))
    return score


def take_heard(score: Score, fitted: Score, places: Sequence[Place]) -> Score:
    """Write what is proposed at some places as it was fitted to the neck, and confirm it.

    Args:
        score: The score.
        fitted: The same measures with the proposals on courses.
        places: Where; nothing else is touched, but for what the notes cover.
    """
    for place in places:
        found = event_at(fitted, place)
        if found is not None and found[0] == place and not found[1].is_rest:
            notes = tuple(note.with_(tied=False) for note in found[1].notes)
            score = write_notes(score, place, notes, found[1].duration, length=whole_length(fitted, place))
        score = _changed(score, place, lambda event: event.with_(proposed=()))
    return score


def drop_heard(score: Score, places: Sequence[Place]) -> Score:
    """Take what is proposed at some places out of the source line, with what is held from it."""
    for place in places:
        gone = {each.pitch for each in source_at(score, place).proposed}
        score = _through(score, place, partial(_without, gone))
    return score


def change_heard(score: Score, place: Place, pitch: int) -> Score:
    """Another pitch in place of the one that is proposed; the player has chosen it, so it is sure."""
    was = source_at(score, place).proposed[0]
    if pitch == was.pitch:
        return score

    def changed(event: SourceEvent) -> SourceEvent:
        if was.pitch not in event.pitches:
            return event
        pitches = sorted({pitch if each == was.pitch else each for each in event.pitches}, reverse=True)
        held = {pitch if each == was.pitch else each for each in event.pitches if event.holds(each)}
        others = tuple(dict.fromkeys((was.pitch, *(each for each in was.others if each != pitch))))[:3]
        proposed = tuple(
            Proposed(pitch=pitch, sure=100, others=others) if each.pitch == was.pitch else each
            for each in event.proposed
            if each.pitch != pitch
        )
        return SourceEvent.of(event.duration, pitches, held).with_(proposed=proposed)

    return _through(score, place, changed)


def pending_chords(score: Score, span: Span | None = None) -> dict[Place, HeardChord]:
    """The chords that are proposed, in order."""
    return {
        Place(index, mark.offset): mark
        for index, measure in enumerate(score.measures)
        for mark in measure.heard_chords
        if span is None or Place(index, mark.offset) in span
    }


def set_heard_chords(score: Score, span: Span, heard: Mapping[Place, tuple[str, int]]) -> Score:
    """Propose chords over whole measures, in place of what was proposed there.

    Args:
        score: The score.
        span: The measures; those in which chords stand already keep them, and get none.
        heard: Symbol, and how sure it is in percent, of each place; a chord goes on to the next.
    """
    for index in range(span.start.measure, min(span.end.measure, len(score.measures))):
        marks = tuple(
            HeardChord(offset=place.offset, symbol=symbol, sure=sure)
            for place, (symbol, sure) in sorted(heard.items())
            if place.measure == index and not score.measures[index].chords
        )
        score = change_measure(score, index, heard_chords=marks)
    return score


def take_chords(score: Score, places: Sequence[Place]) -> Score:
    """Set the chords that are proposed at some places."""
    heard = pending_chords(score)
    for place in places:
        score = set_chord(score, place, heard[place].symbol)
    return score


def drop_chords(score: Score, places: Sequence[Place]) -> Score:
    """Leave out the chords that are proposed at some places."""
    for place in places:
        marks = score.measures[place.measure].heard_chords
        left = tuple(mark for mark in marks if mark.offset != place.offset)
        score = change_measure(score, place.measure, heard_chords=left)
    return score


def _without(gone: set[int], event: SourceEvent) -> SourceEvent:
    left = [pitch for pitch in event.pitches if pitch not in gone]
    held = {pitch for pitch in left if event.holds(pitch)}
    proposed = tuple(each for each in event.proposed if each.pitch not in gone)
    return SourceEvent.of(event.duration, left, held).with_(proposed=proposed)


def _through(score: Score, place: Place, change: Callable[[SourceEvent], SourceEvent]) -> Score:
    """Change what begins at a place, and what is held from it."""
    gone = {each.pitch for each in source_at(score, place).proposed}
    score = _changed(score, place, change)
    for index in range(place.measure, len(score.measures)):
        for offset, event in tuple(score.measures[index].timed_source()):
            if Place(index, offset) > place:
                if not any(event.holds(pitch) for pitch in gone):
                    return score
                score = _changed(score, Place(index, offset), change)
    return score


def _changed(score: Score, place: Place, change: Callable[[SourceEvent], SourceEvent]) -> Score:
    measure = score.measures[place.measure]
    source = tuple(change(event) if offset == place.offset else event for offset, event in measure.timed_source())
    return score if source == measure.source else change_measure(score, place.measure, source=source)
