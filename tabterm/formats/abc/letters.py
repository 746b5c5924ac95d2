"""What the letters of a note say: its accidental, its place on the staff, its length."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.errors import FormatError
from tabterm.formats.abc.tokens import NOTE

if TYPE_CHECKING:
    from tabterm.formats.abc.bars import Letters, Spot
    from tabterm.score.metre import Metre

LONGEST = Fraction(64)
FINEST = 64 * 315
"""Lengths go up to sixteen whole notes; what is finer than this part of a quarter, which
has 256ths in tuplets of 5, 7 and 9 together, is no length."""

USUAL_NORMAL = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""A tuplet of so many notes goes in the time of so many (standard 4.13); 5, 7 and 9 in that of 3 in compound
metres, else of 2."""


@lru_cache(maxsize=4096)
def written(text: str) -> tuple[str | None, Spot, str]:
    """The accidental, the letter with its octave, and the length of a note as it is written."""
    match = NOTE.match(text)
    if match is None:  # the scanner has matched it before
        raise FormatError(f"not a note: '{text}'")
    sign, letter, octaves, length = match.groups()
    return sign, (letter.upper(), letter.islower() + octaves.count("'") - octaves.count(",")), length


def quarters_of(text: str, unit: Fraction) -> Fraction | None:
    """A length in quarters; None for one that no note value has."""
    top, slash, bottom = text.partition("/")
    figure = bottom.lstrip("/")
    divisor = int(figure) if figure else 2 ** len(slash + bottom)
    quarters = Fraction(int(top) if top else 1, divisor) * unit if divisor else Fraction(0)
    return quarters if 0 < quarters <= LONGEST and quarters.denominator <= FINEST else None


def usual_normal(actual: int, metre: Metre | None) -> int:
    """Notes in whose time a tuplet of so many goes where it does not say."""
    return USUAL_NORMAL.get(actual, 3 if metre is not None and metre.compound else 2)


def held_alteration(before: Letters, spot: Spot) -> int | None:
    """The alteration that a tie from the moment before carries to a spot, over a bar line as well."""
    return next((tone.alter for tone in before.tones if tone.ties and tone.spot == spot), None)
