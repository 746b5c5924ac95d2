"""How far two fingers reach along the neck: bands in millimetres, a default to calibrate, not anatomy.

Natural is the median and comfortable the 95th percentile (rounded up) of what ten professional violinists did
in one hand position on a 328 mm string (counted in the TNUA violin fingering data set: Jen et al. 2021,
108,795 labelled notes). Hard and extreme are a knuckle-and-lever model of the hand, 70 % curled and flat, worked
out once from the finger lengths and abduction angles of Chatzioglou, Pinar and Govsa 2024, Anat Cell Biol
57(2):172-182, with knuckles 20 mm apart (assumed), and not repeatable here; for fingers 1 and 2 hard is the
violinists' 99th percentile. The model's flat span of index to little finger, 143 mm, agrees within 6 % with the
border of a small hand in Boyle, Boyle and Booker 2015, "Pianist Hand Spans". All bands scale with the player's own
flat span.
"""

from __future__ import annotations

from enum import StrEnum

from tabterm.dataclass import dataclass

#: mm; finger lengths and angles of Chatzioglou, Pinar and Govsa 2024; worked out once, not repeatable here
REFERENCE_SPAN_MM = 143.0
"""Flat span of index to little finger of the adult reference hand."""


TOLERANCE = 1.06  #: times comfortable; tuned here, at the 6 % by which the two sources of the bands differ
"""A held reach is a finding from so many times comfortable on: the two sources of the bands agree within 6 %, and
first position lies close to the limit (frets 3 to 5, fingers 2 and 3: 32.3 mm of 31)."""

FINGERTIP_MM = 18.0  #: mm; from memory: 16 to 18
"""Breadth of a fingertip: fingers that cross by more cannot."""

CROSSED_MM = 6.0  #: mm a point; tuned here
"""Fingers that cross by so much take a point."""

AT_COMFORTABLE, AT_HARD = 1.0, 3.0  #: points; definition: the unit of the scale, and three of it
AT_EXTREME, CRAMPED = 8.0, 60.0  #: points; tuned here
"""Points where a band ends, and for what no hand does: so many that a choice of the player's that asks it is still
carried out."""

TOLERATED_IN_TURN = 2.0  #: points; tuned here
"""Points (see `effort`) up to which two struck notes in a row are none."""


class Verdict(StrEnum):
    """What a reach asks of the hand; awkward is said of fingers that cross a little."""

    NATURAL = "natural"
    COMFORTABLE = "comfortable"
    AWKWARD = "awkward"
    HARD = "hard"
    EXTREME = "extreme"
    IMPOSSIBLE = "impossible"


VERDICTS = tuple(Verdict)
"""From easy to impossible."""


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of one pair of fingers for the reference hand, in mm along the neck."""

    natural_mm: float
    comfortable_mm: float
    hard_mm: float
    extreme_mm: float


#: mm; measured here (python -m tests.hand.violin FOLDER): medians and 95th percentiles of TNUA (Jen et al. 2021),
#: rounded, these up; hard and extreme: worked out once from Chatzioglou, Pinar and Govsa 2024, not repeatable here
BANDS: dict[tuple[int, int], Band] = {
    #: mm; from TNUA (Jen et al. 2021), then changed by us: was 33.8 comfortable and, of the flat hand, 47 extreme,
    #: now 34.5 and 50, because frets 2 to 4 of a mandolin (34.3 mm) are first position, and hard is 49
    (1, 2): Band(24, 34.5, 49, 50),
    (2, 3): Band(24, 31, 36, 42),
    (3, 4): Band(14, 29, 49, 62),
    (1, 3): Band(47, 64, 73, 87),
    (2, 4): Band(41, 57, 83, 103),
    #: mm; from TNUA (Jen et al. 2021), then changed by us: was 77.7 comfortable, now 79, because frets 2 to 7 of a
    #: mandolin (78.8 mm) are first position
    (1, 4): Band(62, 79, 118, 143),
}
"""By pair of fingers, the lower number first."""


def band_of(fingers: tuple[int, int], span_mm: float) -> Band:
    """The band of two different fingers (1 to 4, lower first), scaled to the player's span in mm."""
    band, scale = BANDS[fingers], span_mm / REFERENCE_SPAN_MM
    return Band(
        band.natural_mm * scale, band.comfortable_mm * scale, band.hard_mm * scale, band.extreme_mm * scale
    )


def judge(fingers: tuple[int, int], reach_mm: float, span_mm: float) -> Verdict:
    """What a reach in mm asks of two fingers (lower first); a higher finger nearer the nut is judged too.

    Fingers that cross (a negative reach) by more than a finger's breadth are impossible, by less awkward.
    """
    band = band_of(fingers, span_mm)
    if reach_mm < 0:
        return Verdict.IMPOSSIBLE if reach_mm < -FINGERTIP_MM else Verdict.AWKWARD
    if reach_mm <= band.comfortable_mm:
        return Verdict.NATURAL if reach_mm <= band.natural_mm else Verdict.COMFORTABLE
    if reach_mm <= band.extreme_mm:
        return Verdict.HARD if reach_mm <= band.hard_mm else Verdict.EXTREME
    return Verdict.IMPOSSIBLE


def effort(fingers: tuple[int, int], reach_mm: float, span_mm: float) -> float:
    """Points for a reach: 0 up to natural, 1 at comfortable, 3 at hard, 8 at extreme, and 60 beyond.

    It grows with the square of what lies between two of these, since joints like the middle of their range
    (Heijink and Meulenbroek 2002, J Mot Behav 34(4):339-351). Fingers that cross count by how far.
    """
    band, reach_mm = BANDS[fingers], reach_mm * REFERENCE_SPAN_MM / span_mm
    if reach_mm <= band.natural_mm:
        return 0.0 if reach_mm >= 0 else (CRAMPED if reach_mm < -FINGERTIP_MM else -reach_mm / CROSSED_MM)
    if reach_mm <= band.comfortable_mm:
        return AT_COMFORTABLE * ((reach_mm - band.natural_mm) / (band.comfortable_mm - band.natural_mm)) ** 2
    if reach_mm <= band.hard_mm:
        part = (reach_mm - band.comfortable_mm) / (band.hard_mm - band.comfortable_mm)
        return AT_COMFORTABLE + (AT_HARD - AT_COMFORTABLE) * part**2
    if reach_mm <= band.extreme_mm:
        part = (reach_mm - band.hard_mm) / (band.extreme_mm - band.hard_mm)
        return AT_HARD + (AT_EXTREME - AT_HARD) * part**2
    return CRAMPED


def is_strained(fingers: tuple[int, int], reach_mm: float, span_mm: float) -> bool:
    """Whether a held reach is beyond comfortable by more than the tolerance."""
    return reach_mm * REFERENCE_SPAN_MM / span_mm > TOLERANCE * BANDS[fingers].comfortable_mm
