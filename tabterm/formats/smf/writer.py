"""Standard MIDI Files, type 1: a conductor track, then a track for each course and each part beside the solo.

The notes are those of the performance: repeats unrolled, swing, slurs, bends and all. Text is transliterated
to ASCII, which is all that the file standard promises. A file has what is heard, not how it is played or written.
"""

from __future__ import annotations

import io
import unicodedata
from bisect import bisect_right
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING

import mido

from tabterm.formats import Writing
from tabterm.performance import Options, Part, perform
from tabterm.performance.midi import CHANNELS, channel_of
from tabterm.score.key import MODE_FIFTHS
from tabterm.score.kinds import Barline, StrokeSchool
from tabterm.score.place import Place
from tabterm.score.report import Report, Reporter

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tabterm.performance import Performance
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import Event, Measure, Score
    from tabterm.score.place import Span


LARGEST_COUNT = 255
"""The upper figure of a time signature is one byte (Standard MIDI Files 1.0)."""


def signature_of(length: Fraction, metre: Metre) -> tuple[int, int]:
    """The time signature that makes the bar lines fall right: a pickup of a quarter is 1/4.

    It is that of the metre for a length that no signature has.
    """
    whole = length / 4
    unit = max(whole.denominator, metre.unit)
    count = whole * unit
    is_power = unit & (unit - 1) == 0
    return (int(count), unit) if is_power and count <= LARGEST_COUNT else (metre.count, metre.unit)


def _is_off_its_bar(length: Fraction, metre: Metre) -> bool:
    count, unit = signature_of(length, metre)
    return Fraction(4 * count, unit) != length


def _is_mode(key: Key) -> bool:
    return key.mode not in {"major", "minor"}


def _of_each(has: Callable[[Measure], bool], score: Score) -> Iterable[bool]:
    return map(has, score.measures)


def _fingers(event: Event) -> int:
    return sum(note.finger_shown is not None for note in (*event.notes, *event.grace))


OF_NOTES: dict[str, Callable[[Measure], int]] = {
    "fingers are left out": lambda measure: sum(map(_fingers, measure.events)),
    "strokes are left out": lambda measure: sum(event.stroke_shown is not None for event in measure.events),
    "chord symbols are not written; --chords plays them": lambda measure: len(measure.chords),
}
"""What is said of the whole, since it may stand at any note, and how often it stands in a measure."""


OF_MEASURES: dict[str, Callable[[Measure], bool]] = {
    "picking schools are left out": lambda measure: measure.school is not None,
    "repeats and endings are played out": lambda measure: (
        measure.repeat_start or measure.repeat_times > 0 or bool(measure.endings)
    ),
    "proposed chords are left out": lambda measure: bool(measure.heard_chords),
    "double bar lines are left out": lambda measure: measure.barline is Barline.DOUBLE,
    "names of sections are left out": lambda measure: bool(measure.section),
    "breaks of the printed sheet are left out": lambda measure: measure.break_before is not None,
    "remarks are left out": lambda measure: bool(measure.remark),
    "the original line is left out": lambda measure: bool(measure.source),
}
"""What is said, and of which measures."""


OF_SCORES: dict[str, Callable[[Score], Iterable[bool]]] = {
    **{message: partial(_of_each, has) for message, has in OF_MEASURES.items()},
    "modes are left out: the major key of their signature is written": lambda score: map(_is_mode, score.keys),
    "bar lines are off after a measure that no time signature fits": lambda score: map(
        _is_off_its_bar, (measure.length for measure in score.measures), score.metres
    ),
}
"""The same, and what depends on the measures before, for every measure of a score."""


def not_carried(score: Score, span: Span | None = None) -> Report:
    """What the file does not say of a score, or of a span of it.

    With the first measure of each; what stands at the notes, or in every measure, concerns the whole.
    """
    whole = range(len(score.measures))
    heard = whole if span is None else whole[span.start.measure : span.end.measure + bool(span.end.offset)]
    report = Reporter()
    head = score.head
    if head.credits:
        report.left_out("credits are left out")
    if head.foreword:
        report.left_out("the foreword is left out")
    if head.hand is not None:
        report.left_out("the hand of the score is left out")
    if head.school is not StrokeSchool.BEAT:
        report.left_out("the picking school is left out")
    for message, times in OF_NOTES.items():
        for _ in range(sum(times(score.measures[index]) for index in heard)):
            report.left_out(message)
    for message, told in OF_SCORES.items():
        found = [index for index, has in enumerate(told(score)) if has and index in heard]
        if len(found) == len(heard) > 1:
            report.left_out(message)
            continue
        for index in found:
            report.left_out(message, place=Place(index))
    return report.gathered()


TICKS_PER_QUARTER = 480
"""Exact for triplets and quintuplets to the 64th; a septuplet lies at the nearest tick, and none drifts."""

CLOCKS_PER_QUARTER = 24
LONGEST_QUARTER_US = 0xFF_FFFF
"""The file holds a tempo in three bytes; music slower than 3.6 quarters a minute is written at that."""

PART_NAMES = {Part.CHORDS: "Chords", Part.BASS: "Bass", Part.CLICK: "Click"}
"""Tracks behind those of the courses, each only where its part is heard."""

