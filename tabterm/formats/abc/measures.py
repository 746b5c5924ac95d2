"""Bars become measures: metrically whole, on the neck, with repeats, endings and the original line."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, ScoreError
from tabterm.formats.neck import on_neck, within
from tabterm.score.duration import SHORTEST, Duration, total
from tabterm.score.kinds import Barline, Reached
from tabterm.score.metre import COMMON_TIME, Metre
from tabterm.score.model import ChordMark, Event, Measure, Note, SourceEvent
from tabterm.score.operations.draft import heal_event
from tabterm.score.operations.spelling import spell
from tabterm.score.operations.timeline import in_parts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from tabterm.formats.abc.bars import Bar, Look, Moment, Tone
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


@lru_cache(maxsize=4096)
def _source_event(duration: Duration, pitches: tuple[int, ...], held: tuple[int, ...]) -> SourceEvent:
    return SourceEvent.of(duration, pitches, held)


class Builder:
    """Builds the measures of one voice, in order.

    Args:
        metre: The metre of the tune's head, or None for free metre.
        key: The key of its head.
        instrument: The instrument whose neck the pitches are laid on.
        report: Takes what could not be carried over.
    """

    def __init__(self, metre: Metre | None, key: Key, instrument: Instrument, report: Reporter) -> None:
        self.measures: list[Measure] = []
        self._metre = metre
        self._shown = metre or COMMON_TIME
        self._key = key
        self._instrument = instrument
        self._report = report
        self._before: Event | None = None
        self._last: Moment | None = None
        self._endings: tuple[int, ...] = ()
        self._places: dict[tuple[int, ...], tuple[Note | None, ...]] = {}
        self._plain: dict[Look, tuple[list[Event], list[SourceEvent]]] = {}

    def build(self, bars: Sequence[Bar]) -> list[Measure]:
        """The measures of all bars that hold something."""
        for bar in bars:
            if bar.metre is not None or bar.free is not None:
                self._metre = None if bar.free else bar.metre or self._metre
            for piece, length in self._pieces(bar):
                self.measures.append(self._measure(piece, length))
        return self.measures

    def _pieces(self, bar: Bar) -> Iterator[tuple[Bar, Fraction]]:
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

    def _measure(self, bar: Bar, length: Fraction) -> Measure:
        metre = self._metre_for(length, bar)
        whole = metre.length
        fields: dict[str, Any] = {"short": length < whole}
        if metre != self._shown or (not self.measures and self._metre is None):
            fields["metre"] = self._shown = metre
        lead = whole - length if not self.measures else Fraction(0)
        events: list[Event] = []
        source: list[SourceEvent] = []
        chords: list[ChordMark] = []
        words: list[str] = []
        for number, moment in enumerate(bar.moments):
            if moment.chord:
                chords.append(ChordMark(offset=length_of(bar.moments[:number]), symbol=moment.chord))
            look = moment.look
            written = self._plain.get(look) if look else None
            if written is None:
                made = self._events(moment, self._durations(bar, number, lead, metre))
                written = made, list(self._source_events(moment, made))
                if look and len(made) == 1:
                    self._plain[look] = written
            events += written[0]
            source += written[1]
            self._before, self._last = events[-1], moment
            words += moment.words
        if bar.key is not None and bar.key.key != self._key:
            fields["key"] = self._key = bar.key.key
        said = {
            "chords": tuple(chords),
            "tempo": bar.tempo,
            "barline": None if bar.repeat_times else BARLINES.get(bar.thick),
            "repeat_start": bar.starts_repeat,
            "repeat_times": bar.repeat_times,
            "endings": self._endings_of(bar),
            "section": bar.section,
            "remark": self._remark(words, bar.line),
        }
        fields |= {name: value for name, value in said.items() if value}
        return Measure(events=tuple(events), source=tuple(source), **fields)

    def _remark(self, words: Sequence[str], line: int) -> str:
        remark = "; ".join(words)
        if len(remark) > LONGEST_REMARK:
            self._report.left_out(
                f"words of more than {LONGEST_REMARK} characters over a measure are cut", line, 1
            )
        return remark[:LONGEST_REMARK]

    def _endings_of(self, bar: Bar) -> tuple[int, ...]:
        """An ending lasts up to the next one, a double bar or a repeat (standard 4.9)."""
        if bar.endings is not None:
            self._endings = bar.endings
        elif bar.starts_repeat:
            self._endings = ()
        endings = self._endings
        if bar.repeat_times or bar.thick:
            self._endings = ()
        return endings

    def _metre_for(self, length: Fraction, bar: Bar) -> Metre:
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
            hint = "part it with bar lines"
            raise FormatError(f"a bar is longer than {MOST_UNITS}/{UNITS[0]}", hint=hint, place=f"line {bar.line}")
        own = Metre(*min(holding, key=lambda each: Fraction(*each)))
        if metre is not None:
            self._report.changed(f"a bar lasts {own} in {metre}: it gets a metre of its own", bar.line, 1)
        return own

    # Events

    def _durations(self, bar: Bar, number: int, lead: Fraction, metre: Metre) -> tuple[Duration, ...]:
        """The note values of a moment: the one that it is written with, or several where no single one does."""
        moment = bar.moments[number]
        value = VALUES.get(moment.written.as_integer_ratio())
        if value is not None:
            return (value.in_tuplet(moment.tuplet) if moment.tuplet else value,)
        try:
            return spell(lead + length_of(bar.moments[:number]), moment.length, metre)
        except ScoreError as error:
            raise FormatError(error.message, hint=error.hint, place=f"line {moment.line}") from None

    def _events(self, moment: Moment, durations: tuple[Duration, ...]) -> list[Event]:
        """A moment as one event, or as several tied ones."""
        notes = self._notes(moment)
        fields = dict(moment.marks) if notes else {}
        if notes and moment.grace:
            fields["grace"] = tuple(note for pitch in moment.grace for note in self._placed((pitch,)) if note)
        if "stroke" in fields and not any(note.is_struck for note in notes):
            notes = tuple(note if note.tied else note.with_(reached=Reached.STRUCK) for note in notes)
        if notes and all(note.tied for note in notes):
            fields = {name: value for name, value in fields.items() if name == "tremolo"}
        event = Event(duration=durations[0], notes=notes, **fields)
        if any(note.tied or note.slurred for note in notes):
            event = heal_event(self._before, event)
        return in_parts(event, durations) if len(durations) > 1 else [event]

    def _source_events(self, moment: Moment, written: list[Event]) -> Iterator[SourceEvent]:
        """The original of an event, with its pitches as written."""
        tones = {tone.pitch for tone in moment.tones}
        pitches = tuple(sorted(tones, reverse=True)) if len(tones) > 1 else tuple(tones)
        held = tuple(tone.pitch for tone in moment.tones if tone.tied)
        for event in written:
            yield _source_event(event.duration, pitches, held)
            held = pitches

    # Notes

    def _placed(self, pitches: tuple[int, ...]) -> tuple[Note | None, ...]:
        if pitches not in self._places:
            self._places[pitches] = on_neck(self._instrument, pitches)
        return self._places[pitches]

    def _notes(self, moment: Moment) -> tuple[Note, ...]:
        tones = moment.tones
        if not tones:
            return ()
        held = self._held(moment) if any(tone.tied for tone in tones) else {}
        free = tuple(tone.pitch for tone in tones if tone.pitch not in held)
        placed: dict[int, Note | None] = {**held, **dict(zip(free, self._placed(free), strict=True))}
        self._told(moment, placed)
        taken = {note.course for note in held.values()}
        notes: dict[int, Note] = {}
        for tone in tones:
            note = placed[tone.pitch]
            if note is None or (tone.pitch not in held and note.course in taken) or note.course in notes:
                continue
            fields = self._fields(tone, note, moment) if tone.pitch not in held else {"tied": True}
            notes[note.course] = Note(course=note.course, fret=note.fret, **fields) if fields else note
        if moment.slurred and not moment.grace and all(note.is_struck for note in notes.values()):
            self._report.changed("slurred notes with no other note to come from are picked", moment.line)
        return tuple(note for _, note in sorted(notes.items()))

    def _fields(self, tone: Tone, note: Note, moment: Moment) -> dict[str, Any]:
        fields = dict(tone.marks)
        if moment.slurred and not moment.grace:
            fields["reached"] = self._reached(tone, moment)
        if fields.get("finger") == 0 and note.fret:
            del fields["finger"]
            self._report.left_out("a finger 0 over a note that is not open here is left out", moment.line)
        return fields

    def _told(self, moment: Moment, placed: dict[int, Note | None]) -> None:
        """A finger over a note that an open course has too says that the next course is meant."""
        for tone in moment.tones:
            note = placed[tone.pitch]
            if note is None or note.fret or not tone.marks.get("finger") or len(moment.tones) > 1:
                continue
            others = [place for place in self._instrument.places_of(tone.pitch) if place[0] > note.course]
            if others:
                placed[tone.pitch] = Note(course=others[0][0], fret=others[0][1])

    def _held(self, moment: Moment) -> dict[int, Note]:
        """The tied tones of a moment on the courses and frets where they began."""
        if self._before is None:
            return {}
        sounding = {self._instrument.pitch(note.course, note.fret): note for note in self._before.notes}
        found = {}
        for tone in moment.tones:
            note = sounding.get(within(self._instrument, tone.pitch))
            if tone.tied and note is not None:
                found[tone.pitch] = Note(course=note.course, fret=note.fret)
        return found

    def _reached(self, tone: Tone, moment: Moment) -> Reached:
        """How a slurred tone is reached from the one of the same rank in the moment before; struck from none.

        Whether one course has both is for the fitting to say.
        """
        before = sorted((each.pitch for each in self._last.tones), reverse=True) if self._last else []
        rank = sum(each.pitch > tone.pitch for each in moment.tones)
        if rank >= len(before) or before[rank] == tone.pitch:
            return Reached.STRUCK
        if moment.how == "S":
            return Reached.SLIDE
        return Reached.HAMMER if tone.pitch > before[rank] else Reached.PULL


def length_of(moments: Iterable[Moment]) -> Fraction:
    """Length of moments, in quarters."""
    return total([moment.length for moment in moments])
