"""Giving the notes of a measure other values, all at once."""

from __future__ import annotations

from fractions import Fraction
from itertools import cycle
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.duration import TRIPLET, Duration, total
from tabterm.score.model import Event
from tabterm.score.operations.draft import MeasureDraft, commit
from tabterm.score.place import Place, describe

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.score.model import ChordMark, Measure, Score

REST = "-", "r"
"""Before a value: that of a rest."""


def set_values(score: Score, index: int, text: str) -> Score:
    """Give the notes of a measure the values of a text, in order: `4 8 8`, `8 -8 8t`; commas part them too.

    Values that end before the notes begin again, so that `8` makes all of them eighths. Rests are written anew;
    ties inside the measure go, and chord symbols go with their notes.

    Raises:
        ScoreError: The text is no such list, or the values do not fill the measure (the first one may be short).
    """
    measure, place = score.measures[index], describe(score, Place(index))
    kept = _sounding(measure)
    if not kept:
        raise ScoreError("the measure has no notes", place=place, hint="write some first")
    events = _valued([event for _, event in kept], values_of(text))
    length, whole = total(event.length for event in events), score.metres[index].length
    if length > whole or (length < whole and index > 0 and not measure.short):
        raise ScoreError(
            f"these values make {length} quarters, the measure has {whole}",
            place=place,
            hint="they repeat up to the last note; -4 is a rest",
        )
    heard = tuple(mark for mark in measure.heard_chords if mark.offset < length)
    changes = {"short": length < whole, "chords": _moved(measure, kept, events, length), "heard_chords": heard}
    source = measure.source if length == measure.length else ()
    return commit(score, index, 1, [MeasureDraft.of(measure, events, source=source, **changes)])


def values_of(text: str) -> list[tuple[bool, Duration]]:
    """(whether it is that of a rest, value) of each word; raises ScoreError where none is a note value."""
    found = []
    for word in text.replace(",", " ").split():
        rest, value = word.startswith(REST), word[word.startswith(REST) :]
        duration = Duration.parse(value.removesuffix("t"))
        found.append((rest, duration.in_tuplet(TRIPLET) if value.endswith("t") else duration))
    if all(rest for rest, _ in found):
        raise ScoreError(f"no note values in '{text:.40}'", hint="write some, such as 4 8 8 or 8 -8 4")
    return found


def _sounding(measure: Measure) -> list[tuple[Fraction, Event]]:
    """(offset, event) of what is struck in a measure or tied into it."""
    return [
        (offset, event)
        for offset, event in measure.timed()
        if event.notes and (offset == 0 or not all(note.tied for note in event.notes))
    ]


def _valued(events: Sequence[Event], values: Sequence[tuple[bool, Duration]]) -> list[Event]:
    """The events with the values, and rests where those say so; rests at the end of the values are written too."""
    written: list[Event] = []
    left = iter(events)
    following: Iterator[tuple[int, tuple[bool, Duration]]] = cycle(enumerate(values))
    placed = 0
    for number, (rest, duration) in following:
        if placed == len(events) and (not rest or number == 0):
            break
        if rest:
            written.append(Event(duration=duration))
        else:
            written.append(next(left).with_(duration=duration))
            placed += 1
    return written


def _moved(
    measure: Measure, kept: Sequence[tuple[Fraction, Event]], events: Sequence[Event], length: Fraction
) -> tuple[ChordMark, ...]:
    """The chord symbols, each with the note that it stood over; another stays where it is, if that is free."""
    at, onsets = Fraction(0), []
    for event in events:
        if event.notes:
            onsets.append(at)
        at += event.length
    new = dict(zip((offset for offset, _ in kept), onsets, strict=True))
    placed: dict[Fraction, ChordMark] = {}
    for mark in sorted(measure.chords, key=lambda each: each.offset not in new):
        offset = new.get(mark.offset, mark.offset)
        if offset < length:
            placed.setdefault(offset, mark.with_(offset=offset))
    return tuple(mark for _, mark in sorted(placed.items()))
