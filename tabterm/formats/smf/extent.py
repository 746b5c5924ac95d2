"""How much of a line is read: all of it, or some measures; what no hand would learn as one piece is refused."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import FormatError
from tabterm.formats.smf.bars import bars_of
from tabterm.formats.smf.grid import EARLY

if TYPE_CHECKING:
    from tabterm.formats.smf.bars import MidiBar
    from tabterm.formats.smf.parts import Chosen
    from tabterm.score.metre import Metre
    from tabterm.score.report import Reporter

MOST_OF_OWN = 40_000
"""Notes of a file of our own: an hour of sixteenths without a rest."""

MOST_OF_LINE = 5_000
"""Notes of another line, which is fitted to the neck: ten minutes of sixteenths at 120 quarters a minute; fitting
takes 1 to 2 ms a note (measured here)."""

MEASURES = "measures such as 9-40, counted from the beginning of the file"
_MEASURES = re.compile(r"^([0-9]{1,5})(?:-([0-9]{1,5}))?$")


def extent(
    line: Chosen, metres: list[tuple[Fraction, Metre]], pickup: Fraction, measures: str | None, report: Reporter
) -> Chosen:
    """The line, or what begins in some measures of it.

    Args:
        line: All of it.
        metres: The metre map of the file.
        pickup: Length of a pickup that the file writes; it is measure 0.
        measures: First and last measure, such as `9-40`; None for all.
        report: Takes which measures are read.

    Raises:
        FormatError: No such measures, no notes in them, or too many notes.
    """
    bars = bars_of(metres, Fraction(0), pickup, Fraction(max(note.start for note, _ in line.notes)) + 1)
    zero = 0 if pickup else 1
    if measures is not None:
        line = _cut(line, bars, zero, measures, report)
    most = MOST_OF_OWN if line.own else MOST_OF_LINE
    if len(line.notes) > most:
        starts = [bar.start for bar in bars]
        first = bisect_right(starts, line.notes[0][0].start) - 1
        last = max(bisect_right(starts, line.notes[most][0].start) - 2, first)
        hint = f"at most {most}: choose some of its measures, such as --measures {first + zero}-{last + zero}"
        raise FormatError(f"a line of {len(line.notes)} notes", hint=hint)
    return line


def _cut(line: Chosen, bars: list[MidiBar], zero: int, measures: str, report: Reporter) -> Chosen:
    asked = _MEASURES.match(measures)
    if asked is None:
        raise FormatError(f"not measures: {measures:.20}", hint=MEASURES)
    first, last = int(asked[1]) - zero, int(asked[2] or asked[1]) - zero
    if not 0 <= first <= last:
        raise FormatError(f"not measures: {measures:.20}", hint=MEASURES)
    if first >= len(bars):
        raise FormatError(f"there is no measure {asked[1]}", hint=f"{zero} to {len(bars) - 1 + zero}")
    end = bars[min(last, len(bars) - 1)]
    low, high = float(bars[first].start) - EARLY, float(end.start + end.length) - EARLY
    notes = tuple(each for each in line.notes if low <= each[0].start < high)
    if not notes:
        raise FormatError(f"no notes in measures {measures}", hint="choose others")
    said = f"measures {asked[1]} to {min(last, len(bars) - 1) + zero} of {len(bars) - 1 + zero} are read"
    report.left_out(said)
    return replace(line, notes=notes)
