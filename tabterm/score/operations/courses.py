"""Moving notes to other courses, and transposing."""

from __future__ import annotations

import re
from contextlib import suppress
from itertools import product
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.score.key import Key
from tabterm.score.kinds import ChordNames
from tabterm.score.operations.draft import MeasureDraft, commit, map_events, refusing
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import end_of, event_at, event_before, events_in, next_event, previous_event
from tabterm.score.seams import partner

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.model import ChordMark, Event, Note, Score

Spot = tuple[int, int]
"""Course and fret."""

_ROOT = re.compile(r"(^[(\[]?|/)([A-H])([#b♯♭]?)")
_GERMAN_ROOT = re.compile(r"(^[(\[]?|/)([A-H])(is(?!us)|es|s(?!us)|[#b♯♭]?)")
"""A root, or a bass behind a slash."""

_SIGNS = {"♯": "#", "♭": "b", "is": "#", "es": "b", "s": "b"}
_WRITTEN = {"♯": {"#": "♯", "b": "♭"}, "is": {"#": "is", "b": "es"}}
_WRITTEN |= {"♭": _WRITTEN["♯"], "es": _WRITTEN["is"], "s": _WRITTEN["is"]}
"""How the signs of a moved name are written, by the sign that the player used."""
_SHARP = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_FLAT = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
FLAT_FIVE, SHARP_FIVE = -6, 8
"""How far a root lies from the tonic on the line of fifths at most: a flat five below, a sharp five above."""


def move_course(score: Score, span: Span, step: int, course: int | None = None) -> Score:
    """Move the notes of a span `step` courses (positive: lower-pitched) at the same pitch.

    With `course`, only the notes on that course move.

    Raises:
        ScoreError: The first note that has no such place on the neck, or whose new course is taken.
    """
    instrument = score.head.instrument

    def moved(place: Place, note: Note) -> Note:
        if course is not None and note.course != course:
            return note
        pitch = instrument.pitch(note.course, note.fret)
        fret = dict(instrument.places_of(pitch)).get(note.course + step)
        if fret is None:
            raise ScoreError(
                f"course {note.course} fret {note.fret} has no place on course {note.course + step}",
                place=describe(score, place),
                hint="move it the other way",
            )
        return _at(note, (note.course + step, fret))

    def change(place: Place, event: Event) -> Event:
        notes = tuple(moved(place, note) for note in event.notes)
        if len({note.course for note in notes}) < len(notes):
            raise ScoreError(
                "two notes would share one course", place=describe(score, place), hint="move them all"
            )
        return _with_notes(event, notes, tuple(moved(place, note) for note in event.grace))

    return map_events(score, span, change)


def move_slur(score: Score, place: Place, step: int, course: int) -> Score:
    """Move the note of a course, with all that it is slurred or tied with, `step` courses at the same pitch.

    Where not all of that has a place there, the note moves alone.

    Raises:
        ScoreError: The note has no such place on the neck, or its new course is taken.
    """
    first = place
    while (found := event_at(score, first)) and (note := found[1].on_course(course)) and not note.is_struck:
        before = previous_event(score, first)
        if before is None or before[1].on_course(course) is None:
            break
        first = before[0]
    end = next_event(score, place)
    while end and (note := end[1].on_course(course)) and not note.is_struck:
        end = next_event(score, end[0])
    last = end[0] if end else end_of(score)
    following = next_event(score, place)
    alone = Span(place, following[0] if following else end_of(score))
    try:
        return move_course(score, Span(first, last), step, course)
    except ScoreError:
        return move_course(score, alone, step, course)


def slurs_over_courses(score: Score, span: Span) -> int:
    """How many slurs of a span, and into the event behind it, come from another course than their own."""
    count, before = 0, event_before(score, span.start)
    following = event_at(score, span.end)
    for event in (*(event for _, event in events_in(score, span)), *([following[1]] if following else [])):
        slurred = [note for note in event.notes if note.slurred and not event.grace]
        count += sum(partner(before, note) is None for note in slurred)
        before = event
    return count


