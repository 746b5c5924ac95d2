"""The band: how long it takes to make a performance with chords and bass."""

from __future__ import annotations

from fractions import Fraction
from itertools import cycle

from tabterm.harmony import voicings
from tabterm.performance import ALL_PARTS, Options, perform
from tabterm.score.model import ChordMark, Score
from tabterm.score.place import Span
from tests.bench.figure import Figure
from tests.bench.files import long_score, seconds

SYMBOLS = ("G", "Em7", "C", "D7/F#", "Am", "E7", "A7", "D9", "Bm7b5", "Cmaj7", "F#dim7", "B7")


def chorded(count: int) -> Score:
    """The sample's measures with two chords in each."""
    plain, symbols = long_score(count), cycle(SYMBOLS)
    measures = [
        measure.with_(
            chords=tuple(
                ChordMark(offset=at, symbol=next(symbols))
                for at in (Fraction(0), Fraction(2))
                if at < measure.length
            )
        )
        for measure in plain.measures
    ]
    return Score(head=plain.head, measures=tuple(measures))


def figures() -> list[Figure]:
    """Figures of the band, beside those of the solo alone in the same run."""
    score = chorded(1000)
    together = Options(parts=ALL_PARTS)
    phrase = Span.of_measures(500, 503)

    def fresh() -> None:
        voicings.shapes.cache_clear()
        perform(score, span=phrase, options=together)

    alone_s = seconds(lambda: perform(score))
    band_s = seconds(lambda: perform(score, options=together))
    of_phrase_s = seconds(lambda: perform(score, span=phrase), 15)
    note = f"solo alone {alone_s * 1000:.0f} ms, {band_s / alone_s:.1f} times that"
    return [
        Figure("1,000 measures, 1,999 chords, with the band", band_s * 1000, "ms", note=note),
        Figure(
            "a phrase of 4 measures with the band",
            seconds(lambda: perform(score, span=phrase, options=together), 15) * 1000,
            "ms",
            note=f"solo alone {of_phrase_s * 1000:.1f} ms",
        ),
        Figure("the same, every chord shape new", seconds(fresh, 15) * 1000, "ms"),
    ]
