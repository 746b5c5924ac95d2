"""Fitting a line to the neck, from the pitches as written to courses and frets with a report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.adapt.keys import EASIEST, easiest_keys
from tabterm.hand.adapt.laying import laid
from tabterm.hand.adapt.line import line_of, phrased
from tabterm.hand.adapt.placing import placed
from tabterm.hand.adapt.summary import summary_of
from tabterm.score.comparison import transposition
from tabterm.score.key import Key
from tabterm.score.line import Line, silent
from tabterm.score.operations.courses import moved_key, semitones_to, with_signatures
from tabterm.score.place import Place
from tabterm.score.report import Kind, Remark, Report

if TYPE_CHECKING:
    from tabterm.hand.player import Player
    from tabterm.instrument import Instrument
    from tabterm.score.model import Score


@dataclass(frozen=True, slots=True)
class Adaptation:
    """A line fitted to the neck.

    Attributes:
        score: The arrangement, with fingers proposed; its source line is as it was.
        report: What was done: to the whole first, then in the order of the score; and the whole in a sentence.
    """

    score: Score
    report: Report


def adapt(
    music: Line | Score,
    player: Player,
    *,
    instrument: Instrument | None = None,
    key: str | None = None,
    own: bool = False,
) -> Adaptation:
    """Fit a line to the neck: one that was read, or anew the original of a score.

    An arrangement that is in another key than its original goes back to that key first.

    Args:
        music: Of a score with a source row courses and frets mean nothing; marks on the notes do. Measures without
            one give their own notes.
        player: Whose hand it is fitted for.
        instrument: Another one to play it on.
        key: The key to play it in, `EASIEST`, or None for that of the line.
        own: Fit a score's own notes, as they stand, instead of the original line.

    Raises:
        ScoreError: The key is none.
    """
    score, read = (silent(music), music) if isinstance(music, Line) else _original(music, own=own)
    line = phrased(read)
    head = score.head.with_(instrument=instrument or score.head.instrument)
    semitones = 0
    whole: tuple[Remark, ...] = ()
    if key is not None:
        choice = easiest_keys(score, player, head, line)[0] if key == EASIEST else None
        wanted = choice.key if choice else Key.parse(key)
        words = choice.words if choice else f"in {wanted} instead of {score.head.key}, as asked"
        semitones, whole = semitones_to(score, wanted), (Remark(Kind.WHOLE, words),)
        score = with_signatures(score, wanted)
        head = head.with_(key=wanted)
    draft = laid(score, player, head, line, semitones)
    result = placed(draft.score, player)
    done = (*whole, *sorted((*draft.done, *result.done), key=lambda each: each.place or Place(-1)))
    count = sum(not tone.tied for moment in line for tone in moment.notes)
    summary = summary_of(count, head.instrument.name, draft.octaves.whole, done)
    return Adaptation(result.score, Report(done, summary))


def _original(score: Score, *, own: bool) -> tuple[Score, Line]:
    """A score in the key of its original, with a source row in every measure, and its line."""
    shift = 0 if own else transposition(score)
    line = line_of(score, own=own, shift=shift)
    if shift % 12:
        score = with_signatures(score, moved_key(score.head.key, -shift))
    pairs = zip(score.measures, line.measures, strict=True)
    measures = tuple(measure if measure.source else measure.with_(source=bar.source) for measure, bar in pairs)
    return score.with_(measures=measures), line
