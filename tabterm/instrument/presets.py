"""The family of instruments tuned in fifths, as a table with its sources.

Tunings are the standard ones of each instrument (common practice). Scale lengths: mandolin 13 7/8 in and the
mandola, octave mandolin, mandocello and tenor banjo ranges as given in the family tables of the English
Wikipedia articles "Mandolin", "Octave mandolin" and "Tenor banjo" and at banjolin.co.uk; where a range is
published the value here is a usual one inside it. Distance between courses at the nut: 1 1/8 in nut with
1/16 in margins, after ask-a-luthier.com question 2, taken as 7 mm; at the bridge from memory.
General MIDI program numbers: General MIDI 1 sound set (26 steel guitar, 106 banjo; counted from 1 there).
"""

from __future__ import annotations

from tabterm.errors import InstrumentError
from tabterm.instrument.model import Course, Instrument


def _fifths(lowest: int, *, octave_courses: tuple[int, ...] = (), single: bool = False) -> tuple[Course, ...]:
    """Four courses in fifths, highest first; `octave_courses` counts from 1 = highest."""
    return tuple(
        Course(pitch=lowest + 7 * (4 - number), octave=number in octave_courses, single=single)
        for number in range(1, 5)
    )


#: MIDI note, frets, mm, General MIDI program; common practice, no source: tunings and frets; scale lengths within
#: the ranges named above; distances of courses: from memory
PRESETS: dict[str, Instrument] = {
    "mandolin": Instrument(name="Mandolin", courses=_fifths(55), frets=20, scale_length_mm=352.425),
    "mandola": Instrument(
        name="Mandola", courses=_fifths(48), frets=20, scale_length_mm=431.8, course_pitch_nut_mm=7.5
    ),
    "octave-mandolin": Instrument(
        name="Octave mandolin", courses=_fifths(43), frets=19, scale_length_mm=558.8, course_pitch_nut_mm=8.0
    ),
    "octave-mandolin-octave-strung": Instrument(
        name="Octave mandolin, octave-strung",
        courses=_fifths(43, octave_courses=(3, 4)),
        frets=19,
        scale_length_mm=558.8,
        course_pitch_nut_mm=8.0,
    ),
    "mandocello": Instrument(
        name="Mandocello", courses=_fifths(36), frets=20, scale_length_mm=635.0, course_pitch_nut_mm=9.0
    ),
    "tenor-banjo": Instrument(
        name="Tenor banjo",
        courses=_fifths(48, single=True),
        frets=19,
        scale_length_mm=584.2,
        course_pitch_nut_mm=8.5,
        program=105,
    ),
    "tenor-banjo-low": Instrument(
        name="Tenor banjo, an octave below the mandolin",
        courses=_fifths(43, single=True),
        frets=17,
        scale_length_mm=533.4,
        course_pitch_nut_mm=8.5,
        program=105,
    ),
}
"""Every preset by the word that names it on the command line."""


def preset(word: str) -> Instrument:
    """Look a preset up.

    Raises:
        InstrumentError: No such preset; the hint lists them.
    """
    try:
        return PRESETS[word]
    except KeyError:
        raise InstrumentError(f"no instrument '{word}'", hint=f"one of: {', '.join(PRESETS)}") from None
