"""Cells: what stands on a row at each moment of a measure, and how it stands out."""

from __future__ import annotations

from enum import StrEnum
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.memory import Memory
from tabterm.page.columns import lay_out
from tabterm.page.signs import BRACKET, finger_cell, fingers_kept, rhythm_signs, stroke_cell
from tabterm.score.comparison import Differs, differences_in
from tabterm.score.place import Place, count_name

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from fractions import Fraction

    from tabterm.harmony.analysis import Standing
    from tabterm.score.model import Measure, Score

    Texts = Mapping[Fraction, str]


class Weight(StrEnum):
    """How a piece of a cell stands out; the values are the names of the styles of the screen.

    What is silent gives way to all else on its row.
    """

    PLAIN = "plain"
    FAINT = "faint"
    CHOSEN = "chosen"
    CHORD = "chord"
    DEGREE = "degree"
    TROUBLE = "trouble"
    SILENT = "silent"


class Weighted(NamedTuple):
    """Characters of one weight."""

    text: str
    weight: Weight


@dataclass(frozen=True, slots=True)
class View:
    """What the rows are drawn from.

    Attributes:
        score: The score.
        levels: For a measure, by offset, the part of the player's limit that each event asks for.
        silent_strokes: The strokes of the hand that strike nothing are shown.
    """

    score: Score
    levels: Callable[[int], Mapping[Fraction, float]] = lambda _index: {}
    silent_strokes: bool = False


Cells = dict["Fraction", tuple[Weighted, ...]]


def in_one_weight(texts: Texts, weight: Weight = Weight.FAINT) -> Cells:
    """Texts as cells, all of the same weight."""
    return {offset: (Weighted(text, weight),) for offset, text in texts.items()}


def chord_cells(view: View, index: int) -> Cells:
    """Chord symbols where they stand; those that are only proposed faint, with how sure they are."""
    measure = view.score.measures[index]
    heard = {mark.offset: mark.symbol + _sureness(mark.sure) for mark in measure.heard_chords}
    set_by_player = {mark.offset: mark.symbol for mark in measure.chords}
    return in_one_weight(heard) | in_one_weight(set_by_player, Weight.CHORD)


def _sureness(percent: int) -> str:
    """The sign behind what was heard and is not confirmed: how sure it is, in tens of percent."""
    return f"?{min(percent // 10, 9)}"


def chords_printed(score: Score, index: int) -> Texts:
    """Chord symbols; one that stands over no onset, or holds the sign for it, says its offset: `G@3/2`."""
    measure = score.measures[index]
    onsets = set(measure.onsets)
    return {
        mark.offset: mark.symbol
        if mark.offset in onsets and "@" not in mark.symbol
        else f"{mark.symbol}@{mark.offset}"
        for mark in measure.chords
    }


def counts(score: Score, index: int) -> Texts:
    """The count as it is spoken: `1 & 2 &`, `1 e & a`; moments off it have no word, nor has one without room."""
    texts: dict[Fraction, str] = {}
    layout = lay_out(score, index)
    for offset in sorted({column.offset for column in layout.columns} | layout.beats_aside):
        name = count_name(score, Place(index, offset))
        word, column = name.lstrip("0123456789") or name, layout.column_at(offset)
        fits = column.offset == offset or layout.x_of(offset) + len(word) <= column.x + column.width
        if "+" not in name and fits:
            texts[offset] = word
    return texts


def rhythms(score: Score, index: int) -> Texts:
    """The value of each event."""
    measure = score.measures[index]
    return dict(zip(measure.onsets, rhythm_signs(measure.events), strict=True))


def rhythm_cells(view: View, index: int) -> Cells:
    """Values that are struck plain; rests and what is tied faint, as nothing is struck there."""
    return {
        offset: (Weighted(sign, Weight.FAINT if sign.lstrip(BRACKET)[0] in "-(" else Weight.PLAIN),)
        for offset, sign in rhythms(view.score, index).items()
    }


DIFFERS_SIGNS = {
    Differs.HIGHER: "↑",
    Differs.LOWER: "↓",
    Differs.CHANGED: "≠",
    Differs.DROPPED: "−",  # noqa: RUF001 - the sign of taking away
    Differs.ADDED: "+",
}
"""Behind a pitch of the original: how what is played departs from it."""


