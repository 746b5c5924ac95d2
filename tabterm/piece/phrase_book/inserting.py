"""A phrase put into a score: in its key, at its bar lines, where the hand is."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.hand.fingering import fingering
from tabterm.hand.onsets import phrases
from tabterm.hand.proposals import with_fingers
from tabterm.hand.review import findings
from tabterm.harmony.figures import bar_of, moves_in
from tabterm.harmony.spelling import chord_in_force
from tabterm.piece.phrase_book.entry import length_of, steps, whole
from tabterm.piece.piece import cut_out
from tabterm.score.operations import copy, map_events, paste, transpose
from tabterm.score.operations.courses import with_signatures
from tabterm.score.operations.marks import drop_remarks
from tabterm.score.place import Place, Span, describe, lead_in
from tabterm.score.query import distance, end_of, events_in, move_by

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Score

FINDING = 10.0  #: points; tuned here
"""What a finding in the phrase or round it counts, beside the effort of the hand in points a note."""

OCTAVE = 1.0  #: points; tuned here
"""What an octave away from where the phrase was kept counts."""

AROUND = 2  #: measures; tuned here
"""So much of the music before and behind is looked at: the hand comes from there and goes on there."""


@dataclass(frozen=True, slots=True)
class Inserted:
    """A score with a phrase in it.

    Attributes:
        score: It.
        span: Where the phrase sounds.
        semitones: How far it was moved from where it was kept.
    """

    score: Score
    span: Span
    semitones: int


def bar_at(score: Score, place: Place) -> int:
    """The measure that a phrase begins in, its pickup before it: the one that begins at a place, or the next."""
    return place.measure + (place.offset > 0 or (place.measure == 0 and lead_in(score, 0) > 0))


def inserted(score: Score, place: Place, phrase: Score, player: Player) -> Inserted:
    """Put a phrase over the music from a place on, its first bar line at the next one there.

    It is moved to the key there or, where the same steps of chords stand elsewhere in that key, to these; of the
    octaves and courses those that the hand reaches with least effort from what stands around. The chords of
    the score stay; where it has none, those of the phrase come along.

    Raises:
        ScoreError: The metre is another, the pickup has no room, or the neck has no place for it.
    """
    bar = Place(bar_at(score, place))
    metre = score.metres[min(bar.measure, len(score.measures) - 1)]
    if metre != phrase.head.metre:
        raise ScoreError(
            f"the phrase is in {phrase.head.metre}, the music here in {metre}",
            place=describe(score, place),
            hint="choose one of this metre",
        )
    sounding = [(at, event) for at, event in events_in(phrase, whole(phrase)) if event.notes]
    first, last = sounding[0][0], move_by(phrase, sounding[-1][0], sounding[-1][1].length)
    start = _before(score, bar, phrase, first)
    ways: list[tuple[float, int, Score, Span, int]] = []
    for laid, semitones in _laid(score, bar, phrase):
        clip = copy(laid, Span(first, last))
        there = paste(score, start, clip, chords=_is_bare(score, bar))
        span = Span(start, move_by(there, start, clip.length))
        for way in (there, _under_hand(there, span, player)):
            effort = _effort(way, span, player) + OCTAVE * abs(semitones) / 12
            ways.append((effort, len(ways), way, span, semitones))
    if not ways:
        raise ScoreError("this phrase does not fit on the neck in this key", place=describe(score, place))
    _, _, there, span, semitones = min(ways, key=lambda way: way[:2])
    return Inserted(drop_remarks(there, score, span), span, semitones)


def _before(score: Score, bar: Place, phrase: Score, first: Place) -> Place:
    """Where the phrase begins to sound, with its first bar line at one of the score."""
    own = bar_of(phrase, whole(phrase))
    if first >= own:
        return move_by(score, bar, distance(phrase, own, first)) if bar.measure < len(score.measures) else bar
    lead = distance(phrase, first, own)
    before = bar.measure - 1
    if before < 0 or score.measures[before].length < lead:
        raise ScoreError(
            f"no room for its pickup of {lead} quarters",
            place=describe(score, bar),
            hint="insert it a measure later",
        )
    return Place(before, score.measures[before].length - lead)


def _laid(score: Score, bar: Place, phrase: Score) -> Iterator[tuple[Score, int]]:
    """The phrase on the neck of the score in its key, in each octave that the neck has."""
    own, there = phrase.head.instrument, score.head.instrument
    if len({one.pitch - other.pitch for one, other in zip(own.courses, there.courses, strict=False)}) != 1:
        raise ScoreError(f"the phrase is for the {own.name}, which is tuned differently")
    lower = own.pitch(1, 0) - there.pitch(1, 0)
    semitones = _semitones(score, bar, phrase)
    key = score.keys[min(bar.measure, len(score.measures) - 1)]
    laid = phrase.with_(head=phrase.head.with_(instrument=there))
    for move in range(semitones - 24, semitones + 25, 12):
        with suppress(ScoreError):
            moved = transpose(laid, whole(laid), move + lower)
            yield moved if semitones == 0 else with_signatures(moved, key), move


def _under_hand(score: Score, span: Span, player: Player) -> Score:
    """The score with the notes of a span on courses that the hand chooses as it comes from what stands around."""
    piece, first = _around(score, span)
    inside = Span(_earlier(span.start, first), _earlier(span.end, first))
    for rest in (Span(Place(0), inside.start), Span(inside.end, end_of(piece))):
        piece = map_events(piece, rest, _held)
    chosen = with_fingers(piece, player, keep_courses=False)
    return paste(score, span.start, copy(chosen, inside))


def _held(_: Place, event: Event) -> Event:
    return event.with_(notes=tuple(note.with_(course_set=True) for note in event.notes))


def _around(score: Score, span: Span) -> tuple[Score, int]:
    """A span with the music before and behind it as a piece of its own, and the number of its first measure."""
    last = min(span.end.measure, len(score.measures) - 1)
    first = max(span.start.measure - AROUND, 0)
    return cut_out(score, first, min(last + AROUND, len(score.measures) - 1)), first


def _earlier(place: Place, by: int) -> Place:
    return Place(place.measure - by, place.offset)


def _semitones(score: Score, bar: Place, phrase: Score) -> int:
    """How far the phrase moves up, less than an octave either way: to the key, or to the chords that it fits."""
    index = min(bar.measure, len(score.measures) - 1)
    key, own = score.keys[index], phrase.head.key
    there = moves_in(score, Span(Place(index), move_by(score, Place(index), length_of(phrase))))
    moves = moves_in(phrase, Span(bar_of(phrase, whole(phrase)), whole(phrase).end))
    up = key.tonic - own.tonic
    if there and moves and steps(there) == steps(moves):
        up += there[0].root - moves[0].root
    return (up + 6) % 12 - 6


def _is_bare(score: Score, bar: Place) -> bool:
    """Whether no chord stands over a measure."""
    return bar.measure >= len(score.measures) or chord_in_force(score, bar) is None


def _effort(score: Score, span: Span, player: Player) -> float:
    """Effort of the hand in a span and around it, in points a note, with what cannot be done."""
    piece, _ = _around(score, span)
    count = sum(len(phrase) for phrase in phrases(piece))
    return fingering(piece, player).points / max(count, 1) + FINDING * len(findings(piece, player))
