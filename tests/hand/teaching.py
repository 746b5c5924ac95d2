"""What a teacher says first at the hard place of a phrase: common practice, no source, written down before it was
tried.

Each phrase is played by a grown hand of whom nothing else is known. `after` is the music as the teacher leaves it;
fingers stand there only where they are what matters. Where several ways are as good they are parted by ` or `.
Where the teacher would touch neither notes nor fingers unasked the music stays as it is, and `says` is how the
remedy begins that the pupil may choose.
"""

from __future__ import annotations

from typing import NamedTuple

from tabterm.instrument import PRESETS
from tabterm.score.tempo import Tempo
from tests.build import music


class Phrase(NamedTuple):
    """A phrase with one hard place.

    Attributes:
        hard: What is hard, in a few words.
        music: As the pupil brings it.
        after: As the teacher leaves it.
        at: Measure from 1, and quarters from its start, of the hard place.
        tempo: Quarters a minute.
        kind: The kind of the remedy; "" where there is nothing to mend.
        says: How the remedy begins that the pupil may choose, where none is done unasked.
        instrument: Its name.
        metre: Its metre.
    """

    hard: str
    music: str
    after: str
    at: tuple[int, str] = (1, "0")
    tempo: float = 100.0
    kind: str = "finger"
    says: str = ""
    instrument: str = "mandolin"
    metre: str = "4/4"

    def score(self, text: str | None = None):
        """The phrase, or other music of the same head."""
        head = {"instrument": PRESETS[self.instrument], "tempo": Tempo(self.tempo)}
        return music(self.music if text is None else text, self.metre, **head)


THIRDS = "8 1.2 2.5, 8 1.3.{} 2.7.{}, 8 1.2 2.5, 8 1.3 2.7, 4 1.2 2.5"
OCTAVE = "octave-mandolin"

