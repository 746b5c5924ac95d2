"""Setting what stands round the notes: the head, chord symbols, and what is marked at a measure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tabterm.errors import ScoreError
from tabterm.score.model import ChordMark, Score
from tabterm.score.operations.draft import MeasureDraft, change_measure, commit, refusing
from tabterm.score.place import Place, Span, describe
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from fractions import Fraction

    from tabterm.instrument import Instrument
    from tabterm.score.key import Key
    from tabterm.score.kinds import Barline, Break, StrokeSchool
    from tabterm.score.model import Swing
    from tabterm.score.profile import HandProfile


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
    with refusing("not the number of a pass", hint="passes are numbered from 1 to 99"):
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


def drop_remarks(score: Score, before: Score, span: Span) -> Score:
    """Take away remarks over notes that a new phrase in a span has replaced.

    A remark stands over the first note of its measure: it goes where that lies in the span, and more than half of
    the notes that stood there in the score before are gone.
    """
    for index in range(span.start.measure, min(span.end.measure + 1, len(before.measures))):
        old, new = _played(before, index), _played(score, index)
        gone = 2 * len(old & new) < len(old)
        if before.measures[index].remark and gone and Place(index, min(old)[0]) in span:
            score = set_remark(score, index, "")
    return score


def _played(score: Score, index: int) -> frozenset[tuple[Fraction, int]]:
    """When each note of a measure begins, and its pitch."""
    pitch = score.head.instrument.pitch
    timed = score.measures[index].timed()
    return frozenset((at, pitch(note.course, note.fret)) for at, event in timed for note in event.notes)


def set_break(score: Score, index: int, value: Break | None) -> Score:
    """Begin a system or a page of the printed sheet with a measure; None leaves that to the layout."""
    return change_measure(score, index, break_before=value)


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


def _set_head(score: Score, **changes: Any) -> Score:
    return commit(score, 0, 0, [], score.head.with_(**changes))


def set_title(score: Score, title: str) -> Score:
    """Name the score; raises ScoreError for more than 200 characters."""
    with refusing("the title is too long", hint="at most 200 characters"):
        return _set_head(score, title=title)


def set_foreword(score: Score, words: str) -> Score:
    """Set the teacher's words to the student; raises ScoreError for more than 2000 characters."""
    with refusing("the foreword is too long", hint="at most 2000 characters"):
        return _set_head(score, foreword=words)


def set_credits(score: Score, lines: tuple[str, ...]) -> Score:
    """Set the credit lines; raises ScoreError for one of more than 500 characters."""
    with refusing("a credit line is too long", hint="at most 500 characters"):
        return _set_head(score, credits=lines)


def set_instrument(score: Score, instrument: Instrument) -> Score:
    """Play the same courses and frets on another instrument.

    Raises:
        ScoreError: It has too few courses. Too few frets are a finding, not an error.
    """
    return _set_head(score, instrument=instrument)


def set_swing(score: Score, swing: Swing | None) -> Score:
    """Swing the score, or play it straight."""
    return _set_head(score, swing=swing)


def set_school(score: Score, school: StrokeSchool) -> Score:
    """Choose how strokes are proposed."""
    return _set_head(score, school=school)


def set_hand(score: Score, hand: HandProfile | None) -> Score:
    """Say whose hands play; None: those of whoever opens it."""
    return _set_head(score, hand=hand)


def set_chord(score: Score, place: Place, symbol: str | None) -> Score:
    """Put a chord symbol over a moment, in place of what stands or is proposed there; None takes it away.

    Raises:
        ScoreError: The symbol has a space or more than 24 characters, or the place is past the end.
    """
    if place.measure >= len(score.measures) or place.offset >= score.measures[place.measure].length:
        raise ScoreError("no music here to put a chord over", hint="write a measure first")
    marks = {mark.offset: mark for mark in score.measures[place.measure].chords}
    marks.pop(place.offset, None)
    if symbol is not None:
        hint = "at most 24 characters without a space"
        with refusing(f"not a chord symbol: '{symbol}'", hint=hint, place=describe(score, place)):
            marks[place.offset] = ChordMark(offset=place.offset, symbol=symbol)
    heard = score.measures[place.measure].heard_chords
    left = tuple(mark for mark in heard if mark.offset != place.offset)
    return change_measure(score, place.measure, chords=_in_order(marks), heard_chords=left)


def chords_in(score: Score, span: Span) -> Iterator[tuple[Place, str]]:
    """The chord symbols of a span with their places, in order."""
    for index in range(span.start.measure, min(span.end.measure + 1, len(score.measures))):
        for mark in score.measures[index].chords:
            if Place(index, mark.offset) in span:
                yield Place(index, mark.offset), mark.symbol


def lay_chords(score: Score, span: Span, symbols: Mapping[Place, str]) -> Score:
    """Put these chord symbols into a span in place of all that stand there."""
    last = min(span.end.measure, len(score.measures) - 1)
    drafts = []
    for index in range(span.start.measure, last + 1):
        old = score.measures[index].chords
        marks = {mark.offset: mark for mark in old if Place(index, mark.offset) not in span}
        drafts.append(MeasureDraft.of(score.measures[index], chords=marks))
    for place, symbol in symbols.items():
        marks = drafts[place.measure - span.start.measure].changes["chords"]
        marks[place.offset] = ChordMark(offset=place.offset, symbol=symbol)
    for draft in drafts:
        draft.changes["chords"] = _in_order(draft.changes["chords"])
    return commit(score, span.start.measure, len(drafts), drafts)


def _in_order(marks: Mapping[Fraction, ChordMark]) -> tuple[ChordMark, ...]:
    return tuple(sorted(marks.values(), key=lambda mark: mark.offset))
