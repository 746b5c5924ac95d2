"""Usual fingerings of chords of the family: frets and fingers from the lowest course to the highest.

Every line is common practice, no source; G, C and D agree with the table of D. Grisman, "Position Studies"
(mandozine.com), that finger 1 has frets 1 and 2 and finger 2 frets 3 and 4. Where players differ each usual way is
given. An empty fret is a course that is not played.
"""

from __future__ import annotations

from typing import NamedTuple


class Shape(NamedTuple):
    """A chord: its frets and the ways to finger it by course from the lowest, played courses only in the ways."""

    name: str
    frets: tuple[int | None, ...]
    fingers: tuple[tuple[int, ...], ...]
    instrument: str = "mandolin"


OPEN_CHORDS = """
G 0-0-2-3: 0012
C 0-2-3-0: 0120
D 2-0-0-2: 1002
A 2-2-4-0: 1120 1130
Am 2-2-3-0: 1120 1230
Em 0-2-2-3: 0112 0123
Em7 0-2-2-0: 0110 0120
E 1-2-2-0: 1230 1220
F 5-3-0-1: 3201 4201 4301
Dm 2-0-0-1: 2001
Gm 0-0-1-3: 0012 0013
Bm 4-0-2-2: 2011 3011 3012
G7 0-0-2-1: 0021
C7 3-2-3-0: 2130
D7 2-0-3-2: 2031 1032
A7 0-2-4-3: 0132
A7 2-2-4-3: 1132 1143
E7 1-0-2-0: 1020
B7 2-1-2-2: 2134
Am7 2-2-3-3: 1122 1123 1134
Dm7 2-0-3-1: 2031
Gmaj7 0-0-2-2: 0011 0012
Cmaj7 4-2-3-0: 3120
Dsus4 2-0-0-3: 1002
Asus2 2-2-2-0: 1110
Asus4 2-2-5-0: 1130 1140
A5 2-2-0-0: 1100
D5 2-0-0-5: 1003 1004
Bb 3-0-1-1: 2011 3011 3012
B 4-1-2-2: 3112 4112 3122 4122 4123
"""

CLOSED_CHORDS = """
G 7-5-2-3: 4312
A 9-7-4-5: 4312
Bb 10-8-5-6: 4312
C 12-10-7-8: 4312
Am 9-7-3-5: 4312
Gm 7-5-1-3: 4312
C 5-2-3--: 312 412
D 7-4-5--: 312 412
E 9-6-7--: 312 412
F 10-7-8--: 312 412
A7 6-5-7--: 213
D7 5-4-5--: 213 214
C7 9-8-10--: 213
A7 6-5-7-5: 2131 2141
D7 5-4-5-5: 2134 2133
Dm 7-3-5--: 412 413
A 2-2-4-5: 1123 1134
B 4-4-6-7: 1123 1134
C 5-5-7-8: 1123 1134
Am 2-2-3-5: 1123 1124
Bm 4-4-5-7: 1123 1124
Cm 5-5-6-8: 1123 1124
Bm 4-4-5--: 112
F 5-3-3-5: 2113
E 4-2-2-4: 2113
G 7-5-5-7: 2113
Em 4-2-2-3: 3112 4112
D 2-4-5-2: 1231 1341
Gdim7 3-2-4-3: 2143
C+ 1-2-3-4: 1234
"""

LONG_NECKS = """
octave-mandolin G 0-0-2-3: 0012
octave-mandolin C 0-2-3-0: 0120
octave-mandolin D 2-0-0-2: 1002
octave-mandolin Am 2-2-3-0: 1120 1230
octave-mandolin G 4-5-5-3: 2341 2331
tenor-banjo C 0-0-2-3: 0012
tenor-banjo F 0-2-3-0: 0120
tenor-banjo Gm 2-0-0-1: 2001
"""


def _shape(line: str) -> Shape:
    words = line.split()
    instrument = words.pop(0) if "-" in words[0] else "mandolin"
    name, frets, *ways = words
    places = [None if each == "" else int(each) for each in frets.rstrip(":").replace("--", "-").split("-")]
    return Shape(
        f"{name} {frets.rstrip(':')}", tuple(places), tuple(tuple(map(int, way)) for way in ways), instrument
    )


SHAPES = tuple(
    _shape(line) for text in (OPEN_CHORDS, CLOSED_CHORDS, LONG_NECKS) for line in text.strip().splitlines()
)
