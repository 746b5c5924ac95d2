"""Which key music is in: by how long each tone sounds, where phrases end, and by the chord symbols."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.harmony.melody import sounds
from tabterm.harmony.progression import is_dominant, is_minor, sounding_chords
from tabterm.harmony.spelling import note_name
from tabterm.score.key import KEYS, Key, mode_tones
from tabterm.score.place import Place, Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.harmony.melody import SoundingNote
    from tabterm.harmony.progression import SoundingChord
    from tabterm.score.model import Score

#: times its share of the time; from Temperley 2001, "The Cognition of Basic Musical Structures" (his Kostka-Payne
#: weights as music21 has them), rounded: tonic, fifth, third, other tones of the scale, tones outside
TONIC, FIFTH, THIRD, OTHER, OUTSIDE = 0.75, 0.72, 0.65, 0.43, 0.08

#: points; tuned here (python -m tests.harmony.tunes keys)
LAST_NOTE, LAST_CHORD, FIRST_CHORD, CADENCE, CHORDS = 0.04, 0.2, 0.05, 0.1, 0.3
"""For the tonic as the last note, for its chord at the end and at the beginning, for dominants that lead to it
where one chord in five does, for chords of the key."""

#: points; tuned here (python -m tests.harmony.tunes keys)
MODES = {"major": 0.0, "minor": -0.02, "mixolydian": -0.02, "dorian": -0.02}
"""The modes that are looked for, and how much rarer each is than major."""

#: points a measure, measures; tuned here
CHANGE, LEAST = 0.6, 4
"""What it costs to go to another key, and the fewest measures that are in one."""


@dataclass(frozen=True, slots=True)
class KeyGuess:
    """A key that music may be in.

    Attributes:
        key: The key.
        points: How well it fits, for comparing.
        reasons: What speaks for it, in words.
    """

    key: Key
    points: float
    reasons: tuple[str, ...]


def key_guesses(score: Score, span: Span | None = None) -> tuple[KeyGuess, ...]:
    """The keys that the music of a span, or of all, is likely in, the likeliest first; none where it is silent."""
    span = span or Span(Place(0), Place(len(score.measures)))
    heard = sounds(score, span)
    chords = [each for each in sounding_chords(score) if each.place in span]
    if not heard and not chords:
        return ()
    shares, last = _shares(heard), heard[-1].pitch % 12 if heard else None
    found = [_guess(key, shares, last, chords) for key in map(Key.parse, KEYS) if key.mode in MODES]
    return tuple(sorted(found, key=lambda each: -each.points))


def key_of(heard: Sequence[tuple[int, float]]) -> Key | None:
    """The likeliest key of a line of pitches in order, each with how long it sounds; None without any."""
    if not heard:
        return None
    lengths: dict[int, float] = defaultdict(float)
    for pitch, length in heard:
        lengths[pitch % 12] += length
    shares = {tone: length / sum(lengths.values()) for tone, length in lengths.items()}
    found = [_guess(key, shares, heard[-1][0] % 12, ()) for key in map(Key.parse, KEYS) if key.mode in MODES]
    return max(found, key=lambda each: each.points).key


def _shares(heard: Sequence[SoundingNote]) -> dict[int, float]:
    """The part of the time that each pitch class takes."""
    lengths: dict[int, float] = defaultdict(float)
    for each in heard:
        lengths[each.pitch % 12] += float(each.length)
    return {tone: length / sum(lengths.values()) for tone, length in lengths.items()}


def _guess(key: Key, shares: dict[int, float], last: int | None, chords: Sequence[SoundingChord]) -> KeyGuess:
    scale, tonic = mode_tones(key.mode), key.tonic
    raised = {11} if key.mode == "minor" else set()
    third = 3 if 3 in scale else 4
    weights = {0: TONIC, 7: FIFTH, third: THIRD}
    points = MODES[key.mode] + sum(
        share * weights.get((tone - tonic) % 12, OTHER if (tone - tonic) % 12 in {*scale} | raised else OUTSIDE)
        for tone, share in shares.items()
    )
    name, reasons = note_name(key.tonic_fifths), []
    inside = sum(share for tone, share in shares.items() if (tone - tonic) % 12 in scale)
    if shares:
        reasons.append(f"{100 * inside:.0f}% of the melody is in its scale")
    if last == tonic:
        points += LAST_NOTE
        reasons.append(f"it ends on {name}")
    if chords:
        points += _of_chords(key, scale, chords)
        reasons += [f"the last chord is {chords[-1].symbol}"] * _is_tonic(key, chords[-1])
        cadences = _cadences(key, chords)
        reasons += [f"its dominant leads to {name} {_times(cadences)}"] * bool(cadences)
    return KeyGuess(key, points, tuple(reasons))


def _of_chords(key: Key, scale: Sequence[int], chords: Sequence[SoundingChord]) -> float:
    total = float(sum(each.length for each in chords))
    inside = sum(
        float(each.length)
        for each in chords
        if {((each.chord.root or 0) + interval - key.tonic) % 12 for interval in each.chord.intervals[:3]}
        <= {*scale}
        or _leads_home(key, each)
    )
    return (
        CHORDS * inside / total
        + LAST_CHORD * _is_tonic(key, chords[-1])
        + FIRST_CHORD * _is_tonic(key, chords[0])
        + CADENCE * min(_cadences(key, chords) / len(chords) * 5, 1.0)
    )


def _is_tonic(key: Key, each: SoundingChord) -> bool:
    minor = 3 in mode_tones(key.mode)
    return each.chord.root == key.tonic and (is_minor(each.chord) == minor)


def _leads_home(key: Key, each: SoundingChord) -> bool:
    """Whether it is the dominant, in minor with its raised third as well."""
    return ((each.chord.root or 0) - key.tonic) % 12 == 7 and (
        is_dominant(each.chord) or 4 in each.chord.intervals
    )


def _cadences(key: Key, chords: Sequence[SoundingChord]) -> int:
    return sum(_leads_home(key, one) and _is_tonic(key, other) for one, other in pairwise(chords))


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


@dataclass(frozen=True, slots=True)
class KeyRegion:
    """Measures in one key.

    Attributes:
        first: Index of its first measure.
        last: Index of its last one.
        key: The key that they seem to be in.
        written: The key that is written there.
    """

    first: int
    last: int
    key: Key
    written: Key

    @property
    def is_modulation(self) -> bool:
        """Whether another scale is heard than the one written; a relative key and a mode of it are none."""
        return scale_at(self.key) != scale_at(self.written)


def scale_at(key: Key) -> frozenset[int]:
    """The pitch classes of a key's scale."""
    return frozenset((key.tonic + each) % 12 for each in mode_tones(key.mode))


