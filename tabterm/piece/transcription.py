"""From a recording to a score: what the ear hears, on the beats that it finds, fitted to the neck; a proposal."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.smf.grid import USUAL
from tabterm.formats.smf.reader import reading_of
from tabterm.formats.smf.tracks import Contents, Strike
from tabterm.instrument.model import pitch_name
from tabterm.instrument.presets import preset
from tabterm.piece import backing
from tabterm.piece.intake import fitted_to
from tabterm.piece.piece import Piece
from tabterm.piece.proposing import as_played, strays
from tabterm.printable import counted
from tabterm.score.line import Line
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.place import Place
from tabterm.score.report import Kind, Remark

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

    from tabterm.hand.player import Player
    from tabterm.recording.beats import Beats
    from tabterm.recording.chords import BeatChord
    from tabterm.recording.ear import HeardNote
    from tabterm.score.line import Moment

LONGEST_S = 600.0
"""Seconds that are listened to at once: the sound of longer ones takes over 50 MB; tuned here."""

SURE = 0.9
"""Likelihood under which a note is named in the report, with what else it could be; tuned here."""

MOST_REST = Fraction(3, 4)
"""Quarters of silence with which a first measure begins as a rest, where its downbeat is not told; after a quarter
or more of it, the solo begins with a pickup (common practice, no source)."""

TOLD_CENTS = 3.0
"""Off A4 = 440 Hz, from which on the report says so: what the estimate is good for."""

SHORTEST_S = 1.0
"""Of a passage: with less there are no beats; tuned here."""


@dataclass(frozen=True, slots=True)
class Passage:
    """What was heard in a part of a recording.

    Attributes:
        path: The recording.
        notes: By onset, in seconds of the recording.
        beats: The beats, and where measures begin.
        told: The player has said where a measure begins.
        cents: How much higher than A4 = 440 Hz the recording is tuned.
        chords: The chord of each beat but the last.
    """

    path: Path
    notes: tuple[HeardNote, ...]
    beats: Beats
    told: bool = False
    cents: float = 0.0
    chords: tuple[BeatChord, ...] = ()


def heard(
    path: Path,
    *,
    start_s: float = 0.0,
    end_s: float | None = None,
    bpm: float | None = None,
    metre: Metre = COMMON_TIME,
    downbeat_s: float | None = None,
    taps_s: Sequence[float] = (),
    cents: float | None = None,
    progress: Callable[[float], bool] | None = None,
) -> Passage:
    """Listen to a part of a recording.

    Args:
        path: WAV, FLAC, Ogg Vorbis, MP3 or AIFF.
        start_s: Where the part begins.
        end_s: Where it ends; None for the end of the recording.
        bpm: Beats a minute, where they are known.
        metre: What its measures are in.
        downbeat_s: A moment of the recording at which a measure begins, where it is known.
        taps_s: Moments of the recording that were tapped as beats, the first of a measure first.
        cents: How much higher than A4 = 440 Hz it is tuned; None: as it seems to be.
        progress: Told the share done, 0 to 1; stops the work by answering False.

    Raises:
        FormatError: It is no recording, or there is no such part, or one too short or long.
        StorageError: It cannot be opened.
    """
    from tabterm.recording.audio import Recording
    from tabterm.recording.listening import Listening

    recording = Recording.opened(path)
    asked_s = recording.length_s if end_s is None else end_s
    end_s = min(recording.length_s, asked_s)
    if not 0 <= start_s <= end_s - SHORTEST_S:
        there = f"the recording is {recording.length_s:.1f} s long; choose at least one second"
        raise FormatError(f"no such part: {start_s:g} to {asked_s:.4g} s", place=str(path), hint=there)
    if end_s - start_s > LONGEST_S:
        raise FormatError(
            f"{end_s - start_s:.0f} s is too much to listen to at once",
            place=str(path),
            hint=f"choose a part of at most {LONGEST_S:.0f} s",
        )
    part = Listening.to(recording, start_s, end_s, cents=cents)
    beats = part.beats(metre, bpm=bpm, downbeat_s=downbeat_s, taps_s=taps_s)
    chords = tuple(part.chords(beats))
    told = bool(taps_s) or downbeat_s is not None
    return Passage(path, part.notes(progress), beats, told, part.cents, chords)


def transcribed(
    passage: Passage,
    player: Player,
    *,
    instrument: str | None = None,
    key: str | None = None,
    grid: str = USUAL,
    pickup: str | None = None,
) -> Piece:
    """A passage as a piece: its notes in measures as the source row, and fitted to the neck.

    Args:
        passage: What was heard.
        player: Whose hands it is for.
        instrument: What it is fitted to; a mandolin.
        key: The key it is fitted in; that which it is in.
        grid: Note values that onsets are put on, such as `16+8t`.
        pickup: Quarters before the first whole measure; estimated where none is given.

    Raises:
        FormatError: Nothing was heard; no such grid or pickup.
        ScoreError: No such instrument or key.
    """
    if not passage.notes:
        raise FormatError("no notes were heard", place=str(passage.path), hint="choose another part")
    near = strays((note.pitch for note in passage.notes), preset(instrument or "mandolin"))
    passage = replace(passage, notes=tuple(_on_the_neck(note, near) for note in passage.notes))
    beats = passage.beats
    onsets = [beats.quarters_at(note.onset_s) for note in passage.notes]
    length = float(beats.metre.length)
    earlier = -min(0.0, (min(onsets) + length / 8) // length * length)
    strikes = [
        Strike(onset + earlier, max(beats.quarters_at(note.end_s) + earlier, onset + earlier + 0.05), note.pitch)
        for onset, note in zip(onsets, passage.notes, strict=True)
    ]
    strikes[-1] = replace(strikes[-1], end=min(strikes[-1].end, (strikes[-1].start // length + 1) * length))
    a_beat = length / len(beats.metre.beats)
    contents = Contents(
        parts={(0, 0): strikes},
        names={0: passage.path.stem},
        tempos=[(0.0, round(60_000_000 / (round(beats.bpm) * a_beat)))],
        metres=[(0.0, beats.metre.count, beats.metre.unit)],
    )
    is_near = passage.told and -length < min(onsets) < 0
    reading = reading_of(contents, grid=grid, pickup=pickup, most_rest=Fraction(0) if is_near else MOST_REST)
    if not isinstance(reading.music, Line):
        raise TypeError("what was heard has no courses")
    line = _with_chords(_played(reading.music, passage, onsets), passage, min(onsets))
    fitted = fitted_to(line, player, instrument=instrument, key=key)
    unsure = tuple(_unsure(passage, onsets, line))
    summary = replace(
        fitted.report,
        remarks=(*_told(passage), *_moved(near), *reading.report.remarks, *unsure, *fitted.report.remarks),
    )
    return Piece(fitted.score, player, summary)


def _on_the_neck(note: HeardNote, near: Mapping[int, int]) -> HeardNote:
    pitch = near.get(note.pitch, note.pitch)
    return (
        note
        if pitch == note.pitch
        else note._replace(pitch=pitch, others=tuple(each for each in note.others if each != pitch))
    )


def _moved(near: Mapping[int, int]) -> Iterator[Remark]:
    if near:
        names = ", ".join(f"{pitch_name(pitch)} as {pitch_name(to)}" for pitch, to in sorted(near.items()))
        yield Remark(Kind.MOVED, f"notes off the neck were moved by octaves: {names}")


def _with_chords(line: Line, passage: Passage, first: float) -> Line:
    """The line with the chords of the band; `first` is where its first note was heard, in quarters."""
    if not backing.is_heard(passage.chords):
        return line
    lengths = [sum((event.length for event in each.events), Fraction(0)) for each in line.measures]
    bar, length = lengths[0] if line.measures[0].short else Fraction(0), float(passage.beats.metre.length)
    downbeat = round((first - float(_begins(line) - bar)) / length) * length
    count = range(len(passage.chords))
    quarters = [passage.beats.quarters_of(beat - passage.beats.first) - downbeat + float(bar) for beat in count]
    marks = backing.marks(list(backing.changes(passage.chords, quarters)), lengths)
    bars = (each.with_(chords=chords) for each, chords in zip(line.measures, marks, strict=True))
    return line.with_(measures=tuple(bars))


def _begins(line: Line) -> Fraction:
    """Quarters of rest before the first note of a line."""
    at = Fraction(0)
    for moment in (moment for bar in line.measures for moment in bar.events):
        if moment.notes:
            break
        at += moment.length
    return at


def _told(passage: Passage) -> Iterator[Remark]:
    beats = passage.beats
    first = beats.moments_s[beats.first]
    yield Remark(
        Kind.GUESSED,
        f"heard {counted(len(passage.notes), 'note')} at {beats.bpm:.0f} beats a minute in {beats.metre}, with a "
        f"bar line at {first:.2f} s; all of them are proposals: check them by ear",
    )
    if abs(passage.cents) >= TOLD_CENTS:
        tuned = f"{abs(passage.cents):.0f} cents {'above' if passage.cents > 0 else 'below'} A4 = 440 Hz"
        yield Remark(Kind.GUESSED, f"the recording is tuned {tuned}, which was allowed for")


def _played(line: Line, passage: Passage, onsets: list[float]) -> Line:
    """The line with the slurs, slides and bends that were heard."""
    bars = [list(bar.events) for bar in line.measures]
    before: Moment | None = None
    ways = {(place, note.pitch): note for note, place in _placed(line, passage, onsets)}
    for index, bar in enumerate(line.measures):
        offset = Fraction(0)
        for number, moment in enumerate(bar.events):
            tones = []
            for tone in moment.notes:
                note = None if tone.tied else ways.get((Place(index, offset), tone.pitch))
                from_pitches = () if before is None else before.pitches
                tones.append(tone if note is None else as_played(tone, note, from_pitches))
            bars[index][number] = moment.with_(notes=tuple(tones))
            offset, before = offset + moment.length, moment
    return line.with_(
        measures=tuple(bar.with_(events=tuple(new)) for bar, new in zip(line.measures, bars, strict=True))
    )


def _placed(line: Line, passage: Passage, onsets: list[float]) -> Iterator[tuple[HeardNote, Place]]:
    """The notes that were heard, and where each stands in the line."""
    first, struck, at = min(onsets), [], 0.0
    for index, bar in enumerate(line.measures):
        offset = Fraction(0)
        for moment in bar.events:
            struck += [
                (at + float(offset), Place(index, offset), tone.pitch) for tone in moment.notes if not tone.tied
            ]
            offset += moment.length
        at += float(offset)
    begins = min((each[0] for each in struck), default=0.0)
    for note, onset in zip(passage.notes, onsets, strict=True):
        there = [each for each in struck if each[2] == note.pitch]
        if there:
            yield note, min(there, key=lambda each: abs(each[0] - begins - onset + first))[1]


def _unsure(passage: Passage, onsets: list[float], line: Line) -> Iterator[Remark]:
    """The notes that are not sure, at their places, with what else each could be."""
    for note, place in _placed(line, passage, onsets):
        if note.sure < SURE:
            others = " or ".join(pitch_name(other) for other in note.others)
            yield Remark(
                Kind.GUESSED, f"{pitch_name(note.pitch)} ({note.sure:.0%} sure): or {others}", place=place
            )
