"""Which line of a MIDI file is read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tabterm.errors import FormatError
from tabterm.formats.smf.tracks import PERCUSSION
from tabterm.instrument import PRESETS

if TYPE_CHECKING:
    from tabterm.formats.smf.tracks import Contents, Part, Strike
    from tabterm.instrument import Instrument
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
        report.left_out(f"{_words(file, best)} is read; there are also {others}")
    return Chosen(tuple((note, None) for note in parts[best]), PRESETS["mandolin"], title)


def _words(file: Contents, part: Part) -> str:
    """`track 2 channel 1 (Melody, 118 notes)`."""
    name = file.names.get(part[0], "")
    notes = f"{len(file.parts[part])} notes"
    return f"track {part[0] + 1} channel {part[1] + 1} ({f'{name[:30]}, {notes}' if name else notes})"


def _own_line(file: Contents, courses: list[Part], title: str) -> Chosen:
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
