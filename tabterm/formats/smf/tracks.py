"""The notes, tempos, metres and keys of a MIDI file, in quarters from its beginning."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import field
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import FormatError
from tabterm.formats.smf.chunks import META, MOST_EVENTS, events_of, header_of, tracks_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.formats.smf.chunks import Header

MOST_NOTES = 200_000
LONGEST_QUARTERS = 10_000
MOST_MEASURES = 3_000
PERCUSSION = 9
CENTRE = 0x2000
"""A pitch wheel at rest."""

USUAL_TEMPO = 500_000
"""Microseconds of a quarter where the file tells none: 120 quarters a minute (Standard MIDI Files 1.0)."""

NAME, TEMPO, METRE, KEY = 0x03, 0x51, 0x58, 0x59

MidiPart = tuple[int, int]
"""Track and channel, both counted from 0."""


@dataclass(frozen=True, slots=True)
class Strike:
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
        keys: (quarters, sharps or (negative) flats, minor).
        bends: There are pitch bends.
    """

    parts: dict[MidiPart, list[Strike]] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)
    tempos: list[tuple[float, int]] = field(default_factory=list)
    metres: list[tuple[float, int, int]] = field(default_factory=list)
    keys: list[tuple[float, int, bool]] = field(default_factory=list)
    bends: bool = False


@dataclass
class _Raw:
    """The same in ticks."""

    notes: dict[MidiPart, list[tuple[int, int, int]]] = field(default_factory=lambda: defaultdict(list))
    metas: list[tuple[int, int, bytes]] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)
    bends: bool = False
    events: int = 0


def contents(data: bytes) -> Contents:
    """Take a file apart.

    Raises:
        FormatError: It is no MIDI file, is cut short or corrupt, of type 2, or beyond all measure.
    """
    header = header_of(data)
    raw = _Raw()
    for number, track in enumerate(tracks_of(data, header)):
        _take_track(raw, number, track)
    raw.metas.sort(key=lambda meta: meta[0])
    quarters = _clock(
        header, [(tick, int.from_bytes(body, "big")) for tick, what, body in raw.metas if what == TEMPO]
    )
    found = Contents(names=raw.names, bends=raw.bends)
    for part, notes in raw.notes.items():
        made = [Strike(quarters(start), quarters(end), pitch) for start, end, pitch in notes]
        found.parts[part] = sorted(made, key=lambda note: (note.start, -note.pitch))
    for tick, what, body in raw.metas:
        at = quarters(tick)
        if what == TEMPO:
            found.tempos.append((at, int.from_bytes(body, "big")))
        elif what == METRE:
            found.metres.append((at, body[0], 1 << body[1]))
        elif what == KEY:
            found.keys.append((at, body[0] - 256 if body[0] > 127 else body[0], body[1] == 1))
    ends = (note.end for notes in found.parts.values() for note in notes)
    if max(ends, default=0.0) > LONGEST_QUARTERS:
        raise beyond_measure()
    return found


def _clock(header: Header, tempos: Sequence[tuple[int, int]]) -> Callable[[int], float]:
    """From ticks to quarters; in SMPTE time, where ticks are parts of a second, by the tempos."""
    if header.ticks_per_quarter is not None:
        division = header.ticks_per_quarter
        return lambda tick: tick / division
    per_us = (header.ticks_per_s or 1.0) / 1e6
    changes = [(0, USUAL_TEMPO), *tempos]
    lengths = [(after - tick) / (tempo * per_us) for (tick, tempo), (after, _) in pairwise(changes)]
    starts = list(accumulate(lengths, initial=0.0))
    ticks = [tick for tick, _ in changes]

    def quarters(tick: int) -> float:
        number = bisect_right(ticks, tick) - 1
        return starts[number] + (tick - ticks[number]) / (changes[number][1] * per_us)

    return quarters


SIZES = {TEMPO: 3, METRE: 2, KEY: 2}
"""Meta events that are kept, and how many bytes they have at least."""


def _take_track(raw: _Raw, number: int, track: bytes) -> None:
    held: dict[tuple[int, int], list[int]] = defaultdict(list)
    tick = 0
    for tick, status, what, body in events_of(track, number):
        raw.events += 1
        if raw.events > MOST_EVENTS:
            raise beyond_measure()
        kind, channel = status & 0xF0, status & 0x0F
        if kind == 0x90 and body and body[0]:
            held[channel, what].append(tick)
        elif kind in {0x80, 0x90}:
            starts = held[channel, what]
            if starts:
                raw.notes[number, channel].append((starts.pop(0), tick, what))
        elif kind == 0xE0:
            raw.bends = raw.bends or (body[0] << 7 | what if body else CENTRE) != CENTRE
        elif status == META and what == NAME:
            raw.names.setdefault(number, _text(body).strip())
        elif status == META and len(body) >= SIZES.get(what, 1 << 30) and _sensible(what, body):
            raw.metas.append((tick, what, body))
    for (channel, pitch), starts in held.items():
        for start in starts:
            raw.notes[number, channel].append((start, tick, pitch))
    if sum(map(len, raw.notes.values())) > MOST_NOTES:
        raise beyond_measure()


def _sensible(what: int, body: bytes) -> bool:
    """Whether a tempo, metre or key is one at all."""
    if what == TEMPO:
        return any(body[:3]) and len(body) == 3
    return bool(body[0]) and body[1] <= 6 if what == METRE else True


def _text(body: bytes) -> str:
    """A name as text: UTF-8 where it is that, else Latin-1, which has every byte."""
    try:
        return body.decode()
    except UnicodeDecodeError:
        return body.decode("latin-1")


def beyond_measure() -> FormatError:
    """The error for a file that no solo would fill."""
    return FormatError(
        "the MIDI file is too large",
        hint=f"at most {MOST_NOTES} notes, {MOST_MEASURES} measures and {LONGEST_QUARTERS} quarters",
    )
