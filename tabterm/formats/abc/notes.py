"""The notes of a measure as letters: accidentals by the key, lengths by the unit, ties, slurs and marks."""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING

from tabterm.formats.abc.fields import CHORD_SYMBOL, signature_of
from tabterm.formats.abc.tokens import FINGERS, SLURS
from tabterm.harmony.spelling import spell_pitch
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.score.key import C_MAJOR
from tabterm.score.kinds import Direction, Stroke
from tabterm.score.place import Place

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.score.key import Key
    from tabterm.score.model import Event, Measure, Note, Score
    from tabterm.score.report import Reporter

MIDDLE_C = 60
SIGNS = {2: "^^", 1: "^", 0: "=", -1: "_", -2: "__"}
STROKES = {Stroke.DOWN: "v", Stroke.UP: "u"}
LETTER_OF = {how: letter for letter, how in SLURS.items()}
LARGEST_TUPLET = 9
_ENTITY = re.compile(r"&(?=#?\w{1,32};)")


class Speller:
    """Turns the events of a score into letters; what they cannot say goes to `report`."""

    def __init__(self, score: Score, unit: Fraction, report: Reporter) -> None:
        self.score = score
        self.unit = unit
        self._report = report
        self._signature: dict[str, int] = {}
        self._altered: dict[str, int] = {}
        self._altered_here: dict[tuple[str, int], int] = {}
        self._index = 0
        self._events = [event for measure in score.measures for event in measure.events]
        self._number = 0

    def begin(self, index: int) -> None:
        """Begin a measure: accidentals end at the bar line."""
        self._index = index
        self._signature = signature_of(self.score.keys[index])
        self._altered, self._altered_here = {}, {}

    def lose(self, text: str) -> None:
        """Count what is not carried, with the first measure that it stood in."""
        self._report.changed(text, place=Place(self._index))

    def event(self, event: Event, chord: str, words: str) -> str:
        """One event with all its marks."""
        number = self._number
        self._number += 1
        before = self._events[number - 1] if number else None
        after = self._events[number + 1] if number + 1 < len(self._events) else None
        slurred = _is_slurred(event)
        goes_on = after is not None and _is_slurred(after)
        begins = goes_on and not (slurred and before is not None)
        text = "(" if begins else ""
        text += self._symbol(chord) if chord else ""
        text += _annotation(words) if words else ""
        text += self._marks(event)
        text += self._grace(event)
        text += self._notes(event, after) if event.notes else f"z{self.length(event)}"
        return text + (")" if slurred and not goes_on and number else "")

    def length(self, event: Event) -> str:
        """The length as a multiple of the unit, as written inside its tuplet."""
        duration = event.duration
        written = duration.in_tuplet(None).length if _is_short(event) else duration.length
        multiple = written / self.unit
        top = "" if multiple.numerator == 1 else str(multiple.numerator)
        bottom = {1: "", 2: "/"}.get(multiple.denominator, f"/{multiple.denominator}")
        return top + bottom

    def _symbol(self, chord: str) -> str:
        if CHORD_SYMBOL.match(chord):
            return f'"{quoted(chord)}"'
        self.lose("a chord symbol without a root is written as words")
        return _annotation(chord)

    def _marks(self, event: Event) -> str:
        text = STROKES.get(event.stroke_shown, "") if event.stroke_shown and event.takes_stroke else ""
        text += "!>!" if event.accent else ""
        text += "." if event.staccato else ""
        text += "!///!" if event.tremolo_shown else ""
        text += "!arpeggio!" if event.roll else ""
        if event.roll is Direction.DOWN:
            self.lose("the direction of a roll is lost")
        for note in event.notes:
            if note.slurred:
                text += f'"^{LETTER_OF[note.reached.value]}"'
                break
        for name, is_there in (
            ("slurs from grace notes are lost", bool(event.grace) and _has_slur(event)),
            ("bends are lost", any(note.bend for note in event.notes)),
            ("slides that lead to or from no note are lost", any(_slides_otherwise(note) for note in event.notes)),
            ("vibrato is lost", any(note.vibrato for note in event.notes)),
            ("ringing on is lost", any(note.ring for note in event.notes)),
            ("damping is lost", event.damp),
            ("dead notes are written as plain notes", any(note.muted for note in event.notes)),
        ):
            if is_there:
                self.lose(name)
        return text

    def _grace(self, event: Event) -> str:
        return f"{{{''.join(self._pitch(note) for note in event.grace)}}}" if event.grace else ""

    def _notes(self, event: Event, after: Event | None) -> str:
        length = self.length(event)
        letters = []
        for note in event.notes:
            finger = note.finger_shown if note.fret or note.finger == 0 else None
            text = "" if finger is None or note.tied else f"!{finger}!"
            text += "!slide!" if note.slide_in is Direction.UP and not note.tied else ""
            letters.append((text, self._pitch(note), _leads_on(note, after)))
        if len(letters) == 1:
            ((marks, letter, ties),) = letters
            return f"{marks}{letter}{length}{'-' if ties else ''}"
        inside = "".join(f"{marks}{letter}{'-' if ties else ''}" for marks, letter, ties in letters)
        return f"[{inside}]{length}"

    def _pitch(self, note: Note) -> str:
        """A letter with its octave, and its accidental wherever a reader could take it otherwise.

        Accidentals reach over all octaves by the standard, but over their own only in many programs.
        """
        pitch = self.score.head.instrument.pitch(note.course, note.fret)
        step, alter = _spelled(pitch, self.score.keys[self._index])
        octave = (pitch - alter - STEP_SEMITONES[step] - MIDDLE_C) // 12
        signed = self._signature.get(step, 0)
        wide, narrow = self._altered.get(step, signed), self._altered_here.get((step, octave), signed)
        sign = SIGNS[alter] if (wide, narrow) != (alter, alter) else ""
        if sign:
            self._altered[step] = self._altered_here[step, octave] = alter
        letter = step.lower() if octave > 0 else step
        return sign + letter + ("'" * (octave - 1) if octave > 0 else "," * -octave)


