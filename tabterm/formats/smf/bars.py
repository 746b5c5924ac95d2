"""The measures and beats of a MIDI file: its metre map, a pickup, tempos and keys."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import field
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.formats.smf.tracks import MOST_MEASURES, USUAL_TEMPO, beyond_measure
from tabterm.score.key import C_MAJOR, Key
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.formats.smf.tracks import Contents, Strike


FINEST = Fraction(1, 16)
"""Quarters; a measure is cut by a new metre at a multiple of it, else the metre waits for the bar line."""

MOST_METRES = 3 * MOST_MEASURES
"""Files with more time signatures are refused: no music has several in a measure."""

NOTICED = 0.004
"""A tempo that differs by less than this part of it is the same."""

MAJOR_NAMES = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
MINOR_NAMES = ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")
"""Keys by their signature, from seven flats to seven sharps."""


@dataclass(frozen=True, eq=False)
class MidiBeat:
    """A beat: its start and length in quarters, and whether it divides in three; each is one object."""

    start: Fraction
    length: Fraction
    in_threes: bool
    begins: float = field(init=False)
    lasts: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "begins", float(self.start))
        object.__setattr__(self, "lasts", float(self.length))


class MidiBar(NamedTuple):
    """A measure: start and length in quarters, its metre, and whether it is short of it."""

    start: Fraction
    length: Fraction
    metre: Metre
    short: bool = False


class MidiBeats:
    """The beats of a metre map."""

    def __init__(self, metres: Sequence[tuple[Fraction, Metre]]) -> None:
        """Take metres with where they begin, in quarters."""
        self.metres = tuple(metres)
        self.starts = [float(start) for start, _ in metres]
        self.known: dict[tuple[int, int, int], MidiBeat] = {}

    def at(self, quarters: float) -> MidiBeat:
        """The beat that a moment lies in."""
        number = max(bisect_right(self.starts, quarters) - 1, 0)
        start, metre = self.metres[number]
        measure, offset = divmod(quarters - self.starts[number], float(metre.length))
        offsets, beats = _beats(metre)
        index = max(bisect_right(offsets, offset) - 1, 0)
        key = number, int(measure), index
        if key not in self.known:
            begins, length, in_threes = beats[index]
            self.known[key] = MidiBeat(start + int(measure) * metre.length + begins, length, in_threes)
        return self.known[key]


@lru_cache(maxsize=64)
def _beats(metre: Metre) -> tuple[list[float], list[tuple[Fraction, Fraction, bool]]]:
    """The beats of a metre: their offsets, and with each its length and whether it divides in three."""
    ends = [*metre.beats[1:], metre.length]
    unit = Fraction(4, metre.unit)
    beats = [
        (start, end - start, metre.unit >= 8 and (end - start) == 3 * unit)
        for start, end in zip(metre.beats, ends, strict=True)
    ]
    return [float(start) for start in metre.beats], beats


def metres_of(file: Contents) -> tuple[list[tuple[Fraction, Metre]], Fraction]:
    """Metres with where they begin, in quarters, and the length of a pickup that the file writes as a metre.

    Raises:
        FormatError: There are beyond all measure.
    """
    if len(file.metres) > MOST_METRES:
        raise beyond_measure()
    found: list[tuple[Fraction, Metre]] = []
    for at, count, unit in file.metres:
        try:
            metre = Metre.parse(f"{count}/{unit}")
        except ScoreError:
            continue
        place = Fraction(at).limit_denominator(64)
        if found and found[-1][0] == place:
            found.pop()
        if not found or found[-1][1] != metre:
            found.append((place, metre))
    if not found or found[0][0] > 0:
        found.insert(0, (Fraction(0), COMMON_TIME))
    if len(found) > 1 and found[1][0] == found[0][1].length < found[1][1].length:
        return [(Fraction(0), found[1][1]), *_waiting(found[1:])[1:]], found[0][1].length
    return _waiting(found), Fraction(0)


def _waiting(metres: list[tuple[Fraction, Metre]]) -> list[tuple[Fraction, Metre]]:
    """The metres, each that begins where no measure can be cut waiting for the next bar line."""
    kept = metres[:1]
    for place, metre in metres[1:]:
        start, before = kept[-1]
        over = (place - start) % before.length
        at = place + before.length - over if over % FINEST else place
        if at <= start:  # the one before has waited longer
            kept.pop()
        kept.append((max(at, start), metre))
    return kept


def beats_of(metres: list[tuple[Fraction, Metre]], pickup: Fraction) -> MidiBeats:
    """The beats of a metre map; those of a pickup are counted from its end."""
    first = metres[0][1]
    lead = [(pickup - first.length, first), (pickup, first)] if pickup else [metres[0]]
    return MidiBeats([*lead, *metres[1:]])


def bars_of(
    metres: list[tuple[Fraction, Metre]], start: Fraction, pickup: Fraction, end: Fraction
) -> list[MidiBar]:
    """The measures from the start of the music to its end; one that a new metre cuts is short.

    Raises:
        FormatError: There are beyond all measure.
    """
    metre = next(each for place, each in reversed(metres) if place <= start or place == metres[0][0])
    changes = [(place, each) for place, each in metres if place > start]
    bars = [MidiBar(start, pickup, metre, short=True)] if pickup else []
    at = start + pickup
    while at < end or not bars:
        while changes and changes[0][0] <= at:
            metre = changes.pop(0)[1]
        length = metre.length
        short = bool(changes) and changes[0][0] < at + length and not (changes[0][0] - at) % FINEST
        if short:
            length = changes[0][0] - at
        bars.append(MidiBar(at, length, metre, short=short))
        if len(bars) > MOST_MEASURES:
            raise beyond_measure()
        at += length
    return bars


def beginnings_of(bars: Sequence[MidiBar], file: Contents) -> Iterator[tuple[Tempo, Key | None]]:
    """Tempo of each measure, and key once one is told; a tempo that changes inside one is taken over all of it."""
    clock = _Clock(file.tempos)
    keys = [(at, key) for at, fifths, minor in file.keys if (key := _key(fifths, minor=minor)) is not None]
    tempo: Tempo | None = None
    for bar in bars:
        now = clock.tempo(bar)
        if tempo is None or abs(now.per_minute / tempo.per_minute - 1.0) > NOTICED:
            tempo = now
        yield tempo, _in_force(keys, bar.start)


class _Clock:
    """Microseconds by quarters."""

    def __init__(self, tempos: list[tuple[float, int]]) -> None:
        changes = [(0.0, USUAL_TEMPO), *tempos]
        self.starts = [at for at, _ in changes]
        self.tempos = [tempo for _, tempo in changes]
        lengths = ((after - at) * tempo for (at, tempo), (after, _) in pairwise(changes))
        self.us = list(accumulate(lengths, initial=0.0))

    def at(self, quarters: float) -> float:
        number = max(bisect_right(self.starts, quarters) - 1, 0)
        return self.us[number] + (quarters - self.starts[number]) * self.tempos[number]

    def tempo(self, bar: MidiBar) -> Tempo:
        """The tempo of a measure, within what can be played."""
        taken = self.at(float(bar.start + bar.length)) - self.at(float(bar.start))
        return Tempo(round(min(max(60e6 * float(bar.length) / taken, SLOWEST), FASTEST), 2))


def _in_force(keys: list[tuple[float, Key]], start: Fraction) -> Key | None:
    """The key in force where a measure begins; None where the file has told none yet."""
    number = bisect_right(keys, float(start) + float(FINEST), key=lambda each: each[0])
    return keys[number - 1][1] if number else None


def _key(fifths: int, *, minor: bool) -> Key | None:
    if abs(fifths) > 7:
        return None
    return Key.parse(f"{MINOR_NAMES[fifths + 7]}m" if minor else MAJOR_NAMES[fifths + 7])


MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
"""How well each semitone over the tonic fits: probe-tone profiles of Krumhansl and Kessler 1982 (from memory)."""

NAMES = ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F")
LONGEST = 4.0
"""Quarters of a note that count."""


def estimate(notes: Iterable[Strike]) -> Key:
    """The key whose profile fits the time that each pitch class sounds best; C where nothing tells."""
    weights = [0.0] * 12
    for note in notes:
        weights[note.pitch % 12] += min(note.end - note.start, LONGEST)
    best, best_fit = C_MAJOR, -2.0
    for ending, profile in (("", MAJOR), ("m", MINOR)):
        for name in NAMES:
            key = Key.parse(f"{name}{ending}")
            fit = _correlation(weights, [profile[(pitch_class - key.tonic) % 12] for pitch_class in range(12)])
            if fit > best_fit + 1e-9 and abs(key.fifths) <= 7:
                best, best_fit = key, fit
    return best


def _correlation(one: Sequence[float], other: Sequence[float]) -> float:
    mean_one, mean_other = sum(one) / 12.0, sum(other) / 12.0
    top = sum((a - mean_one) * (b - mean_other) for a, b in zip(one, other, strict=True))
    squares = sum((a - mean_one) ** 2 for a in one) * sum((b - mean_other) ** 2 for b in other)
    return float(top / squares**0.5) if squares > 0 else -1.0
