"""What is said of a fitting: notes played in another octave than written, and the whole in a sentence."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from tabterm.hand.adapt.octaves import span_of
from tabterm.harmony.differences import interval_words
from tabterm.harmony.spelling import pitch_words
from tabterm.printable import counted
from tabterm.score.place import describe
from tabterm.score.report import Kind, Remark

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.hand.adapt.line import Phrased
    from tabterm.hand.adapt.octaves import Octaves
    from tabterm.score.model import Score


def summary_of(notes: int, instrument: str, whole: int, done: Iterable[Remark]) -> str:
    """The whole in a sentence."""
    counts = Counter(each.kind for each in done)
    parts = [f"everything {interval_words(12 * whole)}"] if whole else []
    parts += [f"{counted(counts[Kind.MOVED], 'note')} in another octave"] if counts[Kind.MOVED] else []
    parts += [f"{counted(counts[Kind.RESHAPED], 'chord')} in the nearest shape"] if counts[Kind.RESHAPED] else []
    parts += [f"{counted(counts[Kind.LEFT_OUT], 'note')} left out"] if counts[Kind.LEFT_OUT] else []
    parts += [f"{counted(counts[Kind.CHANGED], 'articulation')} replaced"] if counts[Kind.CHANGED] else []
    return f"{counted(notes, 'note')} fitted to the {instrument}: {', '.join(parts) or 'everything as written'}"


def moves(score: Score, moments: Sequence[Phrased], chosen: Octaves, semitones: int) -> Iterator[Remark]:
    """The octave of the whole, and every moment that is played in another one, with the reason."""
    if chosen.whole:
        yield Remark(Kind.WHOLE, _whole(score, moments, chosen.whole))
    for run in _runs(chosen):
        why = _why(score, [moments[number] for number in run], semitones + 12 * chosen.whole)
        for number in run:
            moment, shift = moments[number], (chosen.each[number] or 0)
            key = score.keys[moment.place.measure]
            words = ", ".join(
                f"{pitch_words(note.pitch, key)} as {pitch_words(note.pitch + semitones + 12 * shift, key)}"
                for note, was in zip(moment.notes, moment.written, strict=True)
                if note.pitch == was
            )
            away = interval_words(12 * shift)
            away += f" while the rest moves {interval_words(12 * chosen.whole)}" if chosen.whole else ""
            yield Remark(Kind.MOVED, f"{words}, {away}: {why}", place=moment.place)


def _runs(chosen: Octaves) -> Iterator[list[int]]:
    """Numbers of neighbouring moments that are moved alike, and otherwise than the whole."""
    run: list[int] = []
    for number, shift in enumerate(chosen.each):
        if run and shift != chosen.each[run[-1]]:
            yield run
            run = []
        if shift not in {None, chosen.whole}:
            run.append(number)
    if run:
        yield run


def _whole(score: Score, moments: Sequence[Phrased], whole: int) -> str:
    pitches = [pitch for moment in moments for pitch in moment.written]
    written, neck = _range(score, min(pitches), max(pitches)), _range(score, *span_of(score.head.instrument))
    moved = interval_words(12 * whole)
    return f"everything is played {moved}: the line goes from {written}, the neck from {neck}"


def _range(score: Score, low: int, high: int) -> str:
    return f"{pitch_words(low, score.head.key)} to {pitch_words(high, score.head.key)}"


def _why(score: Score, run: Sequence[Phrased], move: int) -> str:
    """Why some neighbouring moments leave the octave of the whole."""
    low, high = span_of(score.head.instrument)
    key = score.keys[run[0].place.measure]
    beyond = next((moment.top + move for moment in run if not low <= moment.top + move <= high), None)
    group = ""
    if len(run) > 1:
        ends = describe(score, run[0].place), describe(score, run[-1].place)
        group = f" for the {counted(len(run), 'note')} from {ends[0]} to {ends[1]}"
    if beyond is None:
        return f"to stay with its neighbours{group}"
    end = f"below {pitch_words(low, key)}" if beyond < low else f"above {pitch_words(high, key)}"
    return f"{pitch_words(beyond, key)} would be {end}, the end of the neck{group}"
