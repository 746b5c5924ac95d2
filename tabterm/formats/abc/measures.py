"""Bars become measures of a line: metrically whole, with repeats and endings."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError
from tabterm.score.duration import QUARTER, SHORTEST, Duration, total
from tabterm.score.kinds import Barline, Reached
from tabterm.score.line import Bar, Moment
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import ChordMark
from tabterm.score.operations.barring import Barring, Stretch
from tabterm.score.source import Tone

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.formats.abc.bars import AbcBar, Letter, Letters, Look
    from tabterm.instrument import Instrument
    from tabterm.score.key import Key
    from tabterm.score.report import Reporter

VALUES = {
    duration.length.as_integer_ratio(): duration
    for duration in (
        Duration(value, dots)
        for value in (1, 2, 4, 8, 16, 32, 64, 128, 256)
        for dots in (0, 1, 2)
        if value << dots <= SHORTEST
    )
}
"""Note values by their length in quarters (a ratio of integers, which is quicker to look up than a fraction)."""

UNITS = (4, 8, 16, 32, 64)
MOST_UNITS = 99
"""Of a metre of the model."""

BARLINES = {2: Barline.DOUBLE, 3: Barline.FINAL}
LONGEST_REMARK = 500
LONGEST_BAR = Fraction(24)
"""Quarters: a longer bar has no bar lines rather than so long a metre."""


class VoiceBuilder:
    """Builds the measures of one voice, in order.

    Args:
        metre: The metre of the tune's head, or None for free metre.
        key: The key of its head.
        instrument: The instrument that the line is meant for: what is open there may have a finger 0.
        report: Takes what could not be carried over.
    """

    def __init__(self, metre: Metre | None, key: Key, instrument: Instrument, report: Reporter) -> None:
        self._barring = Barring(Moment, Bar, key)
        self._metre = metre
        self._opens = {course.pitch for course in instrument.courses}
        self._report = report
        self._last: Letters | None = None
        self._endings: tuple[int, ...] = ()
        self._plain: dict[Look, tuple[Moment, Duration | None]] = {}

    def build(self, bars: Sequence[AbcBar]) -> Barring[Moment, Bar]:
        """The measures of all bars that hold something."""
        for bar in bars:
            if bar.metre is not None or bar.free is not None:
                self._metre = None if bar.free else bar.metre or self._metre
            for piece, length in self._pieces(bar):
                self._measure(piece, length)
        return self._barring

    def _pieces(self, bar: AbcBar) -> Iterator[tuple[AbcBar, Fraction]]:
        """The bar and its length; or bars of a usual length where there are no bar lines for very long."""
        moments = bar.moments
        length = length_of(moments)
        if length <= LONGEST_BAR:
            if moments:
                yield bar, length
            return
        self._report.changed("music without bar lines is cut into measures", bar.line, 1)
        size = self._metre.length if self._metre else COMMON_TIME.length
        begin, room = 0, size
        for number, moment in enumerate(moments, 1):
            room -= moment.length
            if room <= 0 or number == len(moments):
                first, last = begin == 0, number == len(moments)
                piece = replace(
                    bar,
                    moments=moments[begin:number],
                    starts_repeat=bar.starts_repeat and first,
                    repeat_times=bar.repeat_times if last else 0,
                    thick=bar.thick if last else 0,
                    section=bar.section if first else "",
                    tempo=bar.tempo if first else None,
                )
                yield piece, length_of(piece.moments)
                begin, room = number, size

    def _measure(self, bar: AbcBar, length: Fraction) -> None:
        metre = self._metre_for(length, bar)
        stretches: list[Stretch[Moment]] = []
        chords: list[ChordMark] = []
        words: list[str] = []
        at = Fraction(0)
        for letters in bar.moments:
            if letters.chord:
                chords.append(ChordMark(offset=at, symbol=letters.chord))
            lasts, (moment, written) = letters.length, self._moment(letters)
            stretches.append(Stretch(at, lasts, moment, written, letters.line))
            at += lasts
            words += letters.words
            self._last = letters
        self._barring.add(
            stretches,
            length,
            metre,
            key=bar.key.key if bar.key is not None else None,
            tempo=bar.tempo,
            chords=tuple(chords),
            barline=Barline.SINGLE if bar.repeat_times else BARLINES.get(bar.thick, Barline.SINGLE),
            repeat_start=bar.starts_repeat,
            repeat_times=bar.repeat_times,
            endings=self._endings_of(bar),
            section=bar.section,
            remark=self._remark(words, bar.line),
        )

    def _remark(self, words: Sequence[str], line: int) -> str:
        remark = "; ".join(words)
        if len(remark) > LONGEST_REMARK:
            self._report.left_out(f"text over a measure is cut after {LONGEST_REMARK} characters", line, 1)
        return remark[:LONGEST_REMARK]

    def _endings_of(self, bar: AbcBar) -> tuple[int, ...]:
        """An ending lasts up to the next one, a double bar or a repeat (standard 4.9)."""
        if bar.endings is not None:
            self._endings = bar.endings
        elif bar.starts_repeat:
            self._endings = ()
        endings = self._endings
        if bar.repeat_times or bar.thick:
            self._endings = ()
        return endings

    def _metre_for(self, length: Fraction, bar: AbcBar) -> Metre:
        """The metre in force, or the shortest that holds a measure that is too long for it.

        Raises:
            FormatError: No metre does.
        """
        metre = self._metre
        if metre is not None and length <= metre.length:
            return metre
        units = UNITS if metre is None else (metre.unit, *UNITS)
        counts = [(ceil(length * unit / 4), unit) for unit in units]
        holding = [each for each in counts if each[0] <= MOST_UNITS]
        if not holding:
            hint = "divide it with bar lines"
            raise FormatError(f"a bar is longer than {MOST_UNITS}/{UNITS[0]}", hint=hint, place=f"line {bar.line}")
        own = Metre(*min(holding, key=lambda each: Fraction(*each)))
        if metre is not None:
            self._report.changed(f"a bar of {own} in {metre} gets its own metre", bar.line, 1)
        return own

    # Moments

    def _moment(self, letters: Letters) -> tuple[Moment, Duration | None]:
        """What letters say, as a moment of the line, and its note value where there is a single one."""
        look = letters.look
        made = self._plain.get(look) if look else None
        if made is None:
            written = VALUES.get(letters.written.as_integer_ratio())
            if written is not None and letters.tuplet:
                written = written.in_tuplet(letters.tuplet)
            made = self._made(letters, written or QUARTER), written
            if look:
                self._plain[look] = made
        return made

    def _made(self, letters: Letters, duration: Duration) -> Moment:
        tones = self._tones(letters)
        if not tones:
            return Moment(duration=duration)
        marks = letters.marks
        if "stroke" in marks and not any(tone.is_struck for tone in tones):
            tones = tuple(tone if tone.tied else tone.with_(reached=Reached.STRUCK) for tone in tones)
        grace = tuple(Tone(pitch=pitch) for pitch in letters.grace)
        if all(tone.tied for tone in tones):
            marks, grace = {name: value for name, value in marks.items() if name == "tremolo"}, ()
        return Moment(duration=duration, notes=tones, grace=grace, **marks)

    def _tones(self, letters: Letters) -> tuple[Tone, ...]:
        """The pitches, the highest first, each once; a tied one has no marks of its own."""
        tones: dict[int, Tone] = {}
        for each in letters.tones:
            fields = {"tied": True} if each.tied else self._fields(each, letters)
            tones.setdefault(each.pitch, Tone(pitch=each.pitch, **fields))
        if letters.slurred and not letters.grace and all(tone.is_struck for tone in tones.values()):
            self._report.changed("slurred notes with no note to slur from are picked", letters.line)
        return tuple(tones[pitch] for pitch in sorted(tones, reverse=True))

    def _fields(self, tone: Letter, letters: Letters) -> dict[str, Any]:
        fields = dict(tone.marks)
        if letters.slurred and not letters.grace:
            fields["reached"] = self._reached(tone, letters)
        if fields.get("finger") == 0 and tone.pitch not in self._opens:
            del fields["finger"]
            self._report.left_out("finger 0 over a fretted note is left out", letters.line)
        return fields

    def _reached(self, tone: Letter, letters: Letters) -> Reached:
        """How a slurred tone is reached from the one of the same rank in the moment before; struck from none.

        Whether one course has both is for the fitting to say.
        """
        before = sorted((each.pitch for each in self._last.tones), reverse=True) if self._last else []
        rank = sum(each.pitch > tone.pitch for each in letters.tones)
        if rank >= len(before) or before[rank] == tone.pitch:
            return Reached.STRUCK
        if letters.how == "S":
            return Reached.SLIDE
        return Reached.HAMMER if tone.pitch > before[rank] else Reached.PULL


def length_of(moments: Iterable[Letters]) -> Fraction:
    """Length of moments, in quarters."""
    return total([moment.length for moment in moments])
