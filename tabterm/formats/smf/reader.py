"""Reading a Standard MIDI File: one line of it, on a grid, in measures.

A file that this program has written has a track for each course, and is read as a score with its courses.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from tabterm.errors import FormatError
from tabterm.formats import Reading
from tabterm.formats.smf.bars import bars_of, beats_of, beginnings_of, estimate, metres_of
from tabterm.formats.smf.grid import USUAL, Grid, fit
from tabterm.formats.smf.parts import extent, line_of
from tabterm.formats.smf.tracks import Strike, contents
from tabterm.score.duration import EIGHTH
from tabterm.score.line import Bar, Line, Moment
from tabterm.score.model import Event, Head, Measure, Note, Score
from tabterm.score.operations.barring import Barring, Stretch, over_bars
from tabterm.score.report import Reporter
from tabterm.score.source import Tone

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.smf.bars import MidiBar, MidiBeats
    from tabterm.formats.smf.grid import OnGrid
    from tabterm.formats.smf.parts import Chosen
    from tabterm.formats.smf.tracks import Contents
    from tabterm.score.line import Sounding
    from tabterm.score.metre import Metre
    from tabterm.score.operations.barring import Made

SOUNDING_PART = 0.6
"""A note that sounds for this part of the time to the next one lasts up to it; else a rest follows (common
practice, no source)."""

PICKUP = "quarters, such as 1 or 1/2 (0: none)"

ON_GRID = 0.008
"""Quarters that the onsets of a written file are off its grid at most, on average: rounding to ticks."""

FAR = 0.03
"""Quarters from which on a moved onset is told of: 15 ms at 120 quarters a minute (tuned here)."""

BY_CHANCE = 0.4
"""Part of what onsets at random would be moved, from which on they tell nothing of the beat (measured in
`tests/formats/test_smf_grid.py`: at random 0.54 to 0.64, eighths by a hand 0.05 quarters off 0.27 to 0.34)."""


Group = list[tuple[Strike, int | None]]
"""What begins together, each with its course where the file tells it."""


class Struck(NamedTuple):
    """What begins at one moment: when and how long, in quarters."""

    onset: Fraction
    length: Fraction
    notes: Group


def read(
    data: bytes,
    *,
    track: int | None = None,
    channel: int | None = None,
    grid: str = USUAL,
    pickup: str | None = None,
    measures: str | None = None,
) -> Reading:
    """The score of a MIDI file.

    Args:
        data: The file.
        track: Number of the track to read, from 1; the one with most notes where none is given.
        channel: Number of the channel, from 1; the one with most notes.
        grid: Note values that onsets are put on: `16`, `8t` (triplet eighths), `16+8t`.
        pickup: Quarters of a pickup, such as `1` or `1/2`; estimated where none is given.
        measures: First and last measure of the file to read, such as `9-40`; all where none are given.

    Raises:
        FormatError: It is damaged, beyond all measure, or has no notes there, or more than are read of a line; no
            such grid, pickup or measures.
    """
    return reading_of(contents(data), track=track, channel=channel, grid=grid, pickup=pickup, measures=measures)


def reading_of(
    file: Contents,
    *,
    track: int | None = None,
    channel: int | None = None,
    grid: str = USUAL,
    pickup: str | None = None,
    measures: str | None = None,
    most_rest: Fraction | None = None,
) -> Reading:
    """The same of what a file holds, wherever it comes from.

    `most_rest` is the longest silence, in quarters, with which a first measure begins as a rest; after more of it,
    the music begins with a pickup. None: just under half a measure.
    """
    allowed, asked = Grid.parse(grid), _pickup(pickup)
    metres, written = metres_of(file)
    report = Reporter()
    line = extent(line_of(file, track, channel, report), metres, written, measures, report)
    if not file.metres:
        report.guessed(f"the file names no metre: {metres[0][1]} is assumed")
    beats = beats_of(metres, written)
    fitted = fit((note.start for note, _ in line.notes), beats, allowed)
    first = min(fitted.places.values())
    start, lead = (first, asked) if asked is not None else _beginning(first, metres, written, most_rest)
    if asked is not None:
        metres = _anchored(metres, start + asked)
        beats = beats_of(metres, Fraction(0))
        fitted = fit((note.start for note, _ in line.notes), beats, allowed)
    elif start and not lead and measures is None:
        report.left_out(f"{start} quarters of silence at the beginning are left out")
    _tell_freedom(fitted, [note.start for note, _ in line.notes], grid, report)
    struck = _struck(line, fitted, beats, start, report)
    if file.bends and not line.own:
        report.left_out("pitch bends are left out")
    end = max(each.onset + each.length for each in struck)
    bars = bars_of(metres, start, lead, start + end)
    if lead > bars[0].metre.length:
        raise FormatError(f"a pickup of {lead} quarters is longer than a measure of {bars[0].metre}", hint=PICKUP)
    return Reading(_music(line, struck, bars, file, report), report.gathered())


def _music(
    line: Chosen, struck: Sequence[Struck], bars: Sequence[MidiBar], file: Contents, report: Reporter
) -> Score | Line:
    """The score of our own file, and the line of any other."""
    if line.own:
        score = Barring(Event, Measure)
        _fill(score, [Stretch(*each[:2], _on_courses(line, each.notes), EIGHTH) for each in struck], bars, file)
        return Score(head=_head(line, score.begins, report), measures=tuple(score.measures))
    heard = Barring(Moment, Bar)
    _fill(heard, [Stretch(*each[:2], _at_pitches(each.notes), EIGHTH) for each in struck], bars, file)
    return Line(head=_head(line, heard.begins, report), measures=tuple(heard.measures))


def _fill(
    barring: Barring[Sounding, Made],
    stretches: Sequence[Stretch[Sounding]],
    bars: Sequence[MidiBar],
    file: Contents,
) -> None:
    inside = over_bars(stretches, [bar.length for bar in bars])
    for bar, stretches_there, (tempo, key) in zip(bars, inside, beginnings_of(bars, file), strict=True):
        barring.add(stretches_there, bar.length, bar.metre, key=key, tempo=tempo)


def _head(line: Chosen, begins: dict[str, Any], report: Reporter) -> Head:
    """The head; a key that the file does not tell at the beginning is estimated."""
    if "key" not in begins:
        begins = {**begins, "key": estimate(note for note, _ in line.notes)}
        report.guessed(f"the key is estimated as {begins['key']}")
    return Head(title=line.title, instrument=line.instrument, **begins)


def _pickup(text: str | None) -> Fraction | None:
    try:
        quarters = None if text is None else Fraction(text)
    except (ValueError, ZeroDivisionError):
        quarters = Fraction(-1)
    if quarters is not None and not (0 <= quarters <= 16 and (quarters * 64).denominator == 1):
        raise FormatError(f"not a pickup: '{text}'", hint=PICKUP)
    return quarters


def _beginning(
    first: Fraction, metres: list[tuple[Fraction, Metre]], pickup: Fraction, most_rest: Fraction | None
) -> tuple[Fraction, Fraction]:
    """Quarters that are left out at the beginning, and the length of the pickup: silence is no music."""
    if pickup:
        return Fraction(0), pickup
    place, metre = _in_force(metres, first)
    whole = place + (first - place) // metre.length * metre.length
    lead = first - whole
    if lead >= metre.length / 2 or (most_rest is not None and lead > most_rest):
        beat = max((each for each in metre.beats if each <= lead), default=Fraction(0))
        lead = beat if lead - beat < Fraction(1, 8) else lead
        return whole + lead, metre.length - lead
    return whole, Fraction(0)


def _in_force(metres: list[tuple[Fraction, Metre]], at: Fraction) -> tuple[Fraction, Metre]:
    """The metre of a moment, and where it begins."""
    return next((change for change in reversed(metres) if change[0] <= at), metres[0])


def _anchored(metres: list[tuple[Fraction, Metre]], bar: Fraction) -> list[tuple[Fraction, Metre]]:
    """The metre map with a bar line at a moment; later changes stay where they are."""
    _, metre = _in_force(metres, bar)
    return [(bar - metre.length, metre), *(change for change in metres if change[0] > bar)]


def _tell_freedom(fitted: OnGrid, starts: Sequence[float], grid: str, report: Reporter) -> None:
    """Tell where the notes do not lie on a grid."""
    far = sum(abs(float(fitted.places[start]) - start) > FAR for start in starts)
    many = f"{far} of {len(starts)} by more than {FAR}"
    if fitted.moved <= ON_GRID:
        if far:
            furthest = f"{fitted.furthest:.2f} at most"
            report.changed(f"onsets were moved to fit a grid of {grid}: {many} quarters, {furthest}")
        return
    report.changed(
        f"played freely: onsets were moved by {fitted.moved:.3f} quarters on average, {fitted.furthest:.2f} at "
        f"most, {many}, to fit a grid of {grid}"
    )
    if fitted.moved >= BY_CHANCE * fitted.chance:
        report.guessed("the notes do not follow the beat of the file: the rhythm is a guess; try another --grid")


def _struck(line: Chosen, fitted: OnGrid, beats: MidiBeats, start: Fraction, report: Reporter) -> list[Struck]:
    """What begins at each moment, from the beginning of the music on."""
    groups: dict[Fraction, Group] = {}
    for note, course in line.notes:
        groups.setdefault(max(fitted.places[note.start] - start, Fraction(0)), []).append((note, course))
    onsets = sorted(groups)
    struck: list[Struck] = []
    cut = merged = 0
    for number, onset in enumerate(onsets):
        group = groups[onset]
        room = onsets[number + 1] - onset if number + 1 < len(onsets) else None
        end = max(note.end for note, _ in group)
        length = _length(onset + start, end, room, beats, fitted)
        cut += sum(note.end > float(onset + start + length) + 0.5 for note, _ in group)
        merged += len(group) - len(_frets(line, group) if line.own else {note.pitch for note, _ in group})
        struck.append(Struck(onset, length, group))
    if merged:
        strikes = "a note is merged" if merged == 1 else f"{merged} notes are merged"
        report.changed(f"{strikes} with another of the same pitch in the same place")
    if cut:
        report.changed(f"{cut} notes that ring on under others are cut where the next begins")
    return struck


def _length(start: Fraction, end: float, room: Fraction | None, beats: MidiBeats, fitted: OnGrid) -> Fraction:
    """Quarters that an event lasts: up to the next one, or as long as it sounds, on the grid of the beat."""
    sounding = end - float(start)
    if room is not None and sounding >= SOUNDING_PART * float(room):
        return room
    beat = beats.at(end)
    parts = fitted.parts.get(beat, 3 if beat.in_threes else 2)
    step = beat.length / max(parts, 2)
    own = beat.start + round((end - float(beat.start)) / float(step)) * step - start
    own = own if own > 0 else step
    return own if room is None else min(own, room)


def _frets(line: Chosen, group: Group) -> dict[int, int]:
    """The fret on each course: the course that the file tells, or a free one where the note is not on that."""
    frets = {course: note.pitch - line.instrument.pitch(course, 0) for note, course in group if course is not None}
    for note, course in group:
        free = line.instrument.free_place(note.pitch, frets) if course is None else None
        if free is not None:
            frets[free[0]] = free[1]
    return frets


def _on_courses(line: Chosen, group: Group) -> Event:
    frets = sorted(_frets(line, group).items())
    return Event(duration=EIGHTH, notes=tuple(Note(course=course, fret=fret) for course, fret in frets))


def _at_pitches(group: Group) -> Moment:
    pitches = sorted({note.pitch for note, _ in group}, reverse=True)
    return Moment(duration=EIGHTH, notes=tuple(Tone(pitch=pitch) for pitch in pitches))
