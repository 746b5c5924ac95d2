"""The count-in as it is spoken: a word for each of its clicks."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.performance.model import Part
from tabterm.score.place import count_at

if TYPE_CHECKING:
    from tabterm.performance.model import Performance


class Word(NamedTuple):
    """A word of the count and when it is spoken, in seconds from the start of the performance."""

    time_s: float
    text: str


def spoken_count(performance: Performance) -> tuple[Word, ...]:
    """The words of a count-in; its last is the beat before the one that the music begins on, or that beat's own.

    Beats are named as the player counts them: `1 2 3 4`, and `1 4` where the units of 6/8 are counted through.
    """
    first = performance.measures[0]
    clicks = [
        each.start_s
        for each in performance.plucks
        if each.part is Part.CLICK and each.start_s < first.start_s - 1e-9
    ]
    begins = first.low + first.missing
    beats = first.metre.beats
    before = sum(beat < begins for beat in beats)  # beats of the measure that the music begins in
    words = [count_at(first.metre, beats[(before - back) % len(beats)]) for back in range(len(clicks), 0, -1)]
    return tuple(Word(time_s, word) for time_s, word in zip(clicks, words, strict=True))