def regions(score: Score) -> tuple[KeyRegion, ...]:
    """The measures in runs of one key: the way of most points, where each change costs some.

    Each measure is looked at alone and with its neighbours, since one alone says little.
    """
    count = len(score.measures)
    layers = []
    for index in range(count):
        around = Span(Place(max(index - 1, 0)), Place(min(index + 2, count)))
        layer: dict[Key, float] = defaultdict(float)
        for span in (around, Span(Place(index), Place(index + 1))):
            for each in key_guesses(score, span):
                layer[each.key] += each.points / 2
        layers.append(layer)
    keys = [each.key for each in key_guesses(score)][:12]
    written = dict.fromkeys(score.keys)
    keys = list(dict.fromkeys([*written, *keys])) if keys else list(written)
    best, back = dict.fromkeys(keys, 0.0), []
    for index, layer in enumerate(layers):
        top = max(best, key=best.__getitem__)
        came = {key: key if best[key] >= best[top] - CHANGE else top for key in keys}
        back.append(came)
        best = {
            key: max(best[key], best[top] - CHANGE) + layer.get(key, 0.0) + 0.05 * (key == score.keys[index])
            for key in keys
        }
    way = [max(best, key=best.__getitem__)]
    for came in reversed(back[1:]):
        way.append(came[way[-1]])
    return _joined(way[::-1], score)


def _joined(way: Sequence[Key], score: Score) -> tuple[KeyRegion, ...]:
    found: list[KeyRegion] = []
    for index, key in enumerate(way):
        if found and (found[-1].key, found[-1].written) == (key, score.keys[index]):
            found[-1] = KeyRegion(found[-1].first, index, key, found[-1].written)
        else:
            found.append(KeyRegion(index, index, key, score.keys[index]))
    return tuple(
        each
        if each.last - each.first + 1 >= LEAST
        else KeyRegion(each.first, each.last, each.written, each.written)
        for each in found
    )
