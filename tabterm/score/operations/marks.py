"""Setting what is marked at a measure: repeats, endings, bar lines, sections, remarks, key and tempo."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.score.operations.draft import MeasureDraft, change_measure, commit, refusing
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from tabterm.score.key import Key
    from tabterm.score.kinds import Barline, StrokeSchool
    from tabterm.score.model import Score


def set_repeat_start(score: Score, index: int, value: bool) -> Score:
    """A repeated passage starts at a measure, or not."""
    return change_measure(score, index, repeat_start=value)


def set_repeat_times(score: Score, index: int, times: int) -> Score:
    """A repeated passage ends with a measure and is played `times` times in all; 0 ends none."""
    with refusing(f"a passage cannot be played {times} times", hint="2 to 99, or 0 for no repeat"):
        return change_measure(score, index, repeat_times=times)


def set_endings(score: Score, first: int, last: int, numbers: tuple[int, ...]) -> Score:
    """Play the measures from `first` to `last` only in these passes; in all, when there are no numbers."""
    drafts = [MeasureDraft.of(measure, endings=numbers) for measure in score.measures[first : last + 1]]
    with refusing("there is no such pass", hint="passes are numbered from 1 to 99"):
        return commit(score, first, len(drafts), drafts)


def set_barline(score: Score, index: int, barline: Barline) -> Score:
    """Set the line at the end of a measure."""
    return change_measure(score, index, barline=barline)


def set_section(score: Score, index: int, name: str) -> Score:
    """Name the section that starts at a measure; "" takes the name away."""
    with refusing("the name of the section is too long", hint="at most 40 characters"):
        return change_measure(score, index, section=name)


def set_remark(score: Score, index: int, words: str) -> Score:
    """Set the remark over a measure; "" takes it away."""
    with refusing("the remark is too long", hint="at most 500 characters"):
        return change_measure(score, index, remark=words)


def set_key(score: Score, index: int, key: Key) -> Score:
    """Change the key from a measure on; the notes stay. The first measure's key is the head's."""
    if index == 0:
        draft = MeasureDraft.of(score.measures[0], key=None)
        return commit(score, 0, 1, [draft], score.head.with_(key=key))
    return change_measure(score, index, key=None if key == score.keys[index - 1] else key)


def set_school_of(score: Score, first: int, last: int, school: StrokeSchool) -> Score:
    """Propose the strokes of the measures from `first` to `last` by a school; what holds behind them stays."""
    drafts = [MeasureDraft.of(measure, school=None) for measure in score.measures[first : last + 2]]
    before = score.schools[first - 1] if first else score.head.school
    drafts[0].changes["school"] = None if school is before else school
    if last + 1 < len(score.measures):
        after = score.schools[last + 1]
        drafts[-1].changes["school"] = None if after is school else after
    return commit(score, first, len(drafts), drafts)


def section_round(score: Score, index: int) -> tuple[int, int]:
    """First and last measure of the section that a measure stands in: from one section mark to the next."""
    marks = [number for number, measure in enumerate(score.measures) if measure.section]
    first = max((number for number in marks if number <= index), default=0)
    following = min((number for number in marks if number > index), default=len(score.measures))
    return first, following - 1


def set_tempo(score: Score, index: int, tempo: Tempo) -> Score:
    """Change the tempo from a measure on. The first measure's tempo is the head's."""
    if index == 0:
        draft = MeasureDraft.of(score.measures[0], tempo=None)
        return commit(score, 0, 1, [draft], score.head.with_(tempo=tempo))
    return change_measure(score, index, tempo=None if tempo == score.tempos[index - 1] else tempo)


def scale_tempos(score: Score, factor: float) -> Score:
    """Play everything faster or slower by a factor; tempos keep their proportion.

    Raises:
        ScoreError: A tempo would leave the range from 10 to 400.
    """
    drafts = [
        MeasureDraft.of(measure, tempo=None if measure.tempo is None else _scaled(measure.tempo, factor))
        for measure in score.measures
    ]
    return commit(score, 0, len(drafts), drafts, score.head.with_(tempo=_scaled(score.head.tempo, factor)))


def tempos_of(score: Score, other: Score) -> Score:
    """The score with the tempos of another that has as many measures."""
    pairs = zip(score.measures, other.measures, strict=True)
    drafts = [MeasureDraft.of(measure, tempo=model.tempo) for measure, model in pairs]
    return commit(score, 0, len(drafts), drafts, score.head.with_(tempo=other.head.tempo))


def _scaled(tempo: Tempo, factor: float) -> Tempo:
    per_minute = round(tempo.per_minute * factor, 1)
    if not SLOWEST <= per_minute <= FASTEST:
        raise ScoreError(f"a tempo of {per_minute:g} is out of range", hint="use 10 to 400")
    return Tempo(per_minute, tempo.beat)
