"""From the voices of a staff to one line: the first voice, and what of the others fits into it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import field
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.musicxml.values import whole

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.formats.musicxml.bars import XmlBar
    from tabterm.formats.musicxml.notes import WrittenNote
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.score.duration import Duration

ROUNDING = Fraction(1, 16)
"""Quarters by which durations and written values of a voice may differ in a measure for the values to be right."""


@dataclass(slots=True)
class NoteGroup:
    """What begins at one moment: a rest (no notes), a note, or several that sound together.

    Attributes:
        onset: Quarters from the start of the measure.
        length: Quarters.
        duration: The note value written, or None.
        line: Line in the file.
        notes: Those of a chord in the order of the file.
        grace: Groups of grace notes before it.
    """

    onset: Fraction
    length: Fraction
    duration: Duration | None
    line: int
    notes: list[WrittenNote] = field(default_factory=list)
    grace: list[WrittenNote] = field(default_factory=list)

    @property
    def end(self) -> Fraction:
        """When it stops, in quarters from the start of the measure."""
        return self.onset + self.length


class Liner:
    """Makes one line of the voices of each measure, or of one voice alone.

    Raises:
        FormatError: The one voice is not there.
    """

    def __init__(self, bars: Iterable[XmlBar], report: XmlReporter, only: str | None = None) -> None:
        self._report = report
        sounding = {note.voice for bar in bars for note in bar.notes if note.pitch is not None}
        self._order = {voice: number for number, voice in enumerate(sorted(sounding, key=_voice_order))}
        self._late_grace: dict[str, list[WrittenNote]] = {}
        self._only = only
        if only is not None and only not in self._order:
            raise FormatError(f"no notes in voice '{only}'", hint=f"one of: {', '.join(self._order)}")

    def line(self, bar: XmlBar) -> list[NoteGroup]:
        """The groups of a measure in order, none over another; between them there may be silence."""
        voices: dict[str, list[WrittenNote]] = {}
        for note in bar.notes:
            if self._only in (None, note.voice):
                note.rank = 0 if self._only else self._order.get(note.voice, 0)
                voices.setdefault(note.voice, []).append(note)
        ordered = sorted(voices, key=lambda voice: self._order.get(voice, len(self._order)))
        line: list[NoteGroup] = []
        moved: dict[Fraction, Fraction] = {}
        for rank, voice in enumerate(ordered):
            groups, crossing = _apart(self._groups(voice, voices[voice]))
            moved |= _by_value(groups)
            for group in (*groups, *crossing):
                group.onset = moved.get(group.onset, group.onset)
            if rank == 0:
                line = groups
            else:
                self._merge(line, groups)
            if crossing:
                self._merge(line, crossing)
        _move(bar, moved)
        return _without_overlaps(line)

    def _groups(self, voice: str, notes: Sequence[WrittenNote]) -> list[NoteGroup]:
        """Notes of one voice as groups, with grace notes before what they ornament."""
        groups: list[NoteGroup] = []
        grace = self._late_grace.pop(voice, [])
        for note in notes:
            if note.is_grace:
                if note.pitch is None:
                    continue
                if note.is_chord:
                    self._report.left_out("lower notes of grace chords are left out", note.line)
                else:
                    grace.append(note)
            elif note.is_chord and groups and groups[-1].onset == note.onset:
                if note.pitch is not None:
                    groups[-1].notes.append(note)
            elif note.length > 0:
                group = NoteGroup(note.onset, note.length, note.duration, note.line)
                groups.append(group)
                if note.pitch is not None:
                    group.notes.append(note)
                    group.grace, grace = grace, []
                elif grace:
                    self._report.left_out("grace notes before rests are left out", grace[0].line)
                    grace = []
        if grace:
            self._late_grace[voice] = grace
        return groups

    def _merge(self, line: list[NoteGroup], groups: Iterable[NoteGroup]) -> None:
        """Put what fits of another voice into the line: with a group of the same onset, or into silence."""
        sounding = _without_overlaps(each for each in line if each.notes)
        first = {note.voice for each in sounding for note in each.notes}
        for group in groups:
            if not group.notes:
                continue
            voice = group.notes[0].voice
            whose = "another voice" if voice in first else f"voice {' '.join(voice.split()):.40}"
            at = _place(sounding, group)
            if at < len(sounding) and sounding[at].onset == group.onset:
                same = sounding[at]
                if same.length != group.length:
                    self._report.changed(f"notes of {whose} take the lengths of the first voice", group.line)
                there = {note.pitch for note in same.notes}
                same.notes += [note for note in group.notes if note.pitch not in there]
                if same.grace and group.grace:
                    self._report.left_out(f"grace notes of {whose} are left out", group.line)
                same.grace = same.grace or group.grace
            elif _is_free(sounding, at, group):
                sounding.insert(at, group)
            else:
                for note in group.notes:
                    self._report.left_out(
                        f"notes of {whose} between the first voice's notes are left out", note.line
                    )
        rests = [each for each in line if not each.notes]
        line[:] = [*sounding, *(each for each in rests if _is_free(sounding, _place(sounding, each), each))]

    def finish(self) -> None:
        """Report what is left over at the end."""
        for grace in self._late_grace.values():
            self._report.left_out("grace notes with no note after them are left out", grace[0].line)


def _voice_order(voice: str) -> tuple[int, str]:
    number = whole(voice)
    return (number if number is not None else 99, voice)


def _onset(group: NoteGroup) -> Fraction:
    return group.onset


def _place(line: Sequence[NoteGroup], group: NoteGroup) -> int:
    """Number of the first group of a line that does not begin before another one."""
    return bisect_left(line, group.onset, key=_onset)


def _is_free(line: Sequence[NoteGroup], at: int, group: NoteGroup) -> bool:
    """Whether a group whose place in a line is `at` lies in silence; the groups of the line do not overlap."""
    return (at == 0 or line[at - 1].end <= group.onset) and (at == len(line) or line[at].onset >= group.end)


def _apart(groups: Iterable[NoteGroup]) -> tuple[list[NoteGroup], list[NoteGroup]]:
    """The groups of a voice in order, and those that sound over others of it, which are as of another voice.

    Where durations were rounded, a group may reach a little into the next one.
    """
    line: list[NoteGroup] = []
    crossing: list[NoteGroup] = []
    for group in groups:
        at = _place(line, group)
        over = at > 0 and line[at - 1].end - group.onset > ROUNDING
        under = at < len(line) and (line[at].onset == group.onset or group.end - line[at].onset > ROUNDING)
        if over or under:
            crossing.append(group)
        else:
            line.insert(at, group)
    return line, crossing


def _by_value(groups: Sequence[NoteGroup]) -> dict[Fraction, Fraction]:
    """Let the written values give the time where durations were only rounded; where each moment moves to."""
    if all(group.duration is not None and group.duration.length == group.length for group in groups):
        return {}
    values = [group.duration.length for group in groups if group.duration is not None]
    gapless = all(one.end == other.onset for one, other in pairwise(groups))
    off = sum(values, Fraction(0)) - sum((group.length for group in groups), Fraction(0))
    if len(values) < len(groups) or not gapless or abs(off) > ROUNDING:
        return {}
    moved, at = {}, groups[0].onset
    for group, value in zip(groups, values, strict=True):
        moved[group.onset], moved[group.end] = at, at + value
        group.length = value
        at += value
    return moved


def _move(bar: XmlBar, moved: dict[Fraction, Fraction]) -> None:
    """Take chord symbols, directions and the end of the measure along with the notes."""
    if moved:
        bar.harmonies = [(moved.get(at, at), node) for at, node in bar.harmonies]
        bar.directions = [(moved.get(at, at), node) for at, node in bar.directions]
        bar.length = moved.get(bar.length, bar.length)


def _without_overlaps(line: Iterable[NoteGroup]) -> list[NoteGroup]:
    """Cut what sounds into the next group; a group of no time left goes."""
    kept: list[NoteGroup] = []
    for group in sorted(line, key=_onset):
        if kept and kept[-1].end > group.onset:
            kept[-1].length = group.onset - kept[-1].onset
            if kept[-1].length <= 0:
                kept.pop()
        kept.append(group)
    return kept
