"""Double stops: the pairs of notes of a chord or scale that lie on two courses, and what moving them does.

On neighbouring courses a fifth apart the interval is seven semitones and the difference of the frets: each
shape is one interval. The names short, medium and long for the shapes of the major chord are those of J. Treacy
(johntreacy.com); the others are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.chords import chord_of, parse_chord
from tabterm.harmony.pools import chord_pool
from tabterm.harmony.spelling import chord_in_force, degree_name, fifths_in_key, note_name
from tabterm.printable import counted
from tabterm.score.query import events_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.harmony.chords import Chord
    from tabterm.harmony.pools import Pool
    from tabterm.instrument import Instrument
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

FAMILIES = {
    0: "unison",
    1: "minor second",
    2: "major second",
    3: "minor third",
    4: "major third",
    5: "fourth",
    6: "tritone",
    7: "fifth",
    8: "minor sixth",
    9: "major sixth",
    10: "minor seventh",
    11: "major seventh",
    12: "octave",
    15: "minor tenth",
    16: "major tenth",
}
"""What two notes are to each other, by semitones; others are named by what they are without the octave."""

FRETS = 5  #: frets; common practice, no source
"""How far apart the two frets of a double stop lie at most, before any hand is asked."""

SHAPES = {-4: "long", -3: "medium", -2: "short", 0: "level"}
"""Names of shapes on courses a fifth apart, by the upper fret less the lower one."""

STEP = 3  #: frets; common practice, no source
"""The widest move of either note along a scale."""

MOST_NAMED = 3
"""Pairs of degrees and moves that a sentence names."""

Stop = tuple[int, int]
"""Course and fret."""


class Dyad(NamedTuple):
    """Two notes on two courses.

    Attributes:
        low: Course and fret of the lower-pitched course.
        high: Of the higher one.
        pitches: MIDI note numbers of both.
    """

    low: Stop
    high: Stop
    pitches: tuple[int, int]

    @property
    def apart(self) -> int:
        """1 on neighbouring courses, 2 where one lies between them that the hand has to mute."""
        return self.low[0] - self.high[0]

    @property
    def difference(self) -> int:
        """The upper fret less the lower one."""
        return self.high[1] - self.low[1]

    @property
    def interval(self) -> int:
        """Semitones between the two; negative where the lower course sounds higher."""
        return self.pitches[1] - self.pitches[0]

    @property
    def family(self) -> str:
        """What the two notes are to each other: `minor third`."""
        size = abs(self.interval)
        return FAMILIES.get(size) or f"{FAMILIES[size % 12]} and an octave"

    @property
    def shape(self) -> str:
        """Its shape in words: `3 frets back, medium`, `same fret`."""
        away = self.difference
        name = SHAPES.get(away, "") if self.apart == 1 and self.interval == 7 + away else ""
        words = "same fret" if not away else f"{counted(abs(away), 'fret')} {'up' if away > 0 else 'back'}"
        return f"{words}, {name}" if name and away else words

    def __str__(self) -> str:
        return f"{self.low[1]}-{self.high[1]}"


def dyad(instrument: Instrument, low: Stop, high: Stop) -> Dyad:
    """The two notes of two courses, the lower-pitched course first."""
    return Dyad(low, high, (instrument.pitch(*low), instrument.pitch(*high)))


def dyads(
    pool: Pool, instrument: Instrument, *, lowest: int = 0, highest: int = 12, apart: int = 1, most: int = FRETS
) -> tuple[Dyad, ...]:
    """Every pair of different tones of a pool on courses so far apart, from the lowest pair up the neck.

    Args:
        pool: A chord or scale.
        instrument: Courses and neck.
        lowest: Lowest fret.
        highest: Highest fret.
        apart: 1 for neighbouring courses, 2 for those with one between.
        most: How far the frets lie apart at most.
    """
    found = []
    frets = range(lowest, min(highest, instrument.frets) + 1)
    for low in range(instrument.course_count, apart, -1):
        on = [
            [fret for fret in frets if pool.degree(instrument.pitch(course, fret))]
            for course in (low, low - apart)
        ]
        found += [
            pair
            for one in on[0]
            for other in on[1]
            if abs(one - other) <= most
            and (pair := dyad(instrument, (low, one), (low - apart, other))).interval % 12
        ]
    return tuple(found)


def degrees(pair: Dyad, pool: Pool) -> str:
    """The degrees of both notes, the lower course first: `3-1`; - for one that is outside."""
    return "-".join(pool.degree(pitch) or "x" for pitch in pair.pitches)


def along(pair: Dyad, pool: Pool, instrument: Instrument, steps: int) -> Dyad | None:
    """A double stop moved along a scale: both notes so many of its steps, on their courses; None off the neck."""
    tones = pool.pitches(0, 127)
    moved = []
    for (course, fret), pitch in zip((pair.low, pair.high), pair.pitches, strict=True):
        at = tones.index(pitch) + steps if pitch in tones else -1
        if not 0 <= at < len(tones):
            return None
        new = fret + tones[at] - pitch
        if not 0 <= new <= instrument.frets:
            return None
        moved.append((course, new))
    return dyad(instrument, moved[0], moved[1])


def in_parallel(pair: Dyad, instrument: Instrument, frets: int) -> Dyad | None:
    """The same shape so many frets up (or down, where negative); None off the neck."""
    (one, low), (other, high) = pair.low, pair.high
    if not (min(low, high) + frets >= 0 and max(low, high) + frets <= instrument.frets):
        return None
    return dyad(instrument, (one, low + frets), (other, high + frets))


@dataclass(frozen=True, slots=True)
class Moved:
    """What a shape becomes that is moved by frets under a chord.

    Attributes:
        dyad: Where it is now.
        sounds: The chord that it would belong to with its old degrees: the old one, so many semitones on.
        degrees: What its notes are to the chord that still sounds.
    """

    dyad: Dyad
    sounds: str
    degrees: str


def moved(pair: Dyad, symbol: str, instrument: Instrument, frets: int) -> Moved | None:
    """What a move by frets does to the chord of a symbol; None off the neck, or for a chord not understood."""
    chord, new = parse_chord(symbol), in_parallel(pair, instrument, frets)
    if chord is None or chord.root is None or new is None:
        return None
    fifths = chord.root_fifths + (7 * frets + 6) % 12 - 6
    written = symbol[: len(note_name(chord.root_fifths))]
    sounds = note_name(fifths) + symbol.removeprefix(written)
    return Moved(new, sounds, "-".join(_to_chord(pitch, chord) for pitch in new.pitches))


def _to_chord(pitch: int, chord: Chord) -> str:
    """The degree of any pitch to a chord: its tones as it names them, the others by their usual names."""
    interval = (pitch - (chord.root or 0)) % 12
    return chord_pool("", chord).degree(pitch) or degree_name((7 * interval + 5) % 12 - 5)


@dataclass(frozen=True, slots=True)
class PlacedDyad:
    """A double stop of a solo.

    Attributes:
        place: Where.
        dyad: Its notes.
        symbol: The chord in force, as it is written; None where there is none.
        degrees: What its notes are to that chord, to the key where there is none.
        move: How it comes from the one before: `2 frets down`, `along the scale`; "" where it does not.
    """

    place: Place
    dyad: Dyad
    symbol: str | None
    degrees: str
    move: str


def placed_dyads(score: Score, span: Span) -> tuple[PlacedDyad, ...]:
    """The double stops of a span: every event of two notes that are not dead, a tied one once."""
    found: list[PlacedDyad] = []
    instrument = score.head.instrument
    for place, event in events_in(score, span):
        notes = [note for note in event.notes if not note.muted]
        if len(notes) != 2 or all(note.tied for note in notes):
            continue
        high, low = notes
        here = dyad(instrument, low.spot, high.spot)
        symbol = chord_in_force(score, place)
        chord = chord_of(score, symbol) if symbol else None
        root, key = chord.root if chord else None, score.keys[place.measure]
        names = (
            _to_chord(pitch, chord)
            if chord is not None and root is not None
            else degree_name(fifths_in_key(pitch, key) - key.tonic_fifths)
            for pitch in here.pitches
        )
        move = _move(found[-1].dyad, here) if found else ""
        found.append(PlacedDyad(place, here, symbol, "-".join(names), move))
    return tuple(found)


def _move(before: Dyad, here: Dyad) -> str:
    """How one double stop goes on to the next on the same courses."""
    frets = here.high[1] - before.high[1]
    if (before.low[0], before.high[0]) != (here.low[0], here.high[0]) or before == here:
        return ""
    if before.difference == here.difference:
        return f"{counted(abs(frets), 'fret')} {'up' if frets > 0 else 'down'}"
    same = before.family.split()[-1] == here.family.split()[-1]
    near = abs(here.low[1] - before.low[1]) <= STEP and abs(frets) <= STEP
    return "along the scale" if same and near else ""


def dyads_in_words(found: Sequence[PlacedDyad]) -> str:
    """The double stops of a phrase in a sentence; "" where there are not two of them."""
    if len(found) < 2:
        return ""
    families = list(dict.fromkeys(each.dyad.family for each in found))
    told = [f"{family}s" for family in families]
    moves = list(dict.fromkeys(each.move for each in found if each.move))
    words = f"The double stops are {' and '.join([', '.join(told[:-1]), told[-1]] if len(told) > 1 else told)}"
    pairs = dict.fromkeys((each.symbol, each.degrees) for each in found if each.symbol)
    chords = {symbol: [pair for over, pair in pairs if over == symbol] for symbol, _ in pairs}
    of_chords = [f"{' and '.join(each[:MOST_NAMED])} of {symbol}" for symbol, each in chords.items()]
    shown = f": {', '.join(of_chords[:MOST_NAMED])}" if pairs else ""
    return f"{words}{shown}" + (f", moved {' and '.join(moves[:MOST_NAMED])}." if moves else ".")
