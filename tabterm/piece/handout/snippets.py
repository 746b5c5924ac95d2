"""The sound of the page: each stretch of the piece at each tempo, solo and backing apart, small enough to embed.

A stretch is TAIL_S longer than its music, so that the last tones die away over what follows, be that the next
stretch or the same one again: the page adds them up, and no seam is heard.
"""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.performance import SOLO_ALONE, Click, Part, perform
from tabterm.performance.perform import playing_order
from tabterm.piece.audio import watched
from tabterm.piece.takes import options_of
from tabterm.score.place import Span
from tabterm.sound import files
from tabterm.sound.rendering import TAIL_S, Rendering
from tabterm.sound.voicing import voicing_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tabterm.performance import Options, Performance
    from tabterm.piece.handout.phrases import Phrase
    from tabterm.piece.practice import Practice
    from tabterm.score.model import Score

MOST_S = 1500.0
"""Seconds of sound in a page, each stem counted: about 10 MB; tuned here."""

COUNT_IN = 1
"""Measures that are counted before a stretch."""


class Stretch(NamedTuple):
    """Measures that are played without a break, by index, both included; they lie in one phrase."""

    phrase: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Snippet:
    """A stretch as it is heard.

    Attributes:
        stretch: Its measures.
        length_s: Its music at the written tempo, in seconds.
        marks: When each onset is due at the written tempo: seconds, index of the measure, offset in quarters.
        counts: Clicks before it at the written tempo: seconds, less than 0, and whether it is the accented one.
    """

    stretch: Stretch
    length_s: float
    marks: tuple[tuple[float, int, float], ...]
    counts: tuple[tuple[float, bool], ...]


def stretches(
    score: Score, phrases: Sequence[Phrase], *, whole: bool
) -> tuple[tuple[Stretch, ...], tuple[int, ...]]:
    """Each phrase, then what more is needed to play all of them; and the order in which they make up the piece.

    Args:
        score: The piece.
        phrases: Its phrases.
        whole: With its repeats and endings; else once through.
    """
    found = {Stretch(number, phrase.first, phrase.last): number for number, phrase in enumerate(phrases)}
    of = {index: number for number, phrase in enumerate(phrases) for index in range(phrase.first, phrase.last + 1)}
    indices = playing_order(score) if whole else tuple(of)
    runs: list[Stretch] = []
    for index in indices:
        if index not in of:
            continue
        if runs and runs[-1].phrase == of[index] and runs[-1].last == index - 1:
            runs[-1] = runs[-1]._replace(last=index)
        else:
            runs.append(Stretch(of[index], index, index))
    for run in runs:
        found.setdefault(run, len(found))
    return tuple(found), tuple(found[run] for run in runs)


def snippet_of(score: Score, stretch: Stretch, practice: Practice) -> Snippet:
    """A stretch at the written tempo."""
    performance = _performed(score, stretch, options_of(practice, 100, COUNT_IN))
    lead_s = performance.lead_s
    before = [pluck for pluck in performance.plucks if pluck.part is Part.CLICK and pluck.start_s < lead_s - 1e-6]
    loudest = max((pluck.velocity for pluck in before), default=0)
    return Snippet(
        stretch,
        performance.duration_s - lead_s,
        tuple(
            (mark.time_s - lead_s, mark.place.measure, float(mark.place.offset))
            for mark in performance.marks
            if mark.time_s > lead_s - 1e-6
        ),
        tuple((pluck.start_s - lead_s, pluck.velocity == loudest) for pluck in before),
    )


def _performed(score: Score, stretch: Stretch, options: Options) -> Performance:
    return perform(score, span=Span.of_measures(stretch.first, stretch.last), options=options)


class Sound(NamedTuple):
    """A stretch at a tempo, as MP3 files: the solo, and what accompanies it; None where nothing does."""

    solo: bytes
    backing: bytes | None


def fitting(snippets: Sequence[Snippet], tempos: Sequence[int]) -> tuple[int, ...]:
    """As many of the tempos as fit into a page, the fastest and the slowest in any case."""
    length_s, kept = 2 * sum(each.length_s + TAIL_S for each in snippets), sorted(tempos)
    while len(kept) > 2 and sum(100 * length_s / tempo for tempo in kept) > MOST_S:
        kept.pop(len(kept) // 2)
    return tuple(kept)


def frames(snippets: Sequence[Snippet], tempos: Sequence[int]) -> int:
    """How many frames `sounds` makes of them, so that progress can be shown."""
    length_s = 2 * sum(each.length_s for each in snippets)
    return sum(round(100 * length_s / tempo * files.SMALL_RATE) for tempo in tempos)


def sounds(
    score: Score,
    snippets: Sequence[Snippet],
    practice: Practice,
    percent: int,
    watch: Callable[[int], None] = lambda _: None,
    *,
    may_click: bool = True,
) -> Iterator[Sound]:
    """Each stretch at a percentage of the written tempo; all of them stand in one loudness, as in the whole."""
    options = options_of(practice, percent, 0)
    voicing = voicing_of(score.head.instrument, options.tone)
    whole = perform(score, options=options)
    if may_click and not any(pluck.part is Part.CHORDS for pluck in whole.plucks):
        options = replace(options, click=Click.BEATS)
        whole = perform(score, options=options)
    level = Rendering(whole, voicing, files.SMALL_RATE).level(limited=False, look=lambda: watch(0))
    for snippet in snippets:
        performance = _performed(score, snippet.stretch, options)
        stems = []
        for parts in (SOLO_ALONE, frozenset(Part) - SOLO_ALONE):
            samples = Rendering(performance, voicing, files.SMALL_RATE, parts).blocks(level)
            file = BytesIO()
            files.write(file, files.SMALL, watched(samples, watch), files.Tags(), rate=files.SMALL_RATE)
            stems.append(file.getvalue())
        heard = any(pluck.part is not Part.SOLO for pluck in performance.plucks)
        yield Sound(stems[0], stems[1] if heard else None)
