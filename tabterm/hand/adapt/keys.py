"""Keys that a line lies well in, with the reasons in numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.adapt.laying import laid
from tabterm.hand.adapt.octaves import lowest_frets, octaves
from tabterm.hand.adapt.placing import placed
from tabterm.harmony.spelling import pitch_words
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.operations.courses import semitones_to, with_signatures
from tabterm.score.report import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.adapt.line import Phrased
    from tabterm.hand.adapt.octaves import Frets
    from tabterm.hand.player import Player
    from tabterm.score.model import Head, Score

EASIEST = "easiest"
"""The word that asks for the easiest key."""

TRIED = 4  #: keys; implementation limit
"""Keys that are fingered wholly, those that look best by their frets."""

CHANGED = 3.0  #: points; tuned here
"""Points for a note that is moved by itself, left out or replaced: it is no longer the original's."""


@dataclass(frozen=True, slots=True)
class KeyChoice:
    """A line in a key.

    Attributes:
        key: The key.
        semitones: How far the line is moved, before octaves.
        points: Effort of the left hand and what is lost, in points a note.
        open_share: Part of the notes that are on open courses.
        highest_fret: The highest fret that is used.
        low: The lowest pitch played.
        high: The highest.
        words: All this beside the key that the line is in.
    """

    key: Key
    semitones: int
    points: float
    open_share: float
    highest_fret: int
    low: int
    high: int
    words: str = ""


def easiest_keys(score: Score, player: Player, head: Head, line: Sequence[Phrased]) -> list[KeyChoice]:
    """The keys that the line lies best in, the easiest first; its own is among them."""
    sounding = [moment for moment in line if moment.notes]
    frets = lowest_frets(head.instrument)
    own = score.head.key
    likely = sorted(_signatures(own.mode), key=lambda key: _look(frets, sounding, semitones_to(score, key)))
    tried = list(dict.fromkeys([own, *likely[:TRIED]]))
    choices = [_choice(score, player, head, line, key) for key in tried]
    mine = choices[0]
    choices.sort(key=lambda choice: (choice.points, abs(choice.semitones)))
    return [_in_words(choice, mine) for choice in choices]


def _signatures(mode: str) -> list[Key]:
    """A key on each of the twelve tonics, with the fewest accidentals."""
    best: dict[int, Key] = {}
    for step in "CDEFGAB":
        for alter in (-1, 0, 1):
            key = Key(step, alter, mode)
            known = best.get(key.tonic)
            if known is None or abs(key.fifths) < abs(known.fifths):
                best[key.tonic] = key
    return list(best.values()) if mode in MODE_FIFTHS else []


def _look(frets: Frets, moments: Sequence[Phrased], semitones: int) -> float:
    """How a key looks by its frets alone: octaves, and the part of open courses."""
    chosen = octaves(frets, moments, semitones)
    opens = sum(
        shift is not None and frets[moment.top + semitones + 12 * shift] == 0
        for moment, shift in zip(moments, chosen.each, strict=True)
    )
    return chosen.points - 0.5 * opens


def _choice(score: Score, player: Player, head: Head, line: Sequence[Phrased], key: Key) -> KeyChoice:
    semitones = semitones_to(score, key)
    draft = laid(with_signatures(score, key), player, head.with_(key=key), line, semitones)
    result = placed(draft.score, player)
    notes = [note for measure in result.score.measures for event in measure.events for note in event.notes]
    pitches = [head.instrument.pitch(note.course, note.fret) for note in notes] or [0]
    changed = sum(done.kind not in {Kind.WHOLE, Kind.RESHAPED} for done in (*draft.done, *result.done))
    count = max(len(notes), 1)
    return KeyChoice(
        key=key,
        semitones=semitones,
        points=(result.hand.points + CHANGED * changed) / count,
        open_share=sum(note.fret == 0 for note in notes) / count,
        highest_fret=max((note.fret for note in notes), default=0),
        low=min(pitches),
        high=max(pitches),
    )


def _in_words(choice: KeyChoice, mine: KeyChoice) -> KeyChoice:
    """The choice with its reasons, beside the line's own key."""

    def beside(value: str, own: str) -> str:
        return value if choice is mine else f"{value} instead of {own}"

    facts = (
        beside(f"{choice.open_share:.0%}", f"{mine.open_share:.0%}") + " of the notes on open courses",
        f"frets up to {beside(str(choice.highest_fret), str(mine.highest_fret))}",
        beside(f"{choice.points:.1f}", f"{mine.points:.1f}") + " points of effort a note",
        f"from {pitch_words(choice.low, choice.key)} to {pitch_words(choice.high, choice.key)}",
    )
    same = f"{choice.key} is already the easiest key"
    what = same if choice is mine else f"in {choice.key} instead of {mine.key}"
    return replace(choice, words=f"{what}: {', '.join(facts)}")