PHRASES = (
    # another finger
    Phrase(
        "thirds a whole hand wide, held by 2 and 4",
        THIRDS.format(2, 4),
        THIRDS.format(1, 4),
        at=(1, "1/2"),
        tempo=140,
        metre="3/4",
    ),
    Phrase("one finger on two frets at once", "1 1.3.2 2.5.2", "1 1.3.1 2.5.3 or 1 1.3.1 2.5.2 or 1 1.3.2 2.5.3"),
    Phrase(
        "a quick turn by the ring and the little finger",
        "16 1.3.3, 16 1.5.4, 16 1.3.3, 16 1.5.4, 4 1.3, 2 1.0",
        "16 1.3.1, 16 1.5.3, 16 1.3.1, 16 1.5.3, 4 1.3, 2 1.0"
        " or 16 1.3.1, 16 1.5.2, 16 1.3.1, 16 1.5.2, 4 1.3, 2 1.0"
        " or 16 1.3.2, 16 1.5.3, 16 1.3.2, 16 1.5.3, 4 1.3, 2 1.0",
        at=(1, "1/2"),
        tempo=110,
    ),
    Phrase(
        "one finger rolls over to the next course and another fret",
        "16 2.3.2 down, 16 1.2.2 down, 8 1.3, 4 1.2, 2 1.0",
        "16 2.3.2 down, 16 1.2.1 down, 8 1.3, 4 1.2, 2 1.0",
        at=(1, "1/4"),
        tempo=130,
    ),
    Phrase(
        "a hammer-on by a lower finger", "2 2.2.3, 2 h2.4.1", "2 2.2.1, 2 h2.4.3 or 2 2.2.1, 2 h2.4.2", at=(1, "2")
    ),
    Phrase(
        "another finger takes a repeated note over",
        "8 1.5.3, 8 1.5.4, 4 1.3, 2 1.2",
        "8 1.5.4, 8 1.5.4, 4 1.3, 2 1.2 or 8 1.5.3, 8 1.5.3, 4 1.3, 2 1.2",
        at=(1, "1/2"),
    ),
    Phrase(
        "a double stop of the first frets, spread over the whole hand",
        "2 2.1.1 3.4.2, 2 2.0 3.0",
        "2 2.1.1 3.4.4, 2 2.0 3.0 or 2 2.1.1 3.4.3, 2 2.0 3.0",
    ),
    # another course and fret within the hand
    Phrase(
        "a seventh fret out of first position",
        "8 1.0, 8 1.2, 8 1.3, 8 2.12, 8 1.3, 8 1.2, 4 1.0",
        "8 1.0, 8 1.2, 8 1.3, 8 1.5, 8 1.3, 8 1.2, 4 1.0",
        at=(1, "3/2"),
        tempo=180,
        kind="course",
    ),
    Phrase(
        "a twelfth fret right after an open course",
        "8 2.0, 8 2.2, 8 2.3, 8 3.12, 8 2.3, 8 2.2, 4 2.0",
        "8 2.0, 8 2.2, 8 2.3, 8 2.5, 8 2.3, 8 2.2, 4 2.0",
        at=(1, "3/2"),
        tempo=180,
        kind="course",
    ),
    Phrase("a high note held over a low one", "2 1.12 2.2, 2 1.12", "2 1.12 3.9, 2 1.12", kind="course"),
    Phrase("a fret that the neck does not have", "2 2.21, 2 2.19", "2 1.14, 2 2.19", kind="course"),
    Phrase(
        "thirds, one of them across the neck",
        "4 1.0 2.3, 4 1.2 3.12, 4 1.0 2.3, 4 1.0 2.2",
        "4 1.0 2.3, 4 1.2 2.5, 4 1.0 2.3, 4 1.0 2.2",
        at=(1, "1"),
        kind="course",
    ),
    # another way of reaching the note
    Phrase("a hammer-on that goes down", "2 1.5, 2 h1.3", "2 1.5, 2 p1.3", at=(1, "2"), kind="slur"),
    Phrase("a pull-off that goes up", "2 1.3, 2 p1.5", "2 1.3, 2 h1.5", at=(1, "2"), kind="slur"),
    Phrase("a slide down to the open course", "2 2.2, 2 /2.0", "2 2.2, 2 p2.0", at=(1, "2"), kind="slur"),
    Phrase("a slide up from the open course", "2 2.0, 2 /2.4", "2 2.0, 2 h2.4", at=(1, "2"), kind="slur"),
    Phrase("a hammer-on to another course", "2 2.3, 2 h1.0", "2 2.3, 2 1.0", at=(1, "2"), kind="slur"),
    Phrase(
        "a hammer-on that no hand spans",
        "4 1.1, 4 h1.12, 2 1.10",
        "4 1.1, 4 /1.12, 2 1.10 or 4 1.1, 4 1.12, 2 1.10",
        at=(1, "1"),
        kind="slur",
    ),
    Phrase("a bend by a whole tone", "2 2.3b200, 2 2.2", "2 [2.3] /2.5, 2 2.2", kind="slur"),
    Phrase("a bend by a semitone near the nut", "2 1.1b100, 2 1.0", "2 [1.1] /1.2, 2 1.0", kind="slur"),
    Phrase("a bend of an open course", "2 2.0b100, 2 2.2", "2 [2.0] h2.1, 2 2.2", kind="slur"),
    Phrase(
        "a run picked faster than the hand",
        "16 1.0, 16 1.2, 16 1.3, 16 1.5, 4 1.3, 2 1.2",
        "16 1.0, 16 h1.2, 16 1.3, 16 1.5, 4 1.3, 2 1.2",
        at=(1, "1/4"),
        tempo=230,
        kind="slur",
    ),
    # the right hand
    Phrase(
        "two down-strokes faster than the hand comes back",
        "16 2.2 down, 16 2.3 down, 8 2.2, 4 2.0, 2 2.2",
        "16 2.2 down, 16 2.3 up, 8 2.2, 4 2.0, 2 2.2 or 16 2.2 down, 16 2.3, 8 2.2, 4 2.0, 2 2.2",
        at=(1, "1/4"),
        tempo=150,
        kind="stroke",
    ),
    Phrase(
        "a stroke on a note that is hammered on",
        "8 2.2, 8 h2.3 down, 4 2.2, 2 2.0",
        "8 2.2, 8 h2.3, 4 2.2, 2 2.0",
        at=(1, "1/2"),
        kind="stroke",
    ),
    # another shape of the same chord
    Phrase(
        "G as on the small neck, on a long one",
        "1 1.3 2.2 3.5 4.7",
        "1 1.3 2.2 3.0 4.0 or 1 1.3 2.5 3.5 4.4",
        kind="shape",
        instrument=OCTAVE,
    ),
    Phrase(
        "A as on the small neck, on a long one",
        "1 1.5 2.4 3.7 4.9",
        "1 1.5 2.4 3.2 4.2 or 1 1.5 2.7 3.7 4.6",
        kind="shape",
        instrument=OCTAVE,
    ),
    Phrase(
        "C as on the small neck, on a long one",
        "1 1.8 2.7 3.10 4.12",
        "1 1.8 2.7 3.5 4.5 or 1 1.8 2.10 3.10 4.9",
        kind="shape",
        instrument=OCTAVE,
    ),
    # what is only offered
    Phrase(
        "a shift up the neck that has no other place",
        "8 1.2, 8 1.13, 8 1.2, 8 1.13, 2 1.0",
        "8 1.2, 8 1.13, 8 1.2, 8 1.13, 2 1.0",
        at=(1, "1/2"),
        tempo=220,
        kind="measure",
        says="this measure at ",
    ),
    Phrase(
        "one note repeated faster than the hand",
        "16 1.5, 16 1.5, 16 1.5, 16 1.5, 4 1.3, 2 1.2 | 1 1.0",
        "16 1.5, 16 1.5, 16 1.5, 16 1.5, 4 1.3, 2 1.2 | 1 1.0",
        at=(1, "1/4"),
        tempo=230,
        kind="measure",
        says="this measure at ",
    ),
    Phrase(
        "a reach that has no other place",
        "8 2.3, 8 1.0, 8 1.3, 4 1.8.4 3.2.1, 8 1.3, 4 2.3",
        "8 2.3, 8 1.0, 8 1.3, 4 1.8.4 3.2.1, 8 1.3, 4 2.3",
        at=(1, "3/2"),
        tempo=104,
        kind="rhythm",
        says="the low note first",
    ),
)
"""The phrases, by what the teacher does first."""

DIFFERS = {
    "thirds a whole hand wide, held by 2 and 4": "by `hard` a move of a fret at each eighth is above the limit"
}
"""Phrases at which the program offers something else, and why."""
