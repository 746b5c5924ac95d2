"""The bass: roots, fifths and thirds of the chords in a low register, and walks from one root to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.harmony.chords import Chord
    from tabterm.score.key import Key

LOWEST = 43  #: MIDI note; tuned here: G2, 98 Hz, which small loudspeakers still give
"""G2, an octave above where a bass player has it: a small loudspeaker gives little below 100 Hz."""


class BassLine:
    """A bass line while it is played: what it has said of the chord in force."""

    def __init__(self) -> None:
        self._chord: Chord | None = None
        self._root = self._turn = 0

    def note(self, chord: Chord, sign: str) -> int:
        """MIDI note number of a sign (see `styles`) on a chord; a new chord begins with its root or its bass."""
        if chord != self._chord:
            self._chord, self._root, self._turn = chord, root_of(chord), 0
            sign = "A"
        if sign == "A":
            self._turn += 1
            sign = "R" if self._turn % 2 else "5"
        return {"R": self._root, "5": fifth_of(chord), "3": third_of(chord)}[sign]

    def silence(self) -> None:
        """No chord: what comes is new, even if it came before."""
        self._chord = None


def root_of(chord: Chord) -> int:
    """The root, or the bass that the symbol gives."""
    return _low(chord.bass or 0)


def fifth_of(chord: Chord) -> int:
    """The fifth below the root where the bass has it, else above; over another bass than the root, the root."""
    if chord.bass != chord.root:
        return _low(chord.tone(0))
    fifth = root_of(chord) + (chord.fifth or 0)
    return fifth - 12 if fifth - 12 >= LOWEST and chord.fifth else fifth


def third_of(chord: Chord) -> int:
    """The third, or what it is suspended to, above the root."""
    return _low(chord.tone(0)) + (chord.third or 0)


def _low(pitch_class: int) -> int:
    return LOWEST + (pitch_class - LOWEST) % 12


def walk(start: int, end: int, count: int, key: Key, *, chromatic: bool = True) -> list[int]:
    """`count` notes that lead from one bass note to another, which are not the same; none where there are none.

    They are the steps of the key next to the end, on the side of the start; between a start and an end too close
    for them, semitones; and where the two lie within a whole tone, the start again and what lies between (or, a
    semitone apart, beyond). A semitone before the end, or between two notes a whole tone apart: a usual lesson on
    bass lines (studybass.com, "Chromatic approach notes"). Without `chromatic` no walk has a note that is foreign
    to the key: under a tune that moves it would rub (common practice, no source).
    """
    up = 1 if end > start else -1
    scale = {(7 * (key.fifths - 1 + number)) % 12 for number in range(7)}
    if abs(end - start) <= 2:
        notes = [end - up if abs(end - start) == 2 else end + up, *[start] * (count - 1)]
    else:
        between = range(end - up, start, -up)
        steps = [pitch for pitch in between if pitch % 12 in scale]
        notes = steps if len(steps) >= count else list(between)
        notes += [start] * (count - len(notes))
    allowed = chromatic or all(pitch % 12 in scale or pitch == start for pitch in notes[:count])
    return notes[:count][::-1] if allowed else []
