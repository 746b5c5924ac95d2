"""The fingers printed in a fiddle collection of 1883, and what the search says to the same notes.

Ryan's Mammoth Collection (Boston 1883) as music21's corpus ships it in ABC; fingers stand there as quoted
digits before their notes. A violin is tuned and, in its first positions, fingered like a mandolin; a printed 4
often stands for a note that an open course would give as well, for the sake of tone under the bow.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from tabterm.hand.proposals import with_hands
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Event, Head, Note, Score
from tabterm.score.operations.timeline import rest_measure, splice
from tabterm.score.place import Place
from tabterm.score.tempo import Tempo

OPEN = {1: 76, 2: 69, 3: 62, 4: 55}


@dataclass(frozen=True)
class Printed:
    """A note of a tune: MIDI pitch, length in quarters, and the finger printed over it, or None."""

    pitch: int
    length: Fraction
    finger: int | None


def tunes(every: int = 1):
    """Every tune of the collection that has printed fingers (or each so-many-th), with its notes."""
    import music21
    from music21 import abcFormat

    folder = Path(music21.__file__).parent / "corpus" / "ryansMammoth"
    paths = [path for path in sorted(folder.glob("*.abc")) if _has_fingers(path)]
    for path in paths[::every]:
        handler = abcFormat.ABCHandler()
        handler.process(path.read_text(encoding="utf-8", errors="replace"))
        notes = list(_notes(handler.tokens, abcFormat))
        if any(note.finger is not None for note in notes):
            yield path.stem, notes


def _has_fingers(path: Path) -> bool:
    text = path.read_text(encoding="utf-8", errors="replace")
    return any(f'"{finger}"' in text for finger in range(5))


def _notes(tokens, abc):
    from music21.pitch import Pitch

    for token in tokens:
        if not isinstance(token, abc.ABCNote) or isinstance(token, abc.ABCChord) or token.isRest:
            continue
        name = token.pitchName
        if not isinstance(name, str) or not token.quarterLength:
            continue
        fingers = [word.strip('"') for word in token.chordSymbols if word.strip('"') in "01234"]
        pitch, length = Pitch(name).midi, Fraction(token.quarterLength).limit_denominator(48)
        if OPEN[4] <= pitch <= OPEN[1] + 20:
            yield Printed(pitch, length, int(fingers[-1]) if fingers and fingers[-1] else None)


def score_of(notes) -> Score:
    """The notes in common time on the lowest frets, at a usual tempo."""
    pieces = []
    for note in notes:
        course = next(course for course, lowest in OPEN.items() if note.pitch >= lowest)
        made = Note(course=course, fret=note.pitch - OPEN[course])
        pieces.append((Event(duration=EIGHTH, notes=(made,)), note.length))
    head = Head(tempo=Tempo(100.0))
    return splice(Score(head=head, measures=(rest_measure(head.metre),)), Place(0), pieces)


def answers(score: Score) -> list[tuple[int, int]]:
    """Fret and finger (0: open) of every note that is struck, courses chosen by the search."""
    return [
        (note.fret, note.proposed_finger or 0)
        for measure in with_hands(score, keep_courses=False).measures
        for event in measure.events
        for note in event.notes
        if not note.tied
    ]


def compare(every: int = 1) -> tuple[Counter[str], int]:
    """Kinds of agreement and difference over all printed fingers, and the number of tunes."""
    kinds: Counter[str] = Counter()
    count = 0
    for _, notes in tunes(every):
        given = answers(score_of(notes))
        if len(given) != len(notes):
            continue
        count += 1
        for note, (_, finger) in zip(notes, given, strict=True):
            if note.finger is not None:
                kinds[_kind(note.finger, finger)] += 1
    return kinds, count


def _kind(printed: int, finger: int) -> str:
    if printed == finger:
        return "the same"
    if {printed, finger} == {0, 4} or finger == 0:
        return "open, printed 4" if printed == 4 else "open, printed 1 to 3"
    if printed == 0:
        return "stopped, printed open"
    return "the next finger" if abs(printed - finger) == 1 else "another finger"


if __name__ == "__main__":
    found, number = compare()
    total = sum(found.values())
    print(f"{number} tunes, {total} printed fingers")
    for kind, amount in found.most_common():
        print(f"  {kind:24}{amount:6}{100 * amount / total:7.1f} %")
