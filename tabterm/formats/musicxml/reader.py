"""Reading MusicXML: one part becomes a score where it has strings and frets of four courses, or else a line."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Generic

from tabterm import collector
from tabterm.dataclass import dataclass
from tabterm.errors import FormatError, ScoreError
from tabterm.formats import Reading
from tabterm.formats.musicxml import header
from tabterm.formats.musicxml.archive import unpacked
from tabterm.formats.musicxml.barlines import BarSigns, read_barlines
from tabterm.formats.musicxml.bars import Walker
from tabterm.formats.musicxml.directions import Over, read_directions
from tabterm.formats.musicxml.events import AtPitches, OnCourses, mark_line
from tabterm.formats.musicxml.harmony import LONGEST, read_harmony
from tabterm.formats.musicxml.line import ROUNDING, Liner
from tabterm.formats.musicxml.parts import choose, parts_of
from tabterm.formats.musicxml.report import XmlReporter
from tabterm.formats.musicxml.signatures import metre_holding, read_key, read_metre
from tabterm.formats.musicxml.staves import one_staff
from tabterm.formats.musicxml.tree import parse
from tabterm.formats.musicxml.tuning import strings_of, tablature_of
from tabterm.formats.musicxml.values import whole
from tabterm.score.key import C_MAJOR, Key
from tabterm.score.line import Bar, Line, Moment, Sounding
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import ChordMark, Event, Head, Measure, Score
from tabterm.score.operations.barring import Barring, Made, Stretch
from tabterm.score.operations.courses import moved_key, moved_symbol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.musicxml.bars import XmlBar
    from tabterm.formats.musicxml.events import Maker
    from tabterm.formats.musicxml.line import NoteGroup
    from tabterm.formats.musicxml.tree import Node
    from tabterm.score.model import Swing
    from tabterm.score.tempo import Tempo

COARSE = Fraction(1, 48)
"""Quarters: what is too fine for any note value is rounded to this grid."""


def read(data: bytes, *, part: int | str | None = None, voice: int | str | None = None) -> Reading:
    """The score or the line of a MusicXML file, compressed or not.

    Args:
        data: The file.
        part: Number (from 1), id or name of the part to read; the likeliest one where none is given.
        voice: The voice of the part to read alone; all that fit into one line where none is given.

    Raises:
        FormatError: It is no such file, is damaged or beyond all measure, or has no such part.
    """
    report = XmlReporter()
    root = parse(unpacked(data))
    with collector.at_rest():
        try:
            return Reading(_music(root, part, voice, report), report.gathered())
        except ScoreError as error:
            raise FormatError(error.message, hint=error.hint, place=error.place) from None


def _music(root: Node, part: int | str | None, voice: int | str | None, report: XmlReporter) -> Score | Line:
    parts = parts_of(root)
    chosen = choose(parts, part, report)
    bars = Walker(report).walk(chosen)
    own = header.read_own(root, report)
    tablature = tablature_of(bars)
    strings = strings_of(chosen, bars, tablature, own.instrument if own else None, report)
    one_staff(bars, tablature, report)
    liner = Liner(bars, report, None if voice is None else str(voice))
    lines = [liner.line(bar) for bar in bars]
    liner.finish()
    _repeat_measures(bars, lines, report)
    mark_line(lines, report, is_own=own is not None)
    head = (own or Head()).with_(
        title=header.read_title(root, is_own=own is not None),
        credits=header.read_credits(root, is_own=own is not None),
        instrument=strings.instrument,
    )
    if strings.is_ours:
        score = Barring(Event, Measure)
        begins = PartBuilder(report, score, OnCourses(strings.instrument, report), own).build(bars, lines)
        return Score(head=head.with_(**begins), measures=tuple(score.measures))
    heard = Barring(Moment, Bar)
    begins = PartBuilder(report, heard, AtPitches(report), own).build(bars, lines)
    return Line(head=head.with_(**begins), measures=tuple(heard.measures))


def _repeat_measures(bars: Sequence[XmlBar], lines: list[list[NoteGroup]], report: XmlReporter) -> None:
    """Write out what a sign for the repetition of measures stands for, where the file does not."""
    length = 0
    for index, bar in enumerate(bars):
        for _, node in bar.signs:
            sign = node.child("measure-repeat") if node.tag == "measure-style" else None
            if sign is not None:
                count = whole(sign.text.strip()) or 1
                length = count if sign.get("type") == "start" and 1 <= count <= index else 0
        if length and bar.is_empty and bars[index - length].length:
            lines[index] = lines[index - length]
            bar.length = bars[index - length].length
            report.changed("signs for repeated measures are written out", bar.label.line)


@dataclass(slots=True)
class Beginning:
    """Key, metre and tempo that begin with a measure; None where nothing changes."""

    key: Key | None = None
    metre: Metre | None = None
    tempo: Tempo | None = None


class PartBuilder(Generic[Sounding, Made]):
    """Builds the measures of a part, with what holds from one to the next."""

    def __init__(
        self, report: XmlReporter, barring: Barring[Sounding, Made], maker: Maker[Sounding], own: Head | None
    ) -> None:
        self._is_own = own is not None
        self._swing: Swing | None = None
        self._report = report
        self._barring: Barring[Sounding, Made] = barring
        self._maker: Maker[Sounding] = maker
        self._key = C_MAJOR
        self._waiting = Beginning()
        self._metre: Metre | None = COMMON_TIME
        self._swing_told = False

    def build(self, bars: Sequence[XmlBar], lines: Sequence[Sequence[NoteGroup]]) -> dict[str, Any]:
        """Build every measure; return what the head has of them."""
        for index, barlines in enumerate(read_barlines(bars, self._report)):
            self._measure(index, bars, lines[index], barlines)
        return {**self._barring.begins, "swing": self._swing}

    def _measure(
        self, index: int, bars: Sequence[XmlBar], groups: Sequence[NoteGroup], barlines: BarSigns
    ) -> None:
        bar = bars[index]
        over = read_directions(bar.directions, self._report)
        signs, self._waiting = self._waiting, Beginning()
        self._take_signs(bar, signs)
        self._take_tempo(over, signs, bar)
        self._take_swing(over, index, bar)
        metre, length = self._time(index, bars, signs)
        self._key = signs.key or self._key
        try:
            stretches = [
                Stretch(group.onset, group.length, self._maker.event(group), group.duration, group.line)
                for group in groups
            ]
            struck = self._add(
                stretches,
                length,
                metre,
                key=self._key,
                tempo=signs.tempo or (None if index else Head().tempo),
                school=over.school,
                chords=self._chords(bar, length),
                barline=barlines.barline,
                repeat_start=barlines.repeat_start,
                repeat_times=barlines.repeat_times,
                endings=barlines.endings,
                section=over.section(self._report, bar.label.line),
                remark=over.remark(self._report, bar.label.line),
                break_before=bar.begins if self._is_own else None,
            )
        except ScoreError as error:
            raise FormatError(error.message, hint=error.hint, place=bar.place) from None
        for stretch, before in struck:
            self._tell_struck(stretch, before)

    def _add(
        self, stretches: Sequence[Stretch[Sounding]], length: Fraction, metre: Metre, **signs: Any
    ) -> list[tuple[Stretch[Sounding], Sounding | None]]:
        """Make a measure, of rounded times where they are too fine."""
        try:
            return self._barring.add(stretches, length, metre, **signs)
        except ScoreError:
            line = stretches[0].line if stretches else 0
            self._report.changed("times too fine for any note value are rounded", line)
            return self._barring.add(_rounded(stretches), length, metre, **signs)

    def _tell_struck(self, stretch: Stretch[Sounding], before: Sounding | None) -> None:
        sounding = {self._maker.pitch(note) for note in before.notes} if before is not None else set()
        tied = {self._maker.pitch(note) for note in stretch.event.notes if note.tied}
        if sounding and tied <= sounding:
            self._report.changed(
                "ties to another course or fret, or to dead notes, are picked instead", stretch.line
            )
        else:
            self._report.changed("ties and slurs with no note before them are picked instead", stretch.line)

    # What begins with a measure

    def _take_signs(self, bar: XmlBar, found: Beginning) -> None:
        for offset, node in bar.signs:
            if node.tag == "key":
                key = read_key(node, self._report)
                key = moved_key(key, bar.transposed) if key is not None and bar.transposed % 12 else key
                self._begin("key", key, offset, found, node)
            elif node.tag == "time":
                self._begin("metre", read_metre(node, self._report), offset, found, node)
                if node.child("senza-misura") is not None:
                    self._metre = None
            elif node.tag == "measure-style":
                for each in node.children:
                    if each.tag not in {"multiple-rest", "measure-repeat"} and each.get("type") != "stop":
                        self._report.leave_out(each.tag, each.line)
            elif node.tag != "staff-details":
                self._report.leave_out(node.tag, node.line)

    def _begin(self, name: str, value: Key | Metre | None, offset: Fraction, found: Beginning, node: Node) -> None:
        """A key or metre begins with this measure; one that changes inside it, with the next."""
        if value is None or (node.get("number") or "1") != "1":
            return
        if offset == 0:
            setattr(found, name, value)
        else:
            self._report.changed(f"a change of {name} inside a measure takes effect in the next", node.line)
            setattr(self._waiting, name, value)

    def _take_tempo(self, over: Over, found: Beginning, bar: XmlBar) -> None:
        if over.tempo is not None:
            found.tempo = over.tempo
        if over.later_tempo is not None:
            self._report.changed("a change of tempo inside a measure takes effect in the next", bar.label.line)
            self._waiting.tempo = over.later_tempo

    def _take_swing(self, over: Over, index: int, bar: XmlBar) -> None:
        """The first swing holds for the whole; where it begins later, or changes, is said."""
        if not over.has_swing:
            return
        if index > 0 and over.swing != self._swing:
            self._report.changed("the first swing applies to the whole score", bar.label.line)
        if not self._swing_told:
            self._swing_told, self._swing = True, over.swing

    # Time

    def _time(self, index: int, bars: Sequence[XmlBar], found: Beginning) -> tuple[Metre, Fraction]:
        """The metre and the length of a measure: shorter than the metre is well, longer needs another metre."""
        bar = bars[index]
        length = bar.length
        self._metre = found.metre or self._metre
        metre = self._metre or metre_holding(length, COMMON_TIME) or COMMON_TIME
        if length == 0 or abs(length - metre.length) <= ROUNDING or (bar.is_empty and length > metre.length):
            return metre, metre.length
        if length < metre.length:
            if not self._is_own:
                self._tell_short(index, bars, metre)
            return metre, length
        longer = metre_holding(length, metre)
        if longer is None:
            what = f"a measure of {float(length):g} quarters is longer than any metre"
            raise FormatError(what, place=bar.place, hint="split it")
        self._report.changed("measures longer than their time signature get their own", bar.label.line)
        return longer, longer.length

    def _tell_short(self, index: int, bars: Sequence[XmlBar], metre: Metre) -> None:
        """A short measure that is neither a pickup, nor the last, nor half of a split one, is worth a word."""
        bar = bars[index]
        beside = [*bars[max(index - 1, 0) : index], *bars[index + 1 : index + 2]]
        split = any(each.length + bar.length == metre.length for each in beside)
        if 0 < index < len(bars) - 1 and not split and bar.label.get("implicit") != "yes":
            self._report.changed("incomplete measures stay short", bar.label.line)

    def _chords(self, bar: XmlBar, length: Fraction) -> tuple[ChordMark, ...]:
        """The chord symbols of a measure as they sound: a transposed part has them transposed like its notes."""
        marks: dict[Fraction, str] = {}
        for offset, node in bar.harmonies:
            symbol = read_harmony(node, self._report, is_own=self._is_own)
            if bar.transposed % 12:
                symbol = moved_symbol(symbol, bar.transposed, self._key)[:LONGEST]
            if offset >= length:
                self._report.left_out("chord symbols past the end of their measure are left out", node.line)
            elif symbol:
                if offset in marks:
                    self._report.changed("if several chord symbols coincide, the last is read", node.line)
                marks[offset] = symbol
        return tuple(ChordMark(offset=offset, symbol=marks[offset]) for offset in sorted(marks))


def _rounded(stretches: Sequence[Stretch[Sounding]]) -> list[Stretch[Sounding]]:
    rounded = []
    for each in stretches:
        onset, end = (round(moment / COARSE) * COARSE for moment in (each.onset, each.onset + each.length))
        if end > onset:
            rounded.append(replace(each, onset=onset, length=end - onset, written=None))
    return rounded
