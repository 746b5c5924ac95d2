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
    """`B3 in the original, B4 here: an octave up, the rest 2 octaves up`; pitches as the key spells them."""
    key, shift = score.keys[difference.place.measure], transposition(score)
    written, played = difference.written, difference.played
    if written is None:
        return f"{pitch_words(played or 0, key)} is added"
    before = pitch_words(written, key)
    if played is None:
        return f"{before} of the original is left out"
    after = pitch_words(played, key)
    if difference.kind is Differs.CHANGED:
        wanted = f", which would be {pitch_words(written + shift, key)}" if shift else ""
        return f"{before} in the original{wanted}, {after} here: another note"
    rest = f", the rest {interval_words(shift)}" if shift else ""
    return f"{before} in the original, {after} here: {interval_words(played - written)}{rest}"


def transposition_words(score: Score) -> str:
    """How far the arrangement as a whole is from its original: `played an octave higher than the original`."""
    shift = transposition(score)
    if not shift:
        return "played at the pitch of the original"
    return f"played {interval_name(shift)} {'higher' if shift > 0 else 'lower'} than the original"


def interval_words(semitones: int) -> str:
    """`an octave up`, `2 octaves and a fifth down`; 0 is `as written`."""
    if not semitones:
        return "as written"
    return f"{interval_name(semitones)} {'up' if semitones > 0 else 'down'}"


def interval_name(semitones: int) -> str:
    """`a fifth`, `an octave and a major second`; whether up or down does not matter."""
    octaves, rest = divmod(abs(semitones), 12)
    parts = [{1: "an octave"}.get(octaves, f"{octaves} octaves")] if octaves else []
    return " and ".join([*parts, INTERVALS[rest]] if rest else parts)
