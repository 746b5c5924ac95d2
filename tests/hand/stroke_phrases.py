"""Ten phrases and more with the strokes that a teacher would write: common practice, no source.

A roll is three strokes over three courses, whatever the note value; a last pair goes down up. Quarter triplets go
down up down over two beats. A treble, three quick notes at one fret, begins with the stroke of its place and
alternates; so do a cut, which is a very short note, and the note that it leads to. What follows goes on as if the
treble or the cut were one note.
"""

from __future__ import annotations

from typing import NamedTuple


class Phrase(NamedTuple):
    """Music as in `tests.build`, its metre and school, and a letter for the stroke of each event."""

    music: str
    metre: str
    school: str
    strokes: str


def _run(value: str, courses: str) -> str:
    return ",".join(f"{value} {course}.2" for course in courses)


PHRASES = (
    # Sixteenths, twice 3+3+2.
    Phrase(f"{_run('16', '3213213232132132')}", "4/4", "roll-down-up-up", "DUUDUUDUDUUDUUDU"),
    # Triplets.
    Phrase(_run("8(3:2)", "321321321321"), "4/4", "roll-down-up-up", "DUUDUUDUUDUU"),
    # Sextuplets, twelve notes in two beats, and half a measure that is no roll.
    Phrase(_run("16(6:4)", "321321321321") + ",4 2.2,4 1.2", "4/4", "roll-down-down-up", "DDUDDUDDUDDUDD"),
    # Jigs, slip jigs and slides.
    Phrase(_run("8", "321321"), "6/8", "roll-down-up-up", "DUUDUU"),
    Phrase(_run("8", "321321321"), "9/8", "roll-down-down-up", "DDUDDUDDU"),
    Phrase(_run("8", "321321321321"), "12/8", "roll-down-up-up", "DUUDUUDUUDUU"),
    # Six eighths in three beats, and six in four.
    Phrase(_run("8", "321321") + "|" + _run("8", "321321"), "3/4", "roll-down-up-up", "DUUDUU|DUUDUU"),
    Phrase(_run("8", "321321") + ",4 2.2", "4/4", "roll-down-up-up", "DUUDUUD"),
    # Over the bar line: a roll of two measures in 2/4, and one that begins with the third beat.
    Phrase(_run("8", "3213") + "|" + _run("8", "2132"), "2/4", "roll-down-up-up", "DUUD|UUDU"),
    Phrase(
        "2 2.2," + _run("8", "3213") + "|" + _run("8", "2132") + ",2 2.2", "4/4", "roll-down-up-up", "DDUUD|UUDUD"
    ),
    # Groups of three and two as the metre has them.
    Phrase(_run("8", "3213232"), "7/8(3+2+2)", "roll-down-up-up", "DUUDUDU"),
    Phrase(_run("8", "321321"), "6/8", "roll-alternate", "DUDUDU"),
    # Quarter triplets, also in the second half, and half triplets.
    Phrase("4(3:2) 1.2,4(3:2) 1.3,4(3:2) 1.5,4 1.2,4 1.3", "4/4", "beat", "DUDDD"),
    Phrase("8 1.2,8 1.3,4 1.2,4(3:2) 1.2,4(3:2) 2.3,4(3:2) 1.5", "4/4", "beat", "DUDDUD"),
    Phrase("2(3:2) 1.2,2(3:2) 1.3,2(3:2) 1.5", "4/4", "beat", "DUD"),
    # Trebles on the beat, behind it, behind two sixteenths, and within a jig.
    Phrase("16(3:2) 1.2,16(3:2) 1.2,16(3:2) 1.2,8 1.3,4 1.2,2 1.2", "4/4", "beat", "DUDUDD"),
    Phrase("8 1.3,16(3:2) 1.2,16(3:2) 1.2,16(3:2) 1.2,4 1.2,2 1.2", "4/4", "beat", "DUDUDD"),
    Phrase("16 1.3,16 1.5,16(3:2) 1.2,16(3:2) 1.2,16(3:2) 1.2,4 1.2,2 1.2", "4/4", "beat", "DUDUDDD"),
    Phrase("8 1.3,16(3:2) 1.2,16(3:2) 1.2,16(3:2) 1.2,8 1.2,4. 1.2", "6/8", "beat", "DUDUDD"),
    # A cut, struck or pulled off, and the eighth behind it.
    Phrase("32 1.3,16. 1.2,8 1.5,4 1.2,2 1.2", "4/4", "beat", "DUUDD"),
    Phrase("32 1.3,16. p1.2,8 1.5,4 1.2,2 1.2", "4/4", "beat", "D.UDD"),
    # Strict alternation counts what is struck, long or short, in a treble or a triplet; no rest, slur or tie.
    Phrase("4 1.2,8 1.3,8 1.2,4 1.2,4 1.0", "4/4", "alternate", "DUDUD"),
    Phrase("4. 1.2,8 1.3,4 1.2,4 1.0|4 1.2,4 1.3,2 1.2", "4/4", "alternate", "DUDU|DUD"),
    Phrase("4,8 1.3,8 1.2,4,4 1.0", "4/4", "alternate", ".DU.D"),
    Phrase("8 1.2,8 h1.3,8 1.2,8 1.0,4 1.2,4 (1.2", "4/4", "alternate", "D.UDU."),
    Phrase("16(3:2) 1.2,16(3:2) 1.2,16(3:2) 1.2,8 1.3,4 1.2,2 1.2", "4/4", "alternate", "DUDUDU"),
    Phrase("4(3:2) 1.2,4(3:2) 1.3,4(3:2) 1.5,4 1.2,4 1.3", "C|", "alternate", "DUDUD"),
    Phrase("4 1.2,8 1.3,4 1.2,8 1.0", "6/8", "alternate", "DUDU"),
    # Cut time: eighths in the measure, under a slur, behind a dot; sixteenths, triplets and rests.
    Phrase("4 1.2,8 1.3,8 1.2,4 1.2,4 1.0", "C|", "beat", "DDUDD"),
    Phrase("4 1.2,8 1.3,8 h1.5,4 1.2,4 1.0", "C|", "beat", "DD.DD"),
    Phrase("4. 1.2,8 1.3,4 1.2,4 1.0", "C|", "beat", "DUDD"),
    Phrase("16 1.2,16 1.3,8 1.2,4 1.0,4 1.2,4 1.3", "2/2", "beat", "DUDDDD"),
    Phrase("8(3:2) 1.2,8(3:2) 1.3,8(3:2) 1.2,4 1.0,4 1.2,4 1.3", "C|", "beat", "DUDDDD"),
    Phrase("4,4 1.2,8 1.3,8 1.2,4 1.2", "C|", "beat", ".DDUD"),
    Phrase("4 1.2,4 1.3,8 1.2,8 1.0,4 1.2,4 1.3,4 1.2", "3/2", "beat", "DDDUDDD"),
    # Cut time: quarters in a part that moves in eighths elsewhere, before or behind.
    Phrase("4 1.2,4 1.3,4 1.2,4 1.0|2 1.2,2 1.3|4 1.2,8 1.3,8 1.2,4 1.2,4 1.0", "C|", "beat", "DDDD|DD|DDUDD"),
    Phrase("8 1.2,8 1.3,4 1.2,2 1.0|4 1.2,4 1.3,4 1.2,4 1.0", "C|", "beat", "DUDD|DDDD"),
    # Cut time: nothing quicker than quarters, alone, in threes, or in a triplet over a half.
    Phrase("4 1.2,4 1.3,4 1.2,4 1.0|2 1.2,4 1.3,4 1.2", "C|", "beat", "DUDU|DDU"),
    Phrase("4 1.2,4 1.3,4 1.2,4 1.0,4 1.2,4 1.3", "3/2", "beat", "DUDUDU"),
    Phrase("4(3:2) 1.2,4(3:2) 1.3,4(3:2) 1.2,4 1.0,4 1.2", "C|", "beat", "DUDDU"),
)
