"""The fingers printed in a fiddle collection of 1883, and what the search says to the same notes.

Ryan's Mammoth Collection (Boston 1883) as music21's corpus ships it in ABC; fingers stand there as quoted
digits before their notes. A violin is tuned and, in its first positions, fingered like a mandolin. Four
readings of each tune are compared with the print:

* "free": the search chooses courses and fingers;
* "told": a printed 4 on a pitch that an open course has too, and a printed 0, tell the course, and it is set.
  The violinist takes such a 4 for the sake of tone under the bow. Fingers of notes so set are counted as "set 4"
  and all others as "told"; a printed 0 is then no question and not counted;
* "placed": as "told", and a finger that has no room on the highest course between the nut and the note (finger 3
  has none at fret 2) tells the next course, seven frets higher;
* "table": no search, the highest course that has the note and the finger that first position gives its fret.

Two digits over one note ("04") are a choice, and either counts. Grace notes are left out, double stops give
their highest note. Where a tune has several endings or begins its parts with a pickup, bar lines are
not followed; they matter to strokes only.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from tabterm.errors import TabtermError
from tabterm.hand.proposals import with_hands
from tabterm.score.duration import EIGHTH
from tabterm.score.metre import Metre
from tabterm.score.model import Event, Head, Note, Score
from tabterm.score.operations.timeline import rest_measure, splice
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo
from tests.build import PLAYER

OPEN = {1: 76, 2: 69, 3: 62, 4: 55}
HIGHEST = OPEN[1] + 20
TABLE = (0, 1, 1, 2, 2, 3, 3, 4, 4)
"""Fingers of frets 0 to 8 in first position (D. Grisman, "Position Studies", mandozine.com)."""

MARK = re.compile(r'"[\^_<>@]?([0-4]{1,2})"')
READINGS = ("free", "told", "placed", "table")


@dataclass(frozen=True)
class Printed:
    """A note or rest of a tune: MIDI pitch or None, length in quarters, and the fingers printed over it."""

    pitch: int | None
    length: Fraction
    fingers: frozenset[int] = frozenset()

    @property
    def told(self) -> int | None:
        """The course that the printed finger tells, or None."""
        if self.pitch is None or len(self.fingers) != 1 or self.lowest[1]:
            return None
        course = self.lowest[0]
        return {0: course, 4: course + 1 if course < 4 else None}.get(*self.fingers)

    @property
    def placed(self) -> int | None:
        """The course that the printed finger tells by the room that it needs, or None."""
        if self.told is not None or self.pitch is None or len(self.fingers) != 1:
            return self.told
        course, fret = self.lowest
        return course + 1 if fret < min(self.fingers) and course < 4 else None

    @property
    def lowest(self) -> tuple[int, int]:
        """Course and fret where the pitch is lowest on the neck."""
        return next((course, self.pitch - pitch) for course, pitch in OPEN.items() if self.pitch >= pitch)


@dataclass(frozen=True)
class Tune:
    """A tune: its metre, how much of the first measure is missing in quarters, and its notes and rests."""

    name: str
    metre: Metre
    missing: Fraction
    notes: tuple[Printed, ...]


def tunes(every: int = 1):
    """Every tune of the collection that has printed fingers (or each so-many-th)."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "ryansMammoth"
    texts = ((path.stem, path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.abc")))
    marked = [(name, text) for name, text in texts if MARK.search(text)]
    for name, text in marked[::every]:
        yield _tune(name, text)


def _tune(name: str, text: str) -> Tune:
    from music21 import abcFormat

    handler = abcFormat.ABCHandler()
    handler.process(text)
    notes: list[Printed] = []
    pickup = None
    for token in handler.tokens:
        if isinstance(token, abcFormat.ABCNote) and not token.inGrace and token.quarterLength:
            notes.append(_printed(token, abcFormat))
        elif isinstance(token, abcFormat.ABCBar) and notes and pickup is None:
            pickup = sum(note.length for note in notes)
    metre = _metre(text)
    return Tune(name, metre, max(metre.length - (pickup or metre.length), Fraction(0)), tuple(notes))


def _metre(text: str) -> Metre:
    try:
        return Metre.parse(re.search(r"^M:\s*(\S+)", text, re.MULTILINE)[1])
    except (TypeError, TabtermError):
        return Metre.parse("4/4")


def _printed(token, abc) -> Printed:
    from music21.pitch import Pitch

    tuplet = token.activeTuplet.tupletMultiplier() if token.activeTuplet else 1
    length = (Fraction(token.quarterLength) * Fraction(tuplet)).limit_denominator(96)
    parts = token.subTokens if isinstance(token, abc.ABCChord) else [token]
    pitches = [Pitch(part.pitchName).midi for part in parts if not token.isRest and part.pitchName]
    if not pitches or not OPEN[4] <= max(pitches) <= HIGHEST:
        return Printed(None, length)
    marks = "".join(match[1] for word in token.chordSymbols if (match := MARK.fullmatch(word)))
    return Printed(max(pitches), length, frozenset(map(int, marks)))


def score_of(tune: Tune, reading: str = "free") -> Score:
    """The tune on the lowest frets, or where the print tells by a reading, at a usual tempo."""
    pieces = [(Event(duration=EIGHTH), tune.missing)] if tune.missing else []
    for note in tune.notes:
        made = () if note.pitch is None else (_note(note, reading),)
        pieces.append((Event(duration=EIGHTH, notes=made), note.length))
    head = Head(tempo=Tempo(150.0 if tune.metre.compound else 100.0), metre=tune.metre)
    return splice(Score(head=head, measures=(rest_measure(head.metre),)), Place(0), pieces)


def _note(note: Printed, reading: str) -> Note:
    course = {"told": note.told, "placed": note.placed}.get(reading)
    lowest, _ = note.lowest
    return Note(course=course or lowest, fret=note.pitch - OPEN[course or lowest], course_set=course is not None)


def answers(tune: Tune, reading: str) -> list[int]:
    """The finger (0: open) of every note of the tune."""
    if reading == "table":
        frets = (min(note.pitch - low for low in OPEN.values() if note.pitch >= low) for note in _sounding(tune))
        return [TABLE[fret] if fret < len(TABLE) else 4 for fret in frets]
    solved = with_hands(score_of(tune, reading), PLAYER, keep_courses=False)
    return [
        note.proposed_finger or 0
        for measure in solved.measures
        for event in measure.events
        for note in event.notes
        if not note.tied
    ]


def _sounding(tune: Tune) -> list[Printed]:
    return [note for note in tune.notes if note.pitch is not None]


def compare(every: int = 1, readings=READINGS) -> tuple[dict[str, Counter[str]], int]:
    """Kinds of agreement and difference by reading, with "set 4" apart, and the number of tunes."""
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    count = 0
    for tune in tunes(every):
        count += 1
        for reading in readings:
            for note, finger in zip(_sounding(tune), answers(tune, reading), strict=True):
                tells = reading in {"told", "placed"}
                if note.fingers and not (tells and note.fingers == {0}):
                    heading = f"{reading}, set 4" if tells and note.told else reading
                    kinds[heading][_kind(note.fingers, finger)] += 1
    return kinds, count


def _kind(printed: frozenset[int], finger: int) -> str:
    if finger in printed:
        return "the same"
    if finger == 0:
        return "open, printed 4" if 4 in printed else "open, printed 1 to 3"
    if printed == {0}:
        return "stopped, printed open"
    return "the next finger" if min(abs(each - finger) for each in printed) == 1 else "another finger"


if __name__ == "__main__":
    found, number = compare()
    for reading, amounts in found.items():
        total = sum(amounts.values())
        print(f"{reading}: {number} tunes, {total} printed fingers")
        for kind, amount in amounts.most_common():
            print(f"  {kind:24}{amount:6}{100 * amount / total:7.1f} %")
