"""Where an arrangement departs from its original, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.harmony.spelling import pitch_words
from tabterm.score.comparison import Differs, transposition

if TYPE_CHECKING:
    from tabterm.score.comparison import Difference
    from tabterm.score.model import Score

INTERVALS = (
    *("", "a minor second", "a major second", "a minor third", "a major third", "a fourth", "a tritone"),
    *("a fifth", "a minor sixth", "a major sixth", "a minor seventh", "a major seventh"),
)


def difference_words(score: Score, difference: Difference) -> str:
    """`D4 in the original, F4 here: another note`; pitches as the key in force spells them."""
    key = score.keys[difference.place.measure]
    written = None if difference.written is None else pitch_words(difference.written, key)
    played = None if difference.played is None else pitch_words(difference.played, key)
    if written is None:
        return f"{played} is added"
    if played is None:
        return f"{written} of the original is left out"
    if difference.kind is Differs.CHANGED:
        return f"{written} in the original, {played} here: another note"
    octaves = ((difference.played or 0) - (difference.written or 0) - transposition(score)) // 12
    return f"{written} in the original, {played} here: {octave_words(octaves)}"


def transposition_words(score: Score) -> str:
    """How far the arrangement as a whole is from its original: `played an octave higher than the original`."""
    shift = transposition(score)
    if not shift:
        return "played at the pitch of the original"
    octaves, semitones = divmod(abs(shift), 12)
    parts = [INTERVALS[semitones]] if semitones else []
    parts += [{1: "an octave"}.get(octaves, f"{octaves} octaves")] if octaves else []
    return f"played {' and '.join(reversed(parts))} {'higher' if shift > 0 else 'lower'} than the original"


def octave_words(octaves: int) -> str:
    """`an octave up`, `2 octaves down`."""
    count = "an octave" if abs(octaves) == 1 else f"{abs(octaves)} octaves"
    return f"{count} {'up' if octaves > 0 else 'down'}"
