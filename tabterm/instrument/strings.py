"""Strings: how heavy, how stiff and how strong they are, and which ones an instrument usually has."""

from __future__ import annotations

import math
from bisect import bisect_left
from functools import lru_cache

from tabterm.dataclass import dataclass

MM_PER_INCH = 25.4  #: mm; definition of the inch
#: kg/m3; J. Delacour 2002 (PTG pianotech list, 10 May): 7.85 g/cc is usual in string calculation
STEEL_KG_M3 = 7850.0
BRONZE_KG_M3 = 8800.0  #: kg/m3; from memory
"""Densities of music wire and of a bronze wrap."""

YOUNG_N_MM2 = 200_000.0  #: N/mm2; from memory: 200 GPa
"""Young's modulus of steel  in N/mm2."""

#: inches and 1,000 lb/in2; Interwiregroup.com, table of tinned music wire, undated
STRENGTH_KSI = (
    *((0.008, 399), (0.010, 387), (0.012, 377), (0.014, 369), (0.016, 362), (0.018, 356), (0.020, 350)),
    *((0.024, 341), (0.028, 333), (0.032, 327), (0.040, 315), (0.051, 303)),
)
"""Least tensile strength of music wire by diameter: inches and 1,000 lb/in2 ."""

N_MM2_PER_KSI = 6.894757  #: N/mm2; derived: 1 lbf = 4.4482216 N, 1 in = 25.4 mm

CORE = 0.55  #: part of the diameter; from memory
"""Core over whole diameter of a wound string."""

USUAL_N = 90.0  #: N; from memory: about 20 lb
"""A usual tension of one string of this family, in N: about 20 lb."""


@dataclass(frozen=True, slots=True)
class String:
    """A string: whole diameter and, where it is wound, the diameter of its core, in mm."""

    gauge_mm: float
    core_mm: float

    @property
    def kg_per_m(self) -> float:
        """Mass of a metre; a wrap of wire w round a core c is pi^2 w (c + w) / 4 thick in cross-section."""
        core = STEEL_KG_M3 * math.pi * self.core_mm**2 / 4.0
        wrap_mm = (self.gauge_mm - self.core_mm) / 2.0
        return (core + BRONZE_KG_M3 * math.pi**2 * wrap_mm * (self.core_mm + wrap_mm) / 4.0) * 1e-6

    @property
    def stiffness_n(self) -> float:
        """Force that would stretch it to twice its length, in N; the core bears it."""
        return YOUNG_N_MM2 * math.pi * self.core_mm**2 / 4.0

    @property
    def breaking_n(self) -> float:
        """Force that the core bears at least, in N."""
        return strength_n_mm2(self.core_mm) * math.pi * self.core_mm**2 / 4.0

    def tension_n(self, hertz: float, length_mm: float) -> float:
        """Tension at a pitch on a free length: m (2 L f)^2."""
        return self.kg_per_m * (2.0 * length_mm / 1000.0 * hertz) ** 2


def strength_n_mm2(diameter_mm: float) -> float:
    """Tensile strength of music wire, between the rows of the table in a straight line."""
    inches = diameter_mm / MM_PER_INCH
    sizes = [size for size, _ in STRENGTH_KSI]
    index = min(max(bisect_left(sizes, inches), 1), len(sizes) - 1)
    (low, strong), (high, weak) = STRENGTH_KSI[index - 1 : index + 1]
    share = min(max((inches - low) / (high - low), 0.0), 1.0)
    return (strong + (weak - strong) * share) * N_MM2_PER_KSI


def hertz_of(pitch: int) -> float:
    """Frequency of a MIDI note number in equal temperament, A4 = 440 Hz."""
    return 440.0 * math.exp2((pitch - 69) / 12.0)


#: thousandths of an inch; common practice, no source
STOCK = tuple(
    String(thousandths * MM_PER_INCH / 1000.0, thousandths * MM_PER_INCH / 1000.0) for thousandths in range(8, 17)
) + tuple(
    String(thousandths * MM_PER_INCH / 1000.0, CORE * thousandths * MM_PER_INCH / 1000.0)
    for thousandths in range(18, 82, 2)
)
"""Strings that are sold: plain up to 16 thousandths of an inch, wound from 18."""


@lru_cache(maxsize=64)
def usual_string(pitch: int, scale_length_mm: float) -> String:
    """The string of the stock that comes nearest to the usual tension at a pitch."""
    return min(STOCK, key=lambda string: abs(string.tension_n(hertz_of(pitch), scale_length_mm) - USUAL_N))