def source_cells(view: View, index: int) -> Cells:
    """The original line by its pitches, tied ones in parentheses, with signs of how it is departed from.

    Behind what was heard and is not confirmed stand a `?` and how sure it is, in tens of percent.
    """
    from tabterm.harmony.spelling import pitch_words

    score = view.score
    key, texts = score.keys[index], dict["Fraction", str]()
    for offset, event in score.measures[index].timed_source():
        if event.pitches:
            sure = {each.pitch: _sureness(each.sure) for each in event.proposed}
            words = [
                (pitch_words(pitch, key) + sure.get(pitch, ""), pitch in event.held) for pitch in event.pitches
            ]
            names = "/".join(f"({word})" if held else word for word, held in words)
            texts[offset] = f"({names})" if event.tied else names
    departures = differences_in(score, index)
    for each in departures:
        sign, text = DIFFERS_SIGNS[each.kind], texts.get(each.place.offset, "")
        if sign not in text:
            texts[each.place.offset] = text + sign
    marked = {each.place.offset for each in departures}
    return {
        offset: (Weighted(text, Weight.CHORD if offset in marked else Weight.FAINT),)
        for offset, text in texts.items()
    }


def finger_cells(view: View, index: int) -> Cells:
    """Set fingers bright, proposed ones faint."""
    return {
        offset: tuple(
            Weighted(sign, Weight.FAINT if note.finger is None else Weight.CHOSEN)
            for note, sign in zip(event.notes, text, strict=True)
        )
        for offset, event in view.score.measures[index].timed()
        if (text := finger_cell(event))
    }


_NUMERALS: Memory[dict[Place, str]] = Memory("numerals", hangs_on="the whole score", most=2)


def numerals(score: Score, index: int) -> Texts:
    """The numeral of each chord where it begins to sound: `ii7`, `V7/V`."""
    told = _NUMERALS.of((score,), (), lambda: _numerals(score))
    return {place.offset: roman for place, roman in told.items() if place.measure == index}


def _numerals(score: Score) -> dict[Place, str]:
    from tabterm.harmony.progression import functions, sounding_chords

    chords = sounding_chords(score)
    return {chord.place: does.roman for chord, does in zip(chords, functions(chords), strict=True)}


def degrees(score: Score, index: int) -> Texts:
    """Degree to the chord of the notes of each event, the highest course first: `5/3`."""
    return _of_notes(score, index, attrgetter("to_chord"))


def tonics(score: Score, index: int) -> Texts:
    """Degree to the key of the notes of each event, the highest course first."""
    return _of_notes(score, index, attrgetter("to_key"))


def classes(score: Score, index: int) -> Texts:
    """What the notes of each event are, the highest course first: `ct/a-1`."""
    return _of_notes(score, index, attrgetter("short"))


def _of_notes(score: Score, index: int, told: Callable[[Standing], str]) -> Texts:
    from tabterm.harmony.analysis import analyse

    texts: dict[Fraction, str] = {}
    for each in analyse(score, index):
        texts[each.offset] = f"{texts[each.offset]}/{told(each)}" if each.offset in texts else told(each)
    return texts


def fingers_printed(score: Score, index: int) -> Texts:
    """Fingers as a file keeps them."""
    return {offset: fingers_kept(event) for offset, event in score.measures[index].timed()}


def strokes(score: Score, index: int) -> Texts:
    """Strokes, set ones as capitals."""
    return {offset: text for offset, event in score.measures[index].timed() if (text := stroke_cell(event))}


def stroke_cells(view: View, index: int) -> Cells:
    """Set strokes bright, proposed ones faint, those that strike nothing in parentheses."""
    cells: Cells = {}
    if view.silent_strokes:
        from tabterm.hand.right_hand import silent_strokes

        moves = silent_strokes(view.score, index)
        cells = in_one_weight({offset: f"({stroke.value[0]})" for offset, stroke in moves}, Weight.SILENT)
    for offset, text in strokes(view.score, index).items():
        cells[offset] = (Weighted(text, Weight.CHOSEN if text[:1].isupper() else Weight.FAINT),)
    return cells


EFFORT_SIGNS = " .:*#"
"""Effort up to a quarter, a half and three quarters of the limit, up to it, and beyond."""


def effort_cells(view: View, index: int) -> Cells:
    """How near to the player's limit each event is."""
    return {
        offset: (
            Weighted(EFFORT_SIGNS[min(int(level * 4.0), 4)], Weight.TROUBLE if level >= 1.0 else Weight.FAINT),
        )
        for offset, level in view.levels(index).items()
    }


def marks_in_words(measure: Measure) -> tuple[str, str]:
    """What stands over a measure: section, changes, endings, breaks, remark and school; and without the school."""
    parts = [f"[{measure.section}]"] if measure.section else []
    parts += [str(change) for change in (measure.metre, measure.key, measure.tempo) if change is not None]
    if measure.endings:
        parts.append(",".join(map(str, measure.endings)) + ".")
    if measure.repeat_times > 2:
        parts.append(f"{measure.repeat_times}x")
    if measure.break_before:
        parts.append(f"new {measure.break_before}")
    if measure.remark:
        parts.append(measure.remark)
    school = [] if measure.school is None else [f"strokes {measure.school}"]
    return " ".join(parts + school), " ".join(parts)
