"""The music of one voice: tokens become moments in bars, with pitches, lengths and marks."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import chain, islice
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError
from tabterm.formats.abc import fields
from tabterm.formats.abc.bars import AbcBar, Letter, Letters
from tabterm.formats.abc.tokens import (
    CHORD_PART,
    EVENT_FIELDS,
    FINGERS,
    LAYOUT,
    LETTERS,
    NOTE_FIELDS,
    SLURS,
    TAKEN,
    held_alteration,
    quarters_of,
    tokens,
    usual_normal,
    written,
)
from tabterm.formats.abc.tunes import words
from tabterm.instrument.model import STEP_SEMITONES
from tabterm.score.duration import Tuplet
from tabterm.score.line import LONGEST_SLUR

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.formats.abc.bars import Spot
    from tabterm.formats.abc.tunes import TuneLine
    from tabterm.score.metre import Metre
    from tabterm.score.report import Reporter

MIDDLE_C, HIGHEST = 60, 127
MOST_MOMENTS = 20_000

_REDEFINED = re.compile(r'\s*([~H-Wh-w])\s*=\s*[!+"]?([^!+"]+)')
_NUMBERS = re.compile(r"(\d+)(?:-(\d+))?")


class VoiceReader:
    """Reads lines of music into bars; what is not understood goes to `report`.

    Attributes:
        bars: What has been read; the last one may be empty.
        letters: What each letter before a note stands for.
        semitones: How much higher the music sounds than it is written.
        spread: How far an accidental reaches in its bar: `not`, `octave` or `pitch` (standard 11.3).
    """

    def __init__(
        self, key: fields.KeyField, metre: Metre | None, unit: Fraction, report: Reporter, *, free: bool
    ) -> None:
        self.bars = [AbcBar(0, free=free)]
        self.letters = dict(LETTERS)
        self.semitones = 0
        self.spread = "pitch"
        self._key = key
        self._metre = metre
        self._unit = unit
        self._report = report
        self._coming = AbcBar(0)
        self._line = 0
        self._column = 1
        self._count = 0
        self._altered: dict[Spot, int] = {}
        self._before: Letters | None = None
        self._slurs: list[tuple[int, int, int]] = []
        self._tie = False
        self._broken: Fraction | None = None
        self._tuplet: Tuplet | None = None
        self._tuplet_left = 0
        self._skips = False
        self._lengths: dict[str, Fraction] = {}
        self._take: dict[str, Callable[[str], None]] = {kind: getattr(self, f"_take_{kind}") for kind in TAKEN}
        self._forget()

    def _forget(self) -> None:
        """What was said of the moment to come has been taken."""
        self._marks: dict[str, Any] = {}
        self._note_marks: dict[str, Any] = {}
        self._grace: tuple[int, ...] = ()
        self._chord = ""
        self._how = ""
        self._words: list[str] = []

    # Lines and fields

    def read(self, line: TuneLine) -> None:
        """Take in a line of music."""
        self._line = line.number
        self.bars[-1].line = self.bars[-1].line or line.number
        for kind, text, at in tokens(line.text):
            self._column = line.column + at
            if not self._skips or kind in ("bar", "ending"):
                self._take[kind](text)

    def read_field(self, letter: str, text: str, line: int) -> None:
        """Take in a field among the music; what it changes in mid-bar is changed from the next bar on."""
        self._line = line
        bar = self._coming if self.bars[-1].moments else self.bars[-1]
        said = words(text)
        if letter == "K":
            self.take_clef(said)
            key = fields.parse_key(said)
            if key is not None:
                self._key = bar.key = key
                self._altered = {}
        elif letter == "M":
            metre = fields.parse_metre(said)
            if metre is None and not fields.is_free(said):
                self._report.left_out(f"not a metre: '{said:.20}'", line, 1)
                return
            self._metre = bar.metre = metre
            bar.free = metre is None
        elif letter == "L":
            self._unit = fields.parse_length(said) or self._unit
            self._lengths = {}
        elif letter == "Q":
            tempo, mood, is_read = fields.parse_tempo(said, self._unit)
            bar.tempo = tempo or bar.tempo
            self._words += [mood] if mood else []
            if not is_read:
                self._report.left_out(f"not a tempo: '{said:.20}'", line, 1)
        elif letter == "P":
            bar.section = said[:40]
        elif letter == "U":
            self.redefine(text)

    def take_clef(self, text: str) -> None:
        """A key or voice field may say how the music sounds; it holds until another one does."""
        semitones = fields.parse_semitones(text)
        self.semitones = self.semitones if semitones is None else semitones

    def redefine(self, text: str) -> None:
        """A letter is to stand for another decoration: `T = !trill!`."""
        match = _REDEFINED.match(text)
        if match:
            self.letters[match[1]] = match[2].strip()

    def _take_field(self, text: str) -> None:
        self.read_field(text[1], text[3:-1], self._line)

    # Notes and rests

    def _take_note(self, text: str) -> None:
        tone, length = self._tone(text)
        self._put([tone], length)

    def _take_rest(self, text: str) -> None:
        self._put([], self._length(text[1:]))

    def _take_bars_rest(self, text: str) -> None:
        whole = self._metre.length if self._metre else Fraction(4)
        for number in range(max(int(text[1:] or 1), 1)):
            if number:
                self._end_bar()
            self._put([], whole)

    def _take_chord(self, text: str) -> None:
        end = text.rindex("]")
        tones: list[Letter] = []
        length = self._unit
        marks: dict[str, Any] = {}
        for part in CHORD_PART.finditer(text[1:end]):
            kind, piece = part.lastgroup, part[0]
            if kind == "note":
                tone, inner = self._tone(piece)
                length = length if tones else inner
                tone.marks, marks = marks, {}
                tones.append(tone)
            elif kind == "tie" and tones:
                tones[-1].ties = True
            elif kind in ("named", "letter"):
                name = piece.strip("!") if kind == "named" else self.letters.get(piece, piece)
                marks |= NOTE_FIELDS.get(name, {})
                if name not in NOTE_FIELDS:
                    self._decorate(name)
            elif kind == "string":
                self._take_string(piece)
            elif kind == "other":
                self._take_other(piece)
        if tones:
            self._put(tones, length * self._length(text[end + 1 :]) / self._unit)
            self._tie = any(tone.ties for tone in tones)

    def _take_old_chord(self, text: str) -> None:
        """`+CEG+`, as the first files wrote chords (standard 10.2)."""
        self._take_chord(f"[{text[1:].replace('+', ']')}")

    def _tone(self, text: str) -> tuple[Letter, Fraction]:
        """A tone and its length in quarters."""
        sign, spot, length = written(text)
        reach = spot if self.spread == "octave" else (spot[0], 0)
        held = held_alteration(self._before, spot) if self._tie and self._before is not None else None
        if sign is not None:
            alter = fields.ALTER[sign.rstrip("/0123456789")]
            if sign[-1] not in "^_=":
                self._report.changed("microtones are read as whole semitones", self._line)
            if self.spread != "not":
                self._altered[reach] = alter
        elif held is not None:
            alter = held
        else:
            alter = self._altered.get(reach, self._key.signature.get(spot[0], 0))
        pitch = MIDDLE_C + 12 * spot[1] + STEP_SEMITONES[spot[0]] + alter + self.semitones
        if not 0 <= pitch <= HIGHEST:
            pitch = min(max(pitch, 0), HIGHEST)
        return Letter(pitch, spot, alter, {}, tied=held == alter), self._lengths.get(length) or self._length(
            length
        )

    def _length(self, text: str) -> Fraction:
        """A length in quarters, written as a multiple of the unit: `3`, `/`, `//`, `3/2`."""
        quarters = quarters_of(text, self._unit)
        if quarters is None:
            self._report.left_out(f"a length of '{text}' cannot be written", self._line, self._column)
            return self._unit
        self._lengths[text] = quarters
        return quarters

    def _put(self, tones: list[Letter], quarters: Fraction) -> None:
        """Add a moment, with all that was said of it before."""
        self._count += 1
        if self._count > MOST_MOMENTS:
            text = f"the tune has more than {MOST_MOMENTS} notes"
            raise FormatError(text, hint="cut the file into parts", place=f"line {self._line}")
        if not tones and (self._marks or self._note_marks or self._grace):
            self._report.left_out("marks over rests are left out", self._line)
            self._marks, self._note_marks, self._grace = {}, {}, ()
        if self._note_marks:
            for tone in tones:
                tone.marks = self._note_marks | tone.marks
        if self._tie and not any(tone.tied for tone in tones):
            self._report.left_out("ties with no next note of the same pitch are left out", self._line)
        self._tie = False
        how = self._how if self._slurs and self._slurs[0][0] < self._count else ""
        moment = Letters(
            tones,
            quarters if self._broken is None else quarters * self._broken,
            self._tuplet,
            self._line,
            *(self._marks, self._grace, bool(how), how, self._chord, self._words),
        )
        self._forget()
        self._broken = None
        if self._tuplet is not None:
            self._tuplet_left -= 1
            self._tuplet = self._tuplet if self._tuplet_left > 0 else None
        self.bars[-1].moments.append(moment)
        self._before = moment

    # What joins notes

    def _take_tie(self, _text: str) -> None:
        if self._before is None or not self._before.tones:
            self._report.left_out("a tie with no note before it is left out", self._line, self._column)
            return
        self._tie = True
        for tone in self._before.tones:
            tone.ties = True

    def _take_slur_open(self, _text: str) -> None:
        self._slurs.append((self._count + 1, self._line, self._column))

    def _take_slur_close(self, _text: str) -> None:
        """A short slur is the left hand's; of a longer one, which is a phrase, only what is marked as such."""
        if not self._slurs:
            self._report.left_out("a slur that ends here has no beginning", self._line, self._column)
            return
        first, line, _ = self._slurs.pop()
        after = self._count - first
        if after < LONGEST_SLUR:
            moments = chain.from_iterable(reversed(bar.moments) for bar in reversed(self.bars))
            for moment in islice(moments, max(after, 0)):
                moment.slurred = True
        elif self._before is None or not self._before.how:
            what = f"slurs over more than {LONGEST_SLUR} notes are read as phrase marks and left out"
            self._report.left_out(what, line)

    def end(self) -> None:
        """The music is over."""
        for _, line, column in self._slurs:
            self._report.left_out("a slur that begins here has no end", line, column)

    def _take_tuplet(self, text: str) -> None:
        parts = text[1:].split(":")
        actual = int(parts[0])
        usual = usual_normal(actual, self._metre)
        normal = int(parts[1]) if len(parts) > 1 and parts[1] else usual
        count = int(parts[2]) if len(parts) > 2 and parts[2] else actual
        if actual < 2 or not normal or not count:
            self._report.left_out(f"not a tuplet: '{text}'", self._line, self._column)
            return
        self._tuplet, self._tuplet_left = Tuplet(actual, normal), count

    def _take_broken(self, text: str) -> None:
        """`A>B`: the first is dotted, the second halved; more signs, more dots (standard 4.4)."""
        if self._before is None or len(text) > 3:
            self._report.left_out(f"'{text}' with no note before it is left out", self._line, self._column)
            return
        short = Fraction(1, 2 ** len(text))
        first, second = (2 - short, short) if text[0] == ">" else (short, 2 - short)
        self._before.written *= first
        self._broken = second

    def _take_grace(self, text: str) -> None:
        found = [part[0] for part in CHORD_PART.finditer(text[1:-1]) if part.lastgroup == "note"]
        self._grace += tuple(self._tone(note)[0].pitch for note in found)

    # Marks

    def _take_named(self, text: str) -> None:
        self._decorate(text[1:-1])

    def _take_letter(self, text: str) -> None:
        name = self.letters.get(text)
        if name is None:
            self._take_other(text)
        else:
            self._decorate(name)

    def _decorate(self, name: str) -> None:
        if name in EVENT_FIELDS:
            self._marks |= EVENT_FIELDS[name]
        elif name in NOTE_FIELDS:
            self._note_marks |= NOTE_FIELDS[name]
        elif name not in LAYOUT:
            self._report.left_out(f"the decoration '{name:.40}' is left out", self._line)

    def _take_string(self, text: str) -> None:
        """A chord symbol, a finger, how a slur is sounded, or words."""
        said = words(text[1:-1])
        plain = said.lstrip("^_<>@")
        if FINGERS.match(plain):
            if len(plain) == 1:
                self._note_marks["finger"] = int(plain)
            else:
                self._report.left_out("a choice of two fingers is left out", self._line)
        elif said[:1] == "^" and plain in SLURS:
            self._how = plain
        elif said == plain and fields.CHORD_SYMBOL.match(said):
            self._chord = said
        elif plain.strip():
            self._words.append(plain.strip())

    # Bars

    def _take_bar(self, text: str) -> None:
        """A bar line, with what repeats and endings it says."""
        self._skips = False
        signs, numbers = re.match(r"([^\d]*)(.*)", text).groups()  # type: ignore[union-attr]
        signs = signs.rstrip().removesuffix("[")
        colons = signs.strip(".")
        if set(colons) == {":"}:
            ends = starts = len(colons) // 2
        else:
            ends, starts = len(colons) - len(colons.lstrip(":")), len(colons) - len(colons.rstrip(":"))
        thick = 3 if "|]" in signs or "[|" in signs else 2 if "||" in signs else 0
        if self.bars[-1].moments:
            ended = self.bars[-1]
            self._end_bar()
        else:
            ended = self.bars[-2] if len(self.bars) > 1 else AbcBar(0)
        if ends:
            ended.repeat_times = min(ends + 1, 99)
        ended.thick = max(ended.thick, thick)
        self.bars[-1].starts_repeat |= starts > 0
        if numbers:
            self._begin_ending(numbers)

    def _take_ending(self, text: str) -> None:
        self._skips = False
        if self.bars[-1].moments:
            self._end_bar()
        self._begin_ending(text[1:])

    def _begin_ending(self, text: str) -> None:
        passes: list[int] = []
        for first, last in _NUMBERS.findall("" if text.startswith('"') else text):
            passes += range(int(first[:3]), int((last or first)[:3]) + 1)
        fitting = tuple(sorted({number for number in passes if 1 <= number <= 99}))
        if not fitting:
            self._report.left_out(f"not the number of an ending: '{text:.20}'", self._line, self._column)
        self.bars[-1].endings = fitting or None

    def _end_bar(self) -> None:
        self._coming.line = self._line
        self.bars.append(self._coming)
        self._coming = AbcBar(0)
        self._altered = {}

    # The rest

    def _take_overlay(self, _text: str) -> None:
        self._report.left_out("a second voice inside a bar (&) is left out", self._line)
        self._skips = True

    def _take_spacer(self, _text: str) -> None:
        """Space on the page: nothing to hear."""

    def _take_other(self, text: str) -> None:
        self._report.left_out(f"'{text:.20}' is not understood", self._line, self._column)
