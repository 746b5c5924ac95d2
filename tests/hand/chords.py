"""What a student is told of chords and bends, and how far the program agrees.

`python -m tests.hand.chords` prints the table of the page `docs/judgement.md`. Where no other source is named a
fact is common practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.adapt import adapt
from tabterm.hand.adapt.chords import frets_words
from tabterm.harmony.chords import parse_chord
from tabterm.harmony.voicings import shapes
from tabterm.instrument import PRESETS
from tabterm.score.kinds import Reached
from tabterm.score.model import Bend
from tests.build import PLAYER
from tests.foreign import line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.line import Line
    from tabterm.score.model import Event

MANDOLIN = PRESETS["mandolin"]

_LINES = (Path(__file__).parents[1] / "harmony" / "usual_shapes.txt").read_text(encoding="utf-8").splitlines()
USUAL = [tuple(each.split()) for each in _LINES if not each.startswith("#")]
"""Symbols and the shapes that players know for them; sources in the file."""

GUITAR = {
    "G2+B2+D3+G3+B3+G4": "0-0-2-3",
    "A2+E3+A3+C#4+E4": "2-2-4-0",
    "A2+E3+A3+C4+E4": "2-2-3-0",
    "F2+C3+F3+A3+C4+F4": "5-3-0-1",
    "E2+B2+E3+G3+B3+E4": "0-2-2-0",
    "E2+B2+E3+G#3+B3+E4": "1-2-2-0",
    "C3+E3+G3+C4+E4": "0-2-3-0",
    "D3+A3+D4+F#4": "2-0-0-2",
    "D3+A3+D4+F4": "2-0-0-1",
    "G2+B2+D3+G3+B3+F4": "0-0-2-1",
}
"""A guitarist's first chords, and the shapes that a player of the mandolin takes for them."""

SOLO = {
    "E5+A5": "x-x-7-5",
    "E5+B5": "x-x-7-7",
    "A4+D5": "x-7-5-x",
    "D4+A4": "x-0-0-x",
    "A4+E5": "x-x-0-0",
}
"""Fourths and fifths of a solo: on neighbouring courses, not an open one and fret 12 below it."""

BENT = {
    # a guitarist's whole tones, from below, from above, and back
    "B4/4 D5/2 E5/4": (200, "rise", "{2.5}/2.7", "to E5"),
    "B4/4 D5/2 D5/4": (200, "fall", "{2.7}/2.5", "from E5"),
    "B4/4 D5/2 C5/4": (200, "rise-and-fall", "{2.5/2.7}/2.5", "to E5 and back"),
    "B4/4 G5/2 E5/4": (200, "rise", "{1.3}/1.5", "to A5"),
    "A4/4 C5/2 A4/4": (300, "rise", "{2.3}/2.6", "to Eb5"),
    "G4/4 G3/2 A4/4": (200, "rise", "{4.0}h4.2", "to A3"),
    # between two frets: a slide, and what is left as a bend
    "B4/4 G5/2 A5/4": (150, "rise", "{1.3}/1.4 b50", "to Ab5 and a bend of 50 cents"),
    # small ones that the course gives stay
    "E5/4 C5/2 E5/4": (50, "rise", "2.3 b50", ""),
    "D5/4 E5/2 F5/4": (100, "rise", "2.7 b100", ""),
    "E4/4 F4/2 E4/4": (75, "rise", "3.3 b75", ""),
}
"""The second note of a line with a bend: cents, shape; what is played for it, and how that is told."""

SIGNS = {Reached.SLIDE: "/", Reached.HAMMER: "h"}


def rank_of(symbol: str, shape: str) -> int:
    """Place of a shape, from 1, among those of its sort; 0 where the table does not have it."""
    found = shapes(parse_chord(symbol), MANDOLIN, ringing=True)
    wanted = next((each for each in found if str(each) == shape), None)
    return 0 if wanted is None else [each for each in found if each.sort is wanted.sort].index(wanted) + 1


def played(words: dict[str, str]) -> list[str]:
    """The shape of each chord of a line of half notes with rests between them."""
    found = adapt(line(" | ".join(f"{word}/2 r/2" for word in words)), PLAYER).score
    events = [measure.events[0] for measure in found.measures]
    return [frets_words(MANDOLIN, [note.spot for note in event.notes]) for event in events]


def bent(sung: Line, number: int, bend: Bend) -> Line:
    """The line with a bend on one moment of its first measure."""
    events = list(sung.measures[0].events)
    events[number] = events[number].with_(notes=(events[number].notes[0].with_(bend=bend),))
    return sung.with_(measures=(sung.measures[0].with_(events=tuple(events)), *sung.measures[1:]))


def fitted_bend(words: str) -> Event:
    """What is played for the bend of a line of `BENT`."""
    cents, shape, *_ = BENT[words]
    return adapt(bent(line(words), 1, Bend(cents=cents, shape=shape)), PLAYER).score.measures[0].events[1]


def shown(event: Event) -> str:
    """A note with its grace notes: `{2.5}/2.7`."""
    (note,) = event.notes
    grace = "".join(f"{SIGNS.get(each.reached, '')}{each.course}.{each.fret}" for each in event.grace)
    bend = f" b{note.bend.cents}" if note.bend else ""
    return f"{{{grace}}}" * bool(grace) + f"{SIGNS.get(note.reached, '')}{note.course}.{note.fret}{bend}"


class Agrees(NamedTuple):
    """A line of the table: what is counted, how many agree, of how many, and how many did before."""

    what: str
    right: int
    total: int
    before: int

    def __str__(self) -> str:
        return f"| {self.what} | {self.before} of {self.total} | {self.right} of {self.total} |"


def table() -> Iterator[Agrees]:
    """How far chords and bends agree with what a student is told.

    "Before" was measured here by the same counts before a hand could leave a finger out of a shape, chords were
    fitted by the table and bends slid.
    """
    ranks = [rank_of(*each) for each in USUAL]
    yield Agrees("usual shapes: in the list", sum(rank > 0 for rank in ranks), len(ranks), 63)
    yield Agrees("usual shapes: the first of their kind", ranks.count(1), len(ranks), 38)
    yield Agrees(
        "usual shapes: the first or second of their kind", sum(0 < rank < 3 for rank in ranks), len(ranks), 53
    )
    for what, wanted, before in (
        ("a guitarist's first chords, fitted", GUITAR, 1),
        ("fourths and fifths of a solo, fitted", SOLO, 3),
    ):
        pairs = zip(played(wanted), wanted.values(), strict=True)
        yield Agrees(what, sum(one == other for one, other in pairs), len(wanted), before)
    slid = sum(shown(fitted_bend(words)) == told[2] for words, told in BENT.items())
    yield Agrees("bends of a recording, fitted", slid, len(BENT), 3)


if __name__ == "__main__":
    print("| | before | now |", "|---|---|---|", *table(), sep="\n")
