"""The bytes of a MIDI file as events: chunks, long numbers, running status (Standard MIDI Files 1.0).

Files are written with mido, but not read with it: its release 1.3 refuses a file with a chunk of another kind,
which the standard asks to pass over, or with one key signature or data byte out of range; takes SMPTE time for a
negative number of ticks; and spends four times as long on the events of a file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_EVENTS = 1_000_000
"""Files with more are refused before they take all memory and patience."""

META, SYSEX, SYSEX_ON = 0xFF, 0xF0, 0xF7
END_OF_TRACK = 0x2F
TWO_BYTES = frozenset({0x80, 0x90, 0xA0, 0xB0, 0xE0})
ONE_BYTE = frozenset({0xC0, 0xD0})

NTSC_FRAMES = 30_000 / 1001
"""Frames a second of SMPTE format 29, "30 drop frame"."""


@dataclass(frozen=True, slots=True)
class Header:
    """The first chunk.

    Attributes:
        kind: 0, 1 or 2.
        tracks: How many there are to be.
        ticks_per_quarter: Ticks in a quarter; None in SMPTE time.
        ticks_per_s: Ticks in a second of SMPTE time; None else.
    """

    kind: int
    tracks: int
    ticks_per_quarter: int | None
    ticks_per_s: float | None


RawEvent = tuple[int, int, int, bytes]
"""Tick, status byte, type of a meta event or first data byte, and the bytes behind it."""


def header_of(data: bytes) -> Header:
    """The header; raises FormatError where it is none."""
    if data[:4] != b"MThd" or len(data) < 14:
        raise FormatError("not a MIDI file: it does not begin with MThd", hint="check the file's extension")
    kind, tracks = int.from_bytes(data[8:10], "big"), int.from_bytes(data[10:12], "big")
    high, low = data[12], data[13]
    if kind == 2:
        raise FormatError("a MIDI file of type 2 (separate patterns)", hint="export as type 1")
    if kind > 2:
        raise FormatError(f"a MIDI file of unknown type {kind}", hint="export as type 1")
    if not high & 0x80:
        ticks = high << 8 | low
        if not ticks:
            raise FormatError("a MIDI file whose quarter has no ticks", hint="export it again")
        return Header(kind, tracks, ticks, None)
    frames = 256 - high
    if frames not in {24, 25, 29, 30} or not low:
        raise FormatError(
            f"a MIDI file in an unknown time code ({frames} frames a second)", hint="export it again"
        )
    return Header(kind, tracks, None, (NTSC_FRAMES if frames == 29 else frames) * low)


def tracks_of(data: bytes, header: Header) -> list[bytes]:
    """The bytes of each track; chunks of other kinds are passed over, as the standard asks.

    Raises:
        FormatError: The file ends before the last track does.
    """
    at = 8 + int.from_bytes(data[4:8], "big")
    tracks: list[bytes] = []
    while at + 8 <= len(data) and len(tracks) < header.tracks:
        size = int.from_bytes(data[at + 4 : at + 8], "big")
        if data[at : at + 4] == b"MTrk":
            if at + 8 + size > len(data):
                raise _cut_short(len(tracks))
            tracks.append(data[at + 8 : at + 8 + size])
        at += 8 + size
    if len(tracks) < header.tracks:
        raise _cut_short(len(tracks))
    return tracks


def _cut_short(number: int) -> FormatError:
    return FormatError(f"a damaged MIDI file: it is cut short in track {number + 1}", hint="export it again")


def events_of(track: bytes, number: int) -> Iterator[RawEvent]:
    """The events of a track up to its end.

    Raises:
        FormatError: They make no sense; `number` (from 0) and the byte say where.
    """
    at, tick, status, running, size = 0, 0, 0, 0, len(track)
    try:
        while at < size:
            byte = track[at]
            at += 1
            delta = byte & 0x7F
            while byte & 0x80:
                byte = track[at]
                at += 1
                delta = delta << 7 | byte & 0x7F
            tick += delta
            byte = track[at]
            if byte & 0x80:
                status = byte
                at += 1
            kind = status & 0xF0
            running = status if kind < 0xF0 else running
            if kind in TWO_BYTES:
                yield tick, status, track[at] & 0x7F, track[at + 1 : at + 2]
                at += 2
            elif kind in ONE_BYTE:
                yield tick, status, track[at] & 0x7F, b""
                at += 1
            elif status in {META, SYSEX, SYSEX_ON} and byte & 0x80:
                what = track[at] if status == META else 0
                at += status == META
                length, at = _length(track, at)
                if what == END_OF_TRACK:
                    return
                yield tick, status, what, track[at : at + length]
                at += length
                status = running  # many files go on with it, though the standard would not
            else:
                raise _damaged(number, at, f"byte {byte:02X} does not begin an event")
    except IndexError:
        raise _damaged(number, at, "it ends inside an event") from None


def _length(track: bytes, at: int) -> tuple[int, int]:
    """A length and where what has it begins; raises IndexError where the track ends before that does."""
    value = 0
    while True:
        byte = track[at]
        at += 1
        value = value << 7 | byte & 0x7F
        if not byte & 0x80:
            break
    if at + value > len(track):
        raise IndexError
    return value, at


def _damaged(number: int, at: int, why: str) -> FormatError:
    return FormatError(
        f"a damaged MIDI file: {why}", place=f"track {number + 1}, byte {at + 1}", hint="export it again"
    )