def music_of(speller: Speller, index: int, lead: Fraction) -> str:
    """The music of a measure; blanks part the beats, so that what belongs together is beamed together."""
    score = speller.score
    measure, metre = score.measures[index], score.metres[index]
    speller.begin(index)
    chords = _chords(speller, measure)
    words = measure.remark
    text, beat = "", 0
    for tuplet, group in groupby(measure.timed(), key=lambda each: each[1].duration.tuplet):
        run = list(group)
        for number, (offset, event) in enumerate(run):
            here = metre.beat_at(lead + offset)[0]
            text += " " if text and here != beat else ""
            beat = here
            if tuplet is not None and number == 0 and _is_short(event):
                text += f"({tuplet.actual}:{tuplet.normal}:{len(run)}"
            text += speller.event(event, chords.get(offset, ""), words)
            words = ""
    return text


def _chords(speller: Speller, measure: Measure) -> dict[Fraction, str]:
    """Chord symbols by the onset of the event that they stand on."""
    onsets = measure.onsets
    chords: dict[Fraction, str] = {}
    for mark in measure.chords:
        onset = max(each for each in onsets if each <= mark.offset)
        if onset != mark.offset:
            speller.lose("chords between two notes are written over the first")
        if onset in chords:
            speller.lose("a second chord on one note is lost")
        else:
            chords[onset] = mark.symbol
    return chords


def _spelled(pitch: int, key: Key) -> tuple[str, int]:
    """A letter and its alteration; keys of very many flats would ask for three, which nobody writes."""
    for each in (key, C_MAJOR):
        name = spell_pitch(pitch, each)
        alter = name.count("#") - name.count("b")
        if alter in SIGNS:
            break
    return name[0], alter


def _is_short(event: Event) -> bool:
    """Whether the tuplet of an event can be written: its figures have one digit."""
    tuplet = event.duration.tuplet
    return tuplet is not None and 2 <= tuplet.actual <= LARGEST_TUPLET and tuplet.normal <= LARGEST_TUPLET


def _leads_on(note: Note, after: Event | None) -> bool:
    following = None if after is None else after.on_course(note.course)
    return following is not None and following.tied and following.fret == note.fret


def _has_slur(event: Event) -> bool:
    return any(note.slurred for note in (*event.notes, *event.grace))


def _is_slurred(event: Event) -> bool:
    """Whether a slur leads to an event from the one before; with grace notes before it, it leads from those."""
    return not event.grace and any(note.slurred for note in event.notes)


def _slides_otherwise(note: Note) -> bool:
    return note.slide_out is not None or note.slide_in is Direction.DOWN


def _annotation(text: str) -> str:
    """Words over a note; a blank before those that would be a place, a finger or how a slur is sounded."""
    said = quoted(text)
    is_sign = said[:1] in "^_<>@" or said in SLURS or FINGERS.match(said)
    return f'"^{" " if is_sign else ""}{said}"'


def quoted(text: str) -> str:
    """Words as they may stand in quotation marks."""
    return escaped(text).replace('"', "'")


def escaped(text: str) -> str:
    """Words as a field may hold them: on one line, with nothing that reads as a sign."""
    plain = " ".join(text.split()).replace("\\", "\\\\").replace("%", "\\%")
    return _ENTITY.sub(r"\\&", plain)
