"""Which line of a MIDI file is read, and how much of it."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.smf.bars import bars_of
from tabterm.formats.smf.grid import EARLY
from tabterm.formats.smf.tracks import PERCUSSION
from tabterm.instrument import PRESETS

if TYPE_CHECKING:
    from tabterm.formats.smf.bars import MidiBar
    from tabterm.formats.smf.tracks import Contents, MidiPart, Strike
    from tabterm.instrument import Instrument
    from tabterm.score.metre import Metre
    from tabterm.score.report import Reporter


COURSE_TRACK = re.compile(r"^(.*), \S+ course$")
"""Name of a track that this program writes for a course."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The notes that are read.

    Attributes:
        notes: Each with its course where the file tells it, by start.
        instrument: What they are laid on.
        title: What the file or the part is called.
        own: The file is this program's own, and tells courses.
    """

    notes: tuple[tuple[Strike, int | None], ...]
    instrument: Instrument
    title: str
    own: bool = False


def line_of(file: Contents, track: int | None, channel: int | None, report: Reporter) -> Chosen:
    """The line of a track and a channel, numbered from 1, or else the one with most notes.

    Raises:
        FormatError: There are no notes there.
    """
    parts = {
        part: notes
        for part, notes in file.parts.items()
        if (track is None or part[0] == track - 1)
        and (channel is None or part[1] == channel - 1)
        and (part[1] != PERCUSSION or channel == PERCUSSION + 1)
    }
    if not parts:
        there = ", ".join(_words(file, part) for part in sorted(file.parts)) or "none"
        raise FormatError("no notes to read", hint=f"notes are in: {there}")
    title = next((name for name in file.names.values() if name and not COURSE_TRACK.match(name)), "")[:200]
    courses = [part for part in sorted(parts) if COURSE_TRACK.match(file.names.get(part[0], ""))]
    if track is None and courses:
        return _own_line(file, courses, title)
    best = max(sorted(parts), key=lambda part: len(parts[part]))
    others = ", ".join(_words(file, part) for part in sorted(file.parts) if part != best)
    if others:
        report.left_out(f"only {_words(file, best)} is read; the others: {others}")
    return Chosen(tuple((note, None) for note in parts[best]), PRESETS["mandolin"], title)


def _words(file: Contents, part: MidiPart) -> str:
    """`track 2 channel 1 (Melody, 118 notes)`."""
    name = file.names.get(part[0], "")
    notes = f"{len(file.parts[part])} notes"
    return f"track {part[0] + 1} channel {part[1] + 1} ({f'{name[:30]}, {notes}' if name else notes})"


def _own_line(file: Contents, courses: list[MidiPart], title: str) -> Chosen:
    """A file with a track for each course: the channel is the course."""
    name = COURSE_TRACK.match(file.names[courses[0][0]])
    named = [each for each in PRESETS.values() if name and each.name == name.group(1)]
    instrument = named[0] if named else PRESETS["mandolin"]
    notes = [
        (note, part[1] + 1 if part[1] + 1 in dict(instrument.places_of(note.pitch)) else None)
        for part in courses
        for note in file.parts[part]
    ]
    return Chosen(tuple(sorted(notes, key=lambda each: each[0].start)), instrument, title, own=True)


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
        raise FormatError(f"no measure {asked[1]}", hint=f"{zero} to {len(bars) - 1 + zero}")
    end = bars[min(last, len(bars) - 1)]
    low, high = float(bars[first].start) - EARLY, float(end.start + end.length) - EARLY
    notes = tuple(each for each in line.notes if low <= each[0].start < high)
    if not notes:
        raise FormatError(f"no notes in measures {measures}", hint="choose others")
    said = f"measures {asked[1]} to {min(last, len(bars) - 1) + zero} of {len(bars) - 1 + zero} are read"
    report.left_out(said)
    return replace(line, notes=notes)
