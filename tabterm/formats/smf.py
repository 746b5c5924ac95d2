"""Standard MIDI Files, type 1: a conductor track, then a track for each course.

The notes are those of the performance: repeats unrolled, swing, slurs, bends and all. Text is transliterated
to ASCII, which is all that the file standard promises.
"""

from __future__ import annotations

import io
import unicodedata
from typing import TYPE_CHECKING

import mido

from tabterm.performance import perform
from tabterm.performance.midi import channel_of
from tabterm.score.key import MODE_FIFTHS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.model import Score

TICKS_PER_QUARTER = 480
"""Exact for triplets and quintuplets; septuplets are rounded to the nearest tick."""

MICROSECONDS_A_MINUTE = 60_000_000
METRE_UNITS = 256
"""The file format holds upper figures up to 255."""

_KEY_NAMES = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR_NAMES = (
    "Abm",
    "Ebm",
    "Bbm",
    "Fm",
    "Cm",
    "Gm",
    "Dm",
    "Am",
    "Em",
    "Bm",
    "F#m",
    "C#m",
    "G#m",
    "D#m",
    "A#m",
)

Timed = tuple[int, mido.Message | mido.MetaMessage]


def write(score: Score) -> bytes:
    """A score as the bytes of a MIDI file; equal scores give equal bytes."""
    performance = perform(score)
    played = performance.measures
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset="ascii")
    file.tracks.append(_track(score.head.title or "tabterm", _conductor(score, played)))
    clock = _Clock(played)
    letters = score.head.instrument.course_letters()
    for course, letter in enumerate(letters, 1):
        messages: list[Timed] = [
            (0, mido.Message.from_bytes(data))
            for data in performance.setup
            if data[0] & 0x0F == channel_of(course)
        ]
        messages += [
            (clock.ticks(message.time_s), mido.Message.from_bytes(message.data))
            for message in performance.messages
            if message.data[0] & 0x0F == channel_of(course)
        ]
        file.tracks.append(_track(f"course {letter}", messages))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


class _Clock:
    """Seconds of a performance as ticks."""

    def __init__(self, played: Sequence[PlayedMeasure]) -> None:
        self._starts: list[tuple[float, float, float]] = []
        at = 0.0
        for measure in played:
            self._starts.append((measure.start_s, at, measure.quarter_s))
            at += float(measure.high - measure.low)
        self._number = 0

    def ticks(self, time_s: float) -> int:
        """Ticks of a time; times must not go back."""
        while self._number + 1 < len(self._starts) and self._starts[self._number + 1][0] <= time_s + 1e-9:
            self._number += 1
        start_s, quarters, quarter_s = self._starts[self._number]
        return round((quarters + (time_s - start_s) / quarter_s) * TICKS_PER_QUARTER)


def _conductor(score: Score, played: Sequence[PlayedMeasure]) -> list[Timed]:
    """Tempo, metre, key, sections and chord symbols."""
    messages: list[Timed] = []
    last: dict[str, object] = {}
    at = 0.0
    for measure in played:
        ticks = round(at * TICKS_PER_QUARTER)
        messages += [(ticks, meta) for meta in _changes(score, measure.index, last)]
        marks = score.measures[measure.index]
        if marks.section:
            messages.append((ticks, mido.MetaMessage("marker", text=_ascii(marks.section))))
        for mark in marks.chords:
            when = round((at + float(mark.offset)) * TICKS_PER_QUARTER)
            messages.append((when, mido.MetaMessage("text", text=_ascii(mark.symbol))))
        at += float(measure.high - measure.low)
    messages.sort(key=lambda message: message[0])
    return messages


def _changes(score: Score, index: int, last: dict[str, object]) -> Iterable[mido.MetaMessage]:
    tempo, metre, key = score.tempos[index], score.metres[index], score.keys[index]
    if last.get("metre") != metre and metre.count < METRE_UNITS:
        last["metre"] = metre
        yield mido.MetaMessage("time_signature", numerator=metre.count, denominator=metre.unit)
    if last.get("key") != key:
        last["key"] = key
        minor = MODE_FIFTHS[key.mode] == MODE_FIFTHS["minor"]
        number = min(max(key.fifths, -7), 7) + 7
        yield mido.MetaMessage("key_signature", key=(_MINOR_NAMES if minor else _KEY_NAMES)[number])
    if last.get("tempo") != tempo:
        last["tempo"] = tempo
        yield mido.MetaMessage("set_tempo", tempo=round(MICROSECONDS_A_MINUTE / tempo.quarters_per_minute))


def _track(name: str, messages: Iterable[Timed]) -> mido.MidiTrack:
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=_ascii(name))])
    before = 0
    for ticks, message in messages:
        track.append(message.copy(time=max(ticks - before, 0)))
        before = max(ticks, before)
    return track


def _ascii(text: str) -> str:
    """Text in ASCII: accents dropped, music signs spelled, anything else a question mark."""
    spelled = text.replace("♯", "#").replace("♭", "b").replace("°", "dim").replace("ø", "m7b5").replace("Δ", "maj")
    plain = unicodedata.normalize("NFKD", spelled)
    return "".join(c for c in plain if not unicodedata.combining(c)).encode("ascii", "replace").decode()
