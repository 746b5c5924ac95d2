"""The notes, tempos, metres and keys of a MIDI file, in quarters from its beginning."""

from __future__ import annotations

import io
from collections import defaultdict
from dataclasses import dataclass, field

import mido
from mido.midifiles.meta import KeySignatureError

from tabterm.errors import FormatError

DAMAGE = (EOFError, OSError, ValueError, IndexError, KeyError, TypeError, AttributeError, KeySignatureError)
"""What the library raises for files that are cut short or corrupt."""

MOST_NOTES = 200_000
LONGEST_QUARTERS = 20_000
PERCUSSION = 9

Part = tuple[int, int]
"""Track and channel, both counted from 0."""


@dataclass(frozen=True, slots=True)
class Sounding:
    """A note as the file has it: start and end in quarters, and MIDI note number."""

    start: float
    end: float
    pitch: int


@dataclass
class Contents:
    """What a MIDI file holds.

    Attributes:
        parts: Notes of each track and channel, by start.
        names: Names of the tracks.
        tempos: (quarters, microseconds a quarter).
        metres: (quarters, upper, lower figure).
        keys: (quarters, name as mido spells it).
        bends: There are pitch bends.
    """

    parts: dict[Part, list[Sounding]] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)
    tempos: list[tuple[float, int]] = field(default_factory=list)
    metres: list[tuple[float, int, int]] = field(default_factory=list)
    keys: list[tuple[float, str]] = field(default_factory=list)
    bends: bool = False


def contents(data: bytes) -> Contents:
    """Take a file apart.

    Raises:
        FormatError: It is no MIDI file, is cut short or corrupt, of type 2, or beyond all measure.
    """
    if data[:4] != b"MThd" or len(data) < 14:
        raise FormatError("not a MIDI file: it does not begin with MThd", hint="check the file's ending")
    quarter = _ticks_per_quarter(data)
    try:
        file = mido.MidiFile(file=io.BytesIO(data), clip=True)
    except DAMAGE as error:
        reason = str(error) or "it ends too early"
        raise FormatError(f"a damaged MIDI file: {reason}", hint="export it anew") from None
    if file.type == 2:
        raise FormatError("a MIDI file of type 2 (patterns that do not belong together)", hint="export as type 1")
    found = Contents()
    for number, track in enumerate(file.tracks):
        _take_track(found, number, track, quarter)
    notes = [note for part in found.parts.values() for note in part]
    if len(notes) > MOST_NOTES or max((note.end for note in notes), default=0.0) > LONGEST_QUARTERS:
        raise FormatError(
            "a MIDI file beyond all measure", hint=f"at most {MOST_NOTES} notes and {LONGEST_QUARTERS} quarters"
        )
    for events in (found.tempos, found.metres, found.keys):
        events.sort(key=lambda event: event[0])
    return found


def _ticks_per_quarter(data: bytes) -> float:
    """The division of the header: ticks a quarter or, in SMPTE time, those of half a second (a quarter at 120)."""
    high, low = data[12], data[13]
    if high & 0x80:
        frames = 256 - high
        ticks = frames * low * 0.5
    else:
        ticks = float(high << 8 | low)
    if not ticks:
        raise FormatError("a MIDI file whose quarter has no ticks", hint="export it anew")
    return ticks


def _take_track(found: Contents, number: int, track: mido.MidiTrack, quarter: float) -> None:
    ticks = 0
    held: dict[tuple[int, int], list[float]] = defaultdict(list)
    for message in track:
        ticks += message.time
        at = ticks / quarter
        if message.type == "note_on" and message.velocity:
            held[message.channel, message.note].append(at)
        elif message.type in {"note_off", "note_on"}:
            starts = held[message.channel, message.note]
            if starts:
                _add(found, (number, message.channel), Sounding(starts.pop(0), at, message.note))
        elif message.type == "pitchwheel" and message.pitch:
            found.bends = True
        elif message.type == "track_name":
            found.names.setdefault(number, message.name.strip())
        elif message.type == "set_tempo" and message.tempo:
            found.tempos.append((at, message.tempo))
        elif message.type == "time_signature" and message.numerator:
            found.metres.append((at, message.numerator, message.denominator))
        elif message.type == "key_signature":
            found.keys.append((at, message.key))
    for (channel, pitch), starts in held.items():
        for start in starts:
            _add(found, (number, channel), Sounding(start, ticks / quarter, pitch))
    for part in [part for part in found.parts if part[0] == number]:
        found.parts[part].sort(key=lambda note: (note.start, -note.pitch))


def _add(found: Contents, part: Part, note: Sounding) -> None:
    found.parts.setdefault(part, []).append(note)
