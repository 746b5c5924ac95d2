"""What a teacher would have the bass play under twelve lines of chords: common practice, no source.

Root and fifth, each note long enough to be heard; a walk only at the end of a phrase, which is the fourth measure
where nothing else ends one, and by the steps of the key while the tune moves.
"""

from __future__ import annotations

from typing import NamedTuple


class Line(NamedTuple):
    """A line of chords and its bass.

    Attributes:
        style: Its style.
        key: Its key.
        metre: Its metre.
        chords: A symbol a measure.
        tune: Note values of the tune in each measure.
        bass: Its notes, measure by measure.
    """

    style: str
    key: str
    metre: str
    chords: str
    tune: str
    bass: str


LINES = (
    # Root and fifth; the fourth measure walks down to the tonic by the steps of the key.
    Line("bass-and-chop", "G", "4/4", "G G C D G", "8 8 8 8 8 8 8 8", "G2 D3 | G2 D3 | C3 G2 | D3 B2 A2 | G2 D3"),
    # The same under a tune that holds still: nothing else.
    Line("bass-and-chop", "G", "4/4", "G G C D G", "1", "G2 D3 | G2 D3 | C3 G2 | D3 B2 A2 | G2 D3"),
    # From C to D there is only a semitone between: not under a tune that moves ...
    Line("bass-and-chop", "C", "4/4", "C F C C Dm", "8 8 8 8 8 8 8 8", "C3 G2 | F3 C3 | C3 G2 | C3 G2 | D3 A2"),
    # ... but under a long note.
    Line("bass-and-chop", "C", "4/4", "C F C C Dm", "1", "C3 G2 | F3 C3 | C3 G2 | C3 C3 C#3 | D3 A2"),
    # Two to the measure.
    Line("bass-and-chop", "A", "2/4", "A A D E A", "8 8 8 8", "A2 E3 | A2 E3 | D3 A2 | E3 C#3 B2 | A2 E3"),
    # A waltz with a chord a measure: roots, and one walk in four measures.
    Line("waltz", "G", "3/4", "G D Em C G", "4 4 4", "G2 | D3 | E3 | C3 B2 A2 | G2"),
    # A waltz that stays: root and fifth from measure to measure.
    Line("waltz", "G", "3/4", "G G D D G", "4 4 4", "G2 | D3 | D3 | D3 B2 A2 | G2"),
    # A jig.
    Line("jig", "D", "6/8", "D D A A7 D", "8 8 8 8 8 8", "D3 A2 | D3 A2 | A2 E3 | A2 B2 C#3 | D3 A2"),
    # A reel goes as a two-beat does.
    Line("reel", "D", "4/4", "D D G A D", "8 8 8 8 8 8 8 8", "D3 A2 | D3 A2 | G2 D3 | A2 B2 C#3 | D3 A2"),
    # Rock stays on the root, in eighths, and leads on at the end of the phrase.
    Line(
        "rock",
        "A",
        "4/4",
        "A A D E A",
        "8 8 8 8 8 8 8 8",
        "A2 A2 A2 A2 A2 A2 A2 A2 | A2 A2 A2 A2 A2 A2 A2 A2 | D3 D3 D3 D3 D3 D3 D3 D3 | "
        "E3 E3 E3 E3 E3 E3 C#3 B2 | A2 A2 A2 A2 A2 A2 A2 A2",
    ),
    # Minor, down by the steps of the scale.
    Line("slow-ballad", "Am", "4/4", "Am Am Dm E7 Am", "4 4 4 4", "A2 | A2 | D3 | E3 C3 B2 | A2"),
    # A style that walks walks at every change, by steps of the key where the tune moves.
    Line(
        "swing-four",
        "C",
        "4/4",
        "C C F G7 C",
        "8 8 8 8 8 8 8 8",
        "C3 E3 G2 E3 | C3 G2 D3 E3 | F3 C3 B2 A2 | G2 D3 A2 B2 | C3 E3 G2 E3",
    ),
)
