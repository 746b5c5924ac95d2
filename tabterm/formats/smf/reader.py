"""Reading a Standard MIDI File: one line of it becomes tab on the lowest frets.

Which track and channel is read, and what could not be carried over, is remarked. A file that tabterm has
written has a track for each course, and is read with its courses.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import FormatError, ScoreError
from tabterm.formats import Reading, Remark
from tabterm.formats.smf.grid import TOLERANCE, fit
from tabterm.formats.smf.tracks import PERCUSSION, Contents, Sounding, contents
from tabterm.instrument import PRESETS
from tabterm.score.duration import EIGHTH
from tabterm.score.key import C_MAJOR, MODE_FIFTHS, Key
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import Event, Head, Note, Score
from tabterm.score.operations.timeline import rest_measure, splice
from tabterm.score.place import Place
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.model import Measure
    from tabterm.score.operations.timeline import Piece

_COURSE_TRACK = re.compile(r"^(.*), \S+ course$")
SOUNDING_PART = 0.6
"""A note that sounds for this part of the time to the next one lasts up to it; else a rest follows (common
practice, no source)."""

MOST_NOTES = 4

MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
"""How well each semitone over the tonic fits: probe-tone profiles of Krumhansl and Kessler 1982 (from memory)."""


@dataclass(frozen=True, slots=True)
class Line:
    """The notes that are read: each with its course where the file tells it, and the instrument."""

    notes: tuple[tuple[Sounding, int | None], ...]
    instrument: Instrument
    remarks: tuple[str, ...]


def read(data: bytes, *, track: int | None = None, channel: int | None = None) -> Reading:
    """The score of a MIDI file.

    Args:
        data: The file.
        track: Number of the track to read, from 1; the one with most notes where none is given.
        channel: Number of the channel, from 1; the one with most notes.

    Raises:
        FormatError: It is damaged, beyond all measure, or has no notes there.
    """
    file = contents(data)
    line = _choose(file, track, channel)
    remarks = list(line.remarks)
    fitted, moved = fit(note.start for note, _ in line.notes)
    if moved > TOLERANCE / 4.0:
        remarks.append(f"played freely: onsets were moved by {moved:.3f} quarters on average to fit a grid")
    if file.bends:
        remarks.append("pitch bends are left out")
    metres, pickup = _metres(file)
    start, pickup = _beginning(min(fitted.values()), metres[0][1], pickup)
    if start and not pickup:
        remarks.append(f"{start} quarters of silence at the beginning are left out")
    pieces = _pieces(line, fitted, start, remarks)
    key = _key(file, line, remarks)
    name = next((name for name in file.names.values() if name), "")
    title = "" if _COURSE_TRACK.match(name) else name[:200]
    head = Head(title=title, instrument=line.instrument, key=key, metre=metres[0][1], tempo=_tempo(file))
    score = _laid(head, metres, start, pickup, pieces)
    return Reading(score, tuple(Remark(0, 0, text) for text in remarks))


# Which line


def _choose(file: Contents, track: int | None, channel: int | None) -> Line:
    parts = {
        part: notes
        for part, notes in file.parts.items()
        if (track is None or part[0] == track - 1)
        and (channel is None or part[1] == channel - 1)
        and (part[1] != PERCUSSION or channel == PERCUSSION + 1)
    }
    if not parts:
        there = (
            ", ".join(f"track {number + 1} channel {each + 1}" for number, each in sorted(file.parts)) or "none"
        )
        raise FormatError("no notes to read", hint=f"notes are in: {there}")
    courses = [part for part in sorted(parts) if _COURSE_TRACK.match(file.names.get(part[0], ""))]
    if track is None and courses:
        return _own_file(file, courses)
    best = max(sorted(parts), key=lambda part: len(parts[part]))
    remarks = []
    if len(file.parts) > 1:
        others = ", ".join(
            f"track {number + 1} channel {each + 1} ({len(notes)} notes)"
            for (number, each), notes in sorted(file.parts.items())
            if (number, each) != best
        )
        remarks.append(f"track {best[0] + 1} channel {best[1] + 1} is read; there are also {others}")
    return Line(tuple((note, None) for note in parts[best]), PRESETS["mandolin"], tuple(remarks))


def _own_file(file: Contents, courses: list[tuple[int, int]]) -> Line:
    """A file with a track for each course: the channel is the course."""
    name = _COURSE_TRACK.match(file.names[courses[0][0]])
    named = [each for each in PRESETS.values() if name and each.name == name.group(1)]
    instrument = named[0] if named else PRESETS["mandolin"]
    notes = [
        (note, part[1] + 1 if instrument.course_count > part[1] else None)
        for part in courses
        for note in file.parts[part]
    ]
    return Line(tuple(sorted(notes, key=lambda each: each[0].start)), instrument, ())


# Time


def _metres(file: Contents) -> tuple[list[tuple[Fraction, Metre]], Fraction]:
    """Metres with where they begin, in quarters, and the length of a pickup that the file writes as a metre."""
    found: list[tuple[Fraction, Metre]] = []
    for at, count, unit in file.metres:
        try:
            metre = Metre.parse(f"{count}/{unit}")
        except ScoreError:
            continue
        place = Fraction(at).limit_denominator(64)
        if found and found[-1][0] == place:
            found.pop()
        if not found or found[-1][1] != metre:
            found.append((place, metre))
    if not found or found[0][0] > 0:
        found.insert(0, (Fraction(0), COMMON_TIME))
    if len(found) > 1 and found[1][0] == found[0][1].length < found[1][1].length:
        return [(Fraction(0), found[1][1]), *found[2:]], found[0][1].length
    return found, Fraction(0)


def _beginning(first: Fraction, metre: Metre, pickup: Fraction) -> tuple[Fraction, Fraction]:
    """Quarters that are left out at the beginning, and the length of the pickup: silence is no music."""
    if pickup:
        return Fraction(0), pickup
    whole = first // metre.length * metre.length
    lead = first - whole
    if lead >= metre.length / 2:
        beat = max((each for each in metre.beats if each <= lead), default=Fraction(0))
        lead = beat if lead - beat < Fraction(1, 8) else lead
        return whole + lead, metre.length - lead
    return whole, Fraction(0)


def _tempo(file: Contents) -> Tempo:
    """The first tempo; 120 quarters where the file tells none (Standard MIDI Files 1.0)."""
    per_minute = 60e6 / file.tempos[0][1] if file.tempos else 120.0
    return Tempo(round(min(max(per_minute, SLOWEST), FASTEST), 2))


def _laid(
    head: Head, metres: list[tuple[Fraction, Metre]], start: Fraction, pickup: Fraction, pieces: list[Piece]
) -> Score:
    """The pieces in measures of these metres."""
    length = sum((each[1] for each in pieces), Fraction(0))
    measures: list[Measure] = []
    at, metre = Fraction(0), head.metre
    changes = [(place - start, each) for place, each in metres[1:]]
    while at < length or not measures:
        changed = None
        while changes and changes[0][0] <= at:
            changed = changes.pop(0)[1]
        if changed is not None and changed != metre:
            metre = changed
        else:
            changed = None
        if not measures and pickup:
            rests = rest_measure(Metre.parse(f"{(pickup / Fraction(1, 8)).numerator}/32")).events
            if (pickup / Fraction(1, 8)).denominator == 1:
                measures.append(rest_measure(metre).with_(events=rests, short=True))
                at += pickup
                continue
        measures.append(rest_measure(metre).with_(metre=changed if measures else None))
        at += metre.length
    return splice(Score(head=head, measures=tuple(measures)), Place(0), pieces)


# Notes


def _pieces(line: Line, fitted: dict[float, Fraction], start: Fraction, remarks: list[str]) -> list[Piece]:
    """Events and rests one after the other, from the beginning of the music on."""
    groups: dict[Fraction, list[tuple[Sounding, int | None]]] = {}
    for note, course in line.notes:
        groups.setdefault(fitted[note.start] - start, []).append((note, course))
    onsets = sorted(groups)
    pieces: list[Piece] = []
    at = Fraction(0)
    lost = Lost()
    for number, onset in enumerate(onsets):
        if onset > at:
            pieces.append((None, onset - at))
        group = groups[onset]
        longest = max(note.end - note.start for note, _ in group)
        following = onsets[number + 1] if number + 1 < len(onsets) else None
        length = _length(longest, None if following is None else following - onset)
        notes = _on_neck(line.instrument, group, lost)
        pieces.append((Event(duration=EIGHTH, notes=notes) if notes else None, length))
        at = onset + length
    remarks.extend(lost.words())
    return pieces


def _length(sounding: float, room: Fraction | None) -> Fraction:
    """Quarters that an event lasts: up to the next one, or as long as it sounds on a grid of sixteenths."""
    own = max(Fraction(round(sounding * 4), 4), Fraction(1, 4))
    if room is None:
        return own
    return room if sounding >= SOUNDING_PART * float(room) or own >= room else own


@dataclass
class Lost:
    """What did not fit the neck."""

    moved: int = 0
    dropped: int = 0

    def words(self) -> list[str]:
        """As remarks."""
        words = [f"{self.moved} notes beyond the neck were moved by octaves"] if self.moved else []
        return words + ([f"{self.dropped} notes that found no course were left out"] if self.dropped else [])


def _on_neck(instrument: Instrument, group: list[tuple[Sounding, int | None]], lost: Lost) -> tuple[Note, ...]:
    """Notes on different courses, the highest first; each on the lowest fret that is free."""
    told = {course: note.pitch for note, course in group if course is not None}
    if told:
        pairs = [(course, pitch - instrument.courses[course - 1].pitch) for course, pitch in sorted(told.items())]
        if all(0 <= fret <= instrument.frets for _, fret in pairs):
            return tuple(Note(course=course, fret=fret) for course, fret in pairs)
    lowest = min(course.pitch for course in instrument.courses)
    highest = max(course.pitch for course in instrument.courses) + instrument.frets
    pitches = sorted({_within(note.pitch, lowest, highest, lost) for note, _ in group}, reverse=True)
    notes: list[Note] = []
    for pitch in pitches:
        above = notes[-1].course if notes else 0
        places = [place for place in instrument.places_of(pitch) if place[0] > above]
        if not places or len(notes) == MOST_NOTES:
            lost.dropped += 1
            continue
        course, fret = places[0]
        notes.append(Note(course=course, fret=fret))
    return tuple(notes)


def _within(pitch: int, lowest: int, highest: int, lost: Lost) -> int:
    if lowest <= pitch <= highest:
        return pitch
    lost.moved += 1
    while pitch < lowest:
        pitch += 12
    while pitch > highest:
        pitch -= 12
    return max(pitch, lowest)


# Key


def _key(file: Contents, line: Line, remarks: list[str]) -> Key:
    for _, name in file.keys:
        try:
            return Key.parse(name)
        except ScoreError:
            continue
    key = estimate(line)
    remarks.append(f"the key is taken to be {key}")
    return key


def estimate(line: Line) -> Key:
    """The key whose profile fits the time that each pitch class sounds best; C where nothing tells."""
    weights = [0.0] * 12
    for note, _ in line.notes:
        weights[note.pitch % 12] += min(note.end - note.start, 4.0)
    best, best_fit = C_MAJOR, -2.0
    for mode, profile in (("major", MAJOR), ("minor", MINOR)):
        for name in ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"):
            key = Key.parse(name if mode == "major" else f"{name} {mode}")
            turned = [profile[(pitch_class - key.tonic) % 12] for pitch_class in range(12)]
            fit_ = _correlation(weights, turned)
            if fit_ > best_fit + 1e-9 and abs(key.fifths) <= 7 and mode in MODE_FIFTHS:
                best, best_fit = key, fit_
    return best


def _correlation(one: list[float], other: list[float]) -> float:
    mean_one, mean_other = sum(one) / 12.0, sum(other) / 12.0
    top = sum((a - mean_one) * (b - mean_other) for a, b in zip(one, other, strict=True))
    squares = sum((a - mean_one) ** 2 for a in one) * sum((b - mean_other) ** 2 for b in other)
    return top / squares**0.5 if squares > 0 else -1.0