def transpose(score: Score, span: Span, semitones: int) -> Score:
    """Move the pitches of a span; each note stays on its course, or goes to the nearest that has it.

    Of all ways to place the notes the one that breaks the fewest ties, then splits the fewest slurs over two
    courses, then stretches double stops least, then moves the notes the fewest courses.

    Raises:
        ScoreError: A note leaves the instrument; nothing is changed then.
    """
    if semitones == 0:
        return score
    events = list(events_in(score, span))
    spots = _laid(score, events, semitones)
    where = dict(zip((place for place, _ in events), spots, strict=True))

    def change(place: Place, event: Event) -> Event:
        notes = tuple(_at(note, spot) for note, spot in zip(event.notes, where[place], strict=True))
        went = {old.course: new.course for old, new in zip(event.notes, notes, strict=True)}
        grace = tuple(_grace_at(score, place, note, semitones, went.get(note.course)) for note in event.grace)
        return _with_notes(event, notes, grace)

    return map_events(score, span, change)


FIFTH = 7
"""Semitones of a fifth."""

Spots = tuple[Spot, ...]
"""Where the notes of an event are, in their order."""

Way = tuple[Any, Spots] | None
"""Where the notes of the last event are, and behind that the way of those before it; None before the first."""

Cost = tuple[int, int, int, int, int]
"""Broken ties, split slurs, frets that double stops stretch over four, courses that notes move by, frets."""


def _laid(score: Score, events: Sequence[tuple[Place, Event]], semitones: int) -> list[Spots]:
    """Where the notes of each event go, by the least cost of the whole."""
    before = event_before(score, events[0][0]) if events else None
    start = tuple(note.spot for note in before.notes) if before else ()
    ways: dict[Spots, tuple[Cost, Way]] = {start: ((0, 0, 0, 0, 0), None)}
    for place, event in events:
        choices = _choices(score, place, event.notes, semitones)
        reached: dict[Spots, tuple[Cost, Way]] = {}
        for spots in choices:
            moves = sum(abs(spot[0] - note.course) for note, spot in zip(event.notes, spots, strict=True))
            frets = [fret for _, fret in spots]
            stretch = max(max(frets, default=0) - min(filter(None, frets), default=0) - 4, 0)
            best = min(
                (
                    (_plus(cost, (*_broken(before, old, event, spots), stretch, moves, sum(frets))), number, way)
                    for number, (old, (cost, way)) in enumerate(ways.items())
                ),
                key=itemgetter(0, 1),
            )
            reached[spots] = (best[0], (best[2], spots))
        ways, before = reached, event
    way, laid = min(ways.values(), key=itemgetter(0))[1], []
    while way is not None:
        way, spots = way
        laid.append(spots)
    return laid[::-1]


def _plus(one: Cost, other: Cost) -> Cost:
    a, b, c, d, e = one
    return a + other[0], b + other[1], c + other[2], d + other[3], e + other[4]


def _broken(before: Event | None, old: Spots, event: Event, spots: Spots) -> tuple[int, int]:
    """Ties and slurs of an event that come from elsewhere, with the notes of the event before at `old`."""
    went = {} if before is None else {note.course: spot for note, spot in zip(before.notes, old, strict=True)}
    pairs = list(zip(event.notes, spots, strict=True))
    ties = sum(note.tied and went.get(note.course, spot) != spot for note, spot in pairs)
    slurs = sum(
        note.slurred and not event.grace and went.get(note.course, spot)[0] != spot[0] for note, spot in pairs
    )
    return ties, slurs


def _choices(score: Score, place: Place, notes: Sequence[Note], semitones: int) -> list[Spots]:
    """Every way to place some notes on different courses; raises ScoreError where there is none."""
    pitch, places_of = score.head.instrument.pitch, score.head.instrument.places_of
    found = product(*(places_of(pitch(note.course, note.fret) + semitones) for note in notes))
    ways = [spots for spots in found if len({course for course, _ in spots}) == len(spots)]
    if not ways:
        raise ScoreError(
            f"transposed by {semitones} this does not fit on the neck",
            place=describe(score, place),
            hint="transpose less, or the other way",
        )
    return ways


def _grace_at(score: Score, place: Place, note: Note, semitones: int, course: int | None) -> Note:
    """A grace note transposed: on the course where its note has gone or, failing that, the nearest."""
    near = note.course if course is None else course
    ways = (spot for (spot,) in _choices(score, place, (note,), semitones))
    return _at(note, min(ways, key=lambda spot: (abs(spot[0] - near), abs(spot[0] - note.course), spot[1])))


def transpose_to_key(score: Score, key: Key) -> Score:
    """Transpose the whole score to another tonic, by the way of `way_to`, with keys and chord symbols.

    Raises:
        ScoreError: A note leaves the instrument, upwards and downwards.
    """
    return with_signatures(transpose(score, Span(Place(0), end_of(score)), way_to(score, key)), key)