_MAJOR = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR = ("Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m", "A#m")
_SPELLED = str.maketrans(
    {"♯": "#", "♭": "b", "♮": "", "°": "dim", "ø": "m7b5", "Δ": "maj", "\u2013": "-", "\u2019": "'"}
)

Timed = tuple[int, mido.Message | mido.MetaMessage]


def write(score: Score, *, span: Span | None = None, options: Options | None = None) -> Writing:
    """A score, or a span of it, as a MIDI file, and what that does not carry; equal scores give equal bytes.

    Raises:
        ScoreError: The span is empty, or an option is out of range.
    """
    performance = perform(score, span=span, options=options or Options())
    clock = Clock(performance)
    end = clock.ticks(performance.duration_s)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_PER_QUARTER, charset="ascii")
    file.tracks.append(_track(score.head.title or "tabterm", _conductor(score, performance, clock), end))
    name = score.head.instrument.name
    for course, letter in enumerate(score.head.instrument.course_letters(), 1):
        messages = _channel(performance, clock, channel_of(course))
        file.tracks.append(_track(f"{name}, {letter} course", messages, end))
    for part, name in PART_NAMES.items():
        played = list(_channel(performance, clock, CHANNELS[part]))
        if played:
            file.tracks.append(_track(name, played, end))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return Writing(buffer.getvalue(), not_carried(score, span))


class Clock:
    """Seconds of a performance, and the starts of its measures, as ticks."""

    def __init__(self, performance: Performance) -> None:
        first = performance.measures[0]
        at = Fraction(round(performance.lead_s / first.quarter_s * TICKS_PER_QUARTER), TICKS_PER_QUARTER)
        self.starts: list[Fraction] = []
        for measure in performance.measures:
            self.starts.append(at)
            at += measure.quarters(measure.high)
        self._measures = performance.measures
        self._starts_s = [measure.start_s for measure in performance.measures]

    def ticks(self, time_s: float) -> int:
        """Ticks of a time; the count-in before the first measure goes in its tempo."""
        number = max(bisect_right(self._starts_s, time_s) - 1, 0)
        measure = self._measures[number]
        quarters = float(self.starts[number]) + (time_s - measure.start_s) / measure.quarter_s
        return max(round(quarters * TICKS_PER_QUARTER), 0)


def _channel(performance: Performance, clock: Clock, channel: int) -> Iterator[Timed]:
    """The messages of one channel, what sets it up first."""
    for data in performance.setup:
        if data[0] & 0x0F == channel:
            yield 0, mido.Message.from_bytes(data)
    for time_s, data in performance.messages:
        if data[0] & 0x0F == channel:
            yield clock.ticks(time_s), mido.Message.from_bytes(data)


def _conductor(score: Score, performance: Performance, clock: Clock) -> Iterator[Timed]:
    """Tempo, metre and key where they change, section marks, and chord symbols as text."""
    written: dict[str, list[int]] = {}
    for start, played in zip(clock.starts, performance.measures, strict=True):
        measure = score.measures[played.index]
        ticks = round(start * TICKS_PER_QUARTER)
        for message in (_metre(played, measure.length), _key(score.keys[played.index]), _tempo(played)):
            if written.get(message.type) != message.bytes():
                yield (ticks if message.type in written else 0), message
                written[message.type] = message.bytes()
        if measure.section and played.low == 0:
            yield ticks, mido.MetaMessage("marker", text=ascii_of(measure.section))
        for mark in measure.chords:
            if played.low <= mark.offset < played.high:
                at = round((start + played.quarters(mark.offset)) * TICKS_PER_QUARTER)
                yield at, mido.MetaMessage("text", text=ascii_of(mark.symbol))


def _metre(played: PlayedMeasure, length: Fraction) -> mido.MetaMessage:
    count, unit = signature_of(length, played.metre)
    _, _, beat = played.metre.beat_at(Fraction(0))
    clocks = min(round(beat * CLOCKS_PER_QUARTER), 255)
    return mido.MetaMessage("time_signature", numerator=count, denominator=unit, clocks_per_click=clocks)


def _key(key: Key) -> mido.MetaMessage:
    """The key signature; modes other than minor are written with the signature they have, as major."""
    names = _MINOR if MODE_FIFTHS[key.mode] == MODE_FIFTHS["minor"] else _MAJOR
    return mido.MetaMessage("key_signature", key=names[min(max(key.fifths, -7), 7) + 7])


def _tempo(played: PlayedMeasure) -> mido.MetaMessage:
    return mido.MetaMessage("set_tempo", tempo=min(round(played.quarter_s * 1e6), LONGEST_QUARTER_US))


def _track(name: str, messages: Iterable[Timed], end: int) -> mido.MidiTrack:
    track = mido.MidiTrack([mido.MetaMessage("track_name", name=ascii_of(name))])
    before = 0
    for ticks, message in messages:
        message.time = ticks - before
        track.append(message)
        before = ticks
    track.append(mido.MetaMessage("end_of_track", time=max(end - before, 0)))
    return track


def ascii_of(text: str) -> str:
    """Text in ASCII: accents dropped, music signs spelled, anything else a question mark."""
    plain = unicodedata.normalize("NFKD", text.translate(_SPELLED))
    return "".join(c for c in plain if not unicodedata.combining(c)).encode("ascii", "replace").decode()
