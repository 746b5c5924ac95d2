"""The rows beside the courses: fingers and strokes under the notes, chord symbols over them.

A finger is written `2` where the player has set it, `2?` where it is proposed and `.` where there is none;
an event's fingers stand together, highest course first, those of its grace notes before them: `{1}2.`. A
stroke is `D`, `U` or `N` (none) where the player has set it, `d` or `u` where it is proposed.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from tabterm.page.rows import FINGER_WORD, PRINTED
from tabterm.score.kinds import Stroke
from tabterm.score.model import ChordMark

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from fractions import Fraction

    from tabterm.formats.text.measures import Segment
    from tabterm.score.model import Note
    from tabterm.score.report import Reporter

STROKES = {"d": Stroke.DOWN, "n": Stroke.DOWN, "⊓": Stroke.DOWN, "u": Stroke.UP, "v": Stroke.UP}
"""Strokes by letter, as players write them; our own `N` is set to none."""

NEAR = 2
"""Characters by which a finger or stroke may stand beside its note."""

_FINGER = re.compile(r"[.0-4]\??")


def fields_of_rows(segment: Segment, x: int, notes: Sequence[Note], grace: Sequence[Note]) -> dict[str, Any]:
    """The notes, grace notes and stroke of an event, with what stands under character `x`."""
    match = FINGER_WORD.match(_near(segment, "finger", x))
    if match is not None:
        grace, notes = _fingered(grace, match.group(1) or ""), _fingered(notes, match.group(2))
    return {"notes": tuple(notes), "grace": tuple(grace), **_stroke(_near(segment, "stroke", x))}


def _fingered(notes: Sequence[Note], text: str) -> list[Note]:
    signs = _FINGER.findall(text)
    signs += ["."] * (len(notes) - len(signs))
    return [_with_finger(note, sign) for note, sign in zip(notes, signs, strict=False)]


def _with_finger(note: Note, sign: str) -> Note:
    if sign.startswith("."):
        return note
    name = "proposed_finger" if sign.endswith("?") else "finger"
    return note.with_(**{name: int(sign[0])})


def _stroke(text: str) -> dict[str, Stroke | bool]:
    """The stroke of a word, and `proposed_tremolo` where `%` stands behind it."""
    letter = text.removesuffix("%")
    fields: dict[str, Stroke | bool] = {"proposed_tremolo": True} if text.endswith("%") else {}
    if letter == "N":
        return fields | {"stroke": Stroke.NONE}
    stroke = STROKES.get(letter.lower())
    if stroke is None:
        return fields
    return fields | {"proposed_stroke" if letter in {"d", "u"} else "stroke": stroke}


def _near(segment: Segment, row: str, x: int) -> str:
    words = [(abs(at - x), text) for at, text in segment.rows.get(row, []) if abs(at - x) <= NEAR]
    return min(words, default=(0, ""))[1]


def tell_unused(segment: Segment, xs: Sequence[int], report: Reporter) -> None:
    """Tell of fingers and strokes that cannot be read, or stand under no note; notes are at `xs`."""
    for row in PRINTED:
        for x, word in segment.rows.get(row.name, []) if row.word is not None else ():
            if row.word is not None and not row.word.match(word):
                report.left_out(f"not a {row.name}: '{word:.40}'", *segment.at(x, row.name))
            elif all(abs(x - other) > NEAR for other in xs):
                report.left_out(f"the {row.name} '{word:.40}' stands under no note", *segment.at(x, row.name))


def chord_mark(word: str, x: int, onsets: Iterable[tuple[int, Fraction]]) -> ChordMark | None:
    """The chord symbol of a word at character `x`: at the onset nearest to it, or at the offset it says.

    `onsets` are (character, offset) of the events; None where there is none, or the symbol is none.
    """
    symbol, said, offset = word.rpartition("@")
    try:
        if said:
            return ChordMark.model_validate({"offset": offset, "symbol": symbol})
    except ValidationError:
        pass  # the sign belongs to the symbol
    nearest = min(((abs(at - x), offset) for at, offset in onsets), default=None)
    try:
        return None if nearest is None else ChordMark(offset=nearest[1], symbol=word)
    except ValidationError:
        return None
