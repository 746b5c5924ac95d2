"""Moving notes to other courses, and transposing."""

from __future__ import annotations

import re
from itertools import product
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.key import Key
from tabterm.score.kinds import ChordNames
from tabterm.score.model import ChordMark, Event, Note, Score
from tabterm.score.operations.draft import MeasureDraft, commit, map_events, refusing
from tabterm.score.place import Place, Span, describe
from tabterm.score.query import end_of

if TYPE_CHECKING:
    from collections.abc import Sequence

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
                "two notes would meet on one course", place=describe(score, place), hint="move them all"
            )
        return _with_notes(event, notes, tuple(moved(place, note) for note in event.grace))

    return map_events(score, span, change)


def transpose(score: Score, span: Span, semitones: int) -> Score:
    """Move the pitches of a span; each note stays on its course, or goes to the nearest that has it.

    Tied notes go where the note goes that they are tied to.

    Raises:
        ScoreError: A note leaves the instrument; nothing is changed then.
    """
    if semitones == 0:
        return score
    went: dict[Spot, Spot] = {}
    pitch = score.head.instrument.pitch
    places_of = score.head.instrument.places_of

    def fitting(place: Place, notes: Sequence[Note]) -> tuple[Note, ...]:
        choices = [places_of(pitch(note.course, note.fret) + semitones) for note in notes]
        best = _nearest(notes, choices, went)
        if best is None:
            raise ScoreError(
                f"transposed by {semitones} this leaves the instrument",
                place=describe(score, place),
                hint="transpose less, or the other way",
            )
        return tuple(_at(note, spot) for note, spot in zip(notes, best, strict=True))

    def change(place: Place, event: Event) -> Event:
        nonlocal went
        notes = fitting(place, event.notes)
        grace = tuple(moved for note in event.grace for moved in fitting(place, (note,)))
        went = {
            (old.course, old.fret): (new.course, new.fret) for old, new in zip(event.notes, notes, strict=True)
        }
        return _with_notes(event, notes, grace)

    return map_events(score, span, change)


def _nearest(
    notes: Sequence[Note], choices: Sequence[Sequence[Spot]], went: dict[Spot, Spot]
) -> Sequence[Spot] | None:
    """One spot for each note, on different courses and as near as can be; None where there is no way."""
    own = [
        (course, fret)
        for note, spots in zip(notes, choices, strict=True)
        for course, fret in spots
        if course == note.course
    ]
    if len(own) == len(notes) and not any(note.tied for note in notes):
        return own

    def cost(spots: Sequence[Spot]) -> tuple[int, int, int]:
        pairs = list(zip(notes, spots, strict=True))
        broken = sum(note.tied and went.get((note.course, note.fret), spot) != spot for note, spot in pairs)
        return broken, sum(abs(spot[0] - note.course) for note, spot in pairs), sum(fret for _, fret in spots)

    ways = (spots for spots in product(*choices) if len({course for course, _ in spots}) == len(spots))
    return min(ways, key=cost, default=None)


def transpose_to_key(score: Score, key: Key) -> Score:
    """Transpose the whole score to another tonic, by the shortest way, with keys and chord symbols.

    Raises:
        ScoreError: A note leaves the instrument.
    """
    moved = transpose(score, Span(Place(0), end_of(score)), semitones_to(score, key))
    return with_signatures(moved, key)


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
        return ChordMark(offset=mark.offset, symbol=moved)


def moved_symbol(symbol: str, semitones: int, key: Key, chords: ChordNames = ChordNames.ENGLISH) -> str:
    """A chord symbol with its root, and its bass behind a slash, moved; spelled as the new key has it.

    `chords` says how roots are named; an H and the signs ♯ and ♭ stay in use where the player wrote them.
    """
    german, names = chords is ChordNames.GERMAN, _FLAT if key.fifths < 0 else _SHARP

    def moved(found: re.Match[str]) -> str:
        before, letter, sign = found.groups()
        english = {"H": "B", "B": "Bb" if german and not sign else "B"}.get(letter, letter)
        name = names[(Key.parse(english + _SIGNS.get(sign, sign)).tonic + semitones) % 12]
        name = {"B": "H", "Bb": "B"}.get(name, name) if german else name
        written = name[0] + _WRITTEN.get(sign, {}).get(name[1:], name[1:])
        return before + {"Ees": "Es", "Aes": "As"}.get(written, written)

    return (_GERMAN_ROOT if german else _ROOT).sub(moved, symbol)
