"""Writing ABC: pitches, rhythm, chords, strokes, fingers and slurs; the format has no courses and frets."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.formats import Writing
from tabterm.formats.abc.fields import usual_length
from tabterm.formats.abc.notes import Speller, escaped, music_of
from tabterm.instrument import PRESETS
from tabterm.score.kinds import Barline, StrokeSchool
from tabterm.score.place import Place, lead_in
from tabterm.score.query import after_double_bar, passages
from tabterm.score.report import Reporter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import Measure, Score

MEASURES_ON_LINE = 4
_BARLINES = {Barline.SINGLE: "|", Barline.DOUBLE: "||", Barline.FINAL: "|]"}
_MODES = {"major": "", "minor": "m"}


def write(score: Score) -> Writing:
    """A score as one tune, with what it does not carry."""
    report = Reporter()
    report.left_out("courses and frets are lost: ABC has only pitches")
    unit = usual_length(score.head.metre)
    lines = [*_heading(score, unit, report), *_music(score, unit, report)]
    return Writing("\n".join([*lines, ""]).encode(), report.gathered())


def _heading(score: Score, unit: Fraction, report: Reporter) -> Iterator[str]:
    head = score.head
    yield "%abc-2.1"
    yield "X:1"
    yield f"T:{escaped(head.title)}"
    for line in head.credits:
        yield f"C:{escaped(line)}"
    yield f"M:{metre_text(head.metre)}"
    yield f"L:{Fraction(unit, 4)}"
    yield f"Q:{head.tempo}"
    yield f"K:{key_text(head.key)}"
    if head.foreword:
        report.left_out("the foreword is lost")
    if head.instrument != PRESETS["mandolin"]:
        report.left_out(f"the instrument, {head.instrument.name}, is lost")
    if head.hand is not None:
        report.left_out("the hand of the score is lost")
    if head.swing is not None:
        report.left_out(f"swing {head.swing.long}:{head.swing.short} is lost")
    if any(measure.source for measure in score.measures):
        report.left_out("the original line is lost")
    if any(measure.heard_chords for measure in score.measures):
        report.left_out("proposed chords are lost")
    if any(measure.break_before for measure in score.measures):
        report.left_out("breaks of the printed sheet are lost")
    if head.school is not StrokeSchool.BEAT or any(measure.school for measure in score.measures):
        report.left_out("picking schools are lost; the strokes stay")


def _music(score: Score, unit: Fraction, report: Reporter) -> Iterator[str]:
    """The lines of music."""
    speller = Speller(score, unit, report)
    line: list[str] = []
    before: Measure | None = None
    starts = _starts(score)
    for index, measure in enumerate(score.measures):
        following = score.measures[index + 1] if index + 1 < len(score.measures) else None
        text = f"{_opening(before, measure, starts=index in starts)}{_changes(measure)}"
        text += music_of(speller, index, lead_in(score, index))
        text += _closing(measure, following)
        line.append(text)
        if len(line) == MEASURES_ON_LINE or following is None:
            yield " ".join(line)
            line = []
        if measure.endings and following is not None and _is_open(measure, following):
            report.changed("the ending is closed by a double bar", place=Place(index))
        before = measure


def _starts(score: Score) -> set[int]:
    """Where a repeat is written to begin: where the score says so, and before a double bar line in a repeat.

    Without a start it would go back to that line (standard 4.8), but in a score it goes to the end of the repeat
    before it, or to the first measure.
    """
    measures = score.measures
    told = {index for index, measure in enumerate(measures) if measure.repeat_start}
    return told | {each.start for each in passages(measures) if after_double_bar(measures, each) is not None}


def _opening(before: Measure | None, measure: Measure, *, starts: bool) -> str:
    """What stands before a measure's music: the start of a repeat, the numbers of an ending."""
    text = "|:" if starts else ""
    goes_on = not starts and before is not None and before.endings == measure.endings and not _ends(before)
    if measure.endings and not goes_on:
        text += f"[{','.join(map(str, measure.endings))} "
    return text


def _changes(measure: Measure) -> str:
    text = f"[P:{_in_brackets(measure.section)}]" if measure.section else ""
    text += f"[M:{metre_text(measure.metre)}]" if measure.metre else ""
    text += f"[K:{key_text(measure.key)}]" if measure.key else ""
    return text + (f"[Q:{measure.tempo}]" if measure.tempo else "")


def _closing(measure: Measure, following: Measure | None) -> str:
    if measure.repeat_times:
        return " " + ":" * (measure.repeat_times - 1) + "|"
    if measure.endings and following is not None and _is_open(measure, following):
        return " ||"
    if measure.barline is Barline.SINGLE and following is not None and following.repeat_start:
        return " "
    return " " + _BARLINES[measure.barline]


def _ends(measure: Measure) -> bool:
    """Whether an ending would be over behind a measure: at a repeat, and at a double bar."""
    return bool(measure.repeat_times) or measure.barline is not Barline.SINGLE


def _is_open(measure: Measure, following: Measure) -> bool:
    """Whether an ending would go on into the next measure unless a double bar closed it."""
    return not following.endings and not following.repeat_start and not _ends(measure)


def metre_text(metre: Metre) -> str:
    """A metre as its field has it."""
    if metre.groups:
        return f"({'+'.join(map(str, metre.groups))})/{metre.unit}"
    return str(metre)


def key_text(key: Key) -> str:
    """A key as its field has it."""
    accidental = {-1: "b", 0: "", 1: "#"}[key.alter]
    return f"{key.step}{accidental}{_MODES.get(key.mode, key.mode[:3])}"


def _in_brackets(text: str) -> str:
    return escaped(text).replace("]", ")").replace("[", "(")