def way_to(score: Score, key: Key) -> int:
    """Semitones to a key by the shortest way on the neck; of a fourth and a fifth the one with lower frets."""
    shortest, whole, frets = semitones_to(score, key), Span(Place(0), end_of(score)), dict[int, int]()
    for semitones in (shortest, shortest + (12 if shortest < 0 else -12)):
        if not frets or abs(semitones) <= FIFTH:
            with suppress(ScoreError):
                moved = transpose(score, whole, semitones)
                frets[semitones] = sum(note.fret for _, event in events_in(moved, whole) for note in event.notes)
    return min(frets, key=lambda semitones: frets[semitones], default=shortest)


def semitones_to(score: Score, key: Key) -> int:
    """Semitones from the tonic of the score to that of a key, the shortest way (-6 to 5)."""
    return (key.tonic - score.head.key.tonic + 6) % 12 - 6


def with_signatures(score: Score, key: Key) -> Score:
    """The score with keys and chord symbols moved to another tonic; the notes stay."""
    semitones = semitones_to(score, key)
    drafts = [
        MeasureDraft.of(
            measure,
            key=None if measure.key is None else moved_key(measure.key, semitones),
            chords=tuple(_moved_chord(mark, semitones, key, score.chord_names) for mark in measure.chords),
            heard_chords=tuple(
                _moved_chord(mark, semitones, key, score.chord_names) for mark in measure.heard_chords
            ),
        )
        for measure in score.measures
    ]
    return commit(score, 0, len(drafts), drafts, score.head.with_(key=key))


def _at(note: Note, spot: Spot) -> Note:
    """The note at another place, its finger forgotten where the place differs."""
    if spot == (note.course, note.fret):
        return note
    course, fret = spot
    return note.with_(course=course, fret=fret, finger=None, proposed_finger=None)


def _with_notes(event: Event, notes: tuple[Note, ...], grace: tuple[Note, ...]) -> Event:
    if notes == event.notes and grace == event.grace:
        return event
    return event.with_(notes=tuple(sorted(notes, key=lambda note: note.course)), grace=grace)


def moved_key(old: Key, semitones: int) -> Key:
    """The key moved; of two spellings the one with fewer accidentals in its signature."""
    tonic = (old.tonic + semitones) % 12
    keys = [_key(names[tonic], old.mode) for names in (_SHARP, _FLAT)]
    return min(keys, key=lambda key: abs(key.fifths))


def _key(name: str, mode: str) -> Key:
    return Key(name[0], {"#": 1, "b": -1}.get(name[1:], 0), mode)


def _moved_chord(mark: ChordMark, semitones: int, key: Key, names: ChordNames) -> ChordMark:
    if semitones == 0:
        return mark
    moved = moved_symbol(mark.symbol, semitones, key, names)
    with refusing(f"the chord symbol '{moved}' is too long", hint="at most 24 characters"):
        return mark.with_(symbol=moved)


def moved_symbol(symbol: str, semitones: int, key: Key, chords: ChordNames = ChordNames.ENGLISH) -> str:
    """A chord symbol with its root, and its bass behind a slash, moved; each keeps its step of the key.

    `chords` says how roots are named; an H and the signs ♯ and ♭ stay in use where the player wrote them.
    """
    german = chords is ChordNames.GERMAN
    home = (key.tonic_fifths - 7 * semitones + 6) % 12 - 6

    def moved(found: re.Match[str]) -> str:
        before, letter, sign = found.groups()
        english = {"H": "B", "B": "Bb" if german and not sign else "B"}.get(letter, letter)
        root = Key.parse(english + _SIGNS.get(sign, sign))
        apart = root.tonic_fifths - home
        fifths = key.tonic_fifths + apart - 12 * ((apart > SHARP_FIVE) - (apart < FLAT_FIVE))
        name = (_FLAT if fifths < 0 else _SHARP)[(root.tonic + semitones) % 12]
        name = {"B": "H", "Bb": "B"}.get(name, name) if german else name
        written = name[0] + _WRITTEN.get(sign, {}).get(name[1:], name[1:])
        return before + {"Ees": "Es", "Aes": "As"}.get(written, written)

    return (_GERMAN_ROOT if german else _ROOT).sub(moved, symbol)
