"""Some measures as text to paste into a message: no head, no marks of proposals, the numbers of the editor."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from tabterm.formats.text.writer import LABEL, asked_rows, chunk_width, system_lines, systems_of
from tabterm.hand.proposals import accept_fingers
from tabterm.hand.stroke_row import accept
from tabterm.harmony.spelling import chord_in_force
from tabterm.page.cells import marks_in_words
from tabterm.page.rows import CHORD, FINGER, RHYTHM, STROKE
from tabterm.score.metre import Metre
from tabterm.score.operations import set_chord
from tabterm.score.operations.draft import map_events
from tabterm.score.place import Span, display_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.text.writer import Chunk
    from tabterm.score.model import Event, Note, Score

CLEAN_ROWS = tuple(row.name for row in (CHORD, RHYTHM, FINGER, STROKE))
"""Rows beside the courses that are not left out unless asked for; the rhythm says what a count would."""

USUAL_METRE = Metre.parse("4/4")

CLEAN_WIDTH = 80
"""Characters of a line; common practice, no source."""


def excerpt(
    score: Score, first: int, last: int, *, width: int = CLEAN_WIDTH, rows: Sequence[str] = CLEAN_ROWS
) -> str:
    """The measures from index `first` to `last` as text tab that needs no explanation.

    A proposal looks like what the player has set, a row with nothing on it is left out, and a remark that finds
    no room over its measure stands under the system. A line before it names the metre where that is not 4/4. It
    begins with the chord in force, and reads back as these measures; short ones are filled with rests then.

    Raises:
        FormatError: The width is out of range, or there is no such row.
    """
    asked = asked_rows(rows)
    plain = _settled(score, Span.of_measures(first, last))
    metre = score.metres[first]
    blocks = [] if metre == USUAL_METRE else [f"metre: {metre}"]
    for system in systems_of(plain, range(first, last + 1), width, asked):
        numbers, below = _numbers(plain, system, width)
        lines = [line for line in system_lines(plain, system, asked) if len(line) > LABEL]
        blocks.append("\n".join([numbers, *lines, *below]))
    return "\n\n".join(blocks) + "\n"


def _settled(score: Score, span: Span) -> Score:
    """The score with its proposals taken for the player's own, and no sign of what the program is to keep."""
    accepted = accept(accept_fingers(score, span), span)
    settled = map_events(accepted, span, lambda _, event: _without_signs(event))
    chord = chord_in_force(score, span.start)
    return settled if chord is None else set_chord(settled, span.start, chord)


def _without_signs(event: Event) -> Event:
    notes, grace = tuple(map(_unheld, event.notes)), tuple(map(_unheld, event.grace))
    return event if (notes, grace) == (event.notes, event.grace) else event.with_(notes=notes, grace=grace)


def _unheld(note: Note) -> Note:
    return note.with_(course_set=False) if note.course_set else note


def _numbers(score: Score, system: list[Chunk], width: int) -> tuple[str, list[str]]:
    """The line over a system: measure numbers at the bar lines, with the marks; and remarks that do not fit."""
    line, at, below = "", LABEL, []
    starts = []
    for chunk in system:
        starts.append(at)
        at += chunk_width(score, chunk)
    for chunk, start, end in zip(system, starts, [*starts[1:], width + 1], strict=True):
        if not chunk.begins:
            continue
        measure = score.measures[chunk.index].with_(break_before=None)
        number = str(display_number(score, chunk.index))
        words = f"{number} {marks_in_words(measure)[1]}".rstrip()
        if start + len(words) >= end and measure.remark:
            below += textwrap.wrap(f"{number}: {measure.remark}", width)
            words = f"{number} {marks_in_words(measure.with_(remark=''))[1]}".rstrip()
        line = line.ljust(start) + words
    return line, below
