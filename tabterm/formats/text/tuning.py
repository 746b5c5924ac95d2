"""Tunings that are told by letters: `E A D G` before the lines of a tab, `GDAE` in its head."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tabterm.instrument.pitch import STEP_SEMITONES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.instrument import Instrument

LETTER = r"[A-Ga-g][#b]?"
"""A course by its letter."""

_LETTERS = re.compile(rf"^(?:{LETTER}[\s,-]*){{2,8}}$")
_ACCIDENTALS = {"": 0, "#": 1, "b": -1}


def letters_of(text: str) -> tuple[str, ...]:
    """The letters of a tuning without octaves (`GDAE`, `G D A E`), or () where it is something else."""
    return tuple(re.findall(LETTER, text)) if _LETTERS.match(text) else ()


def tuned_to(letters: Sequence[str], instruments: Iterable[Instrument]) -> tuple[Instrument, bool]:
    """The instrument that letters from the top line down mean, and whether the lowest course is on top.

    Of the instruments with as many courses the one is taken whose courses move least, and each course is
    retuned to the pitch of its letter that is nearest.

    Raises:
        InstrumentError: The retuned instrument cannot be.
        ValueError: None has as many courses.
    """
    fitting = [each for each in instruments if each.course_count == len(letters)]
    choices = [(each, turned) for turned in (False, True) for each in fitting]
    if not choices:
        raise ValueError(f"{len(letters)} letters")

    def shifts(choice: tuple[Instrument, bool]) -> list[int]:
        instrument, turned = choice
        from_top = tuple(reversed(letters)) if turned else letters
        return [_shift(course.pitch, letter) for course, letter in zip(instrument.courses, from_top, strict=True)]

    chosen = min(choices, key=lambda choice: sum(map(abs, shifts(choice))))
    instrument, turned = chosen
    courses = tuple(
        course.with_(pitch=course.pitch + shift) if shift else course
        for course, shift in zip(instrument.courses, shifts(chosen), strict=True)
    )
    return instrument.with_(courses=courses), turned


def _shift(pitch: int, letter: str) -> int:
    """Semitones, -5 to 6, from a pitch to the nearest one that a letter names."""
    wanted = STEP_SEMITONES[letter[0].upper()] + _ACCIDENTALS[letter[1:]]
    return (wanted - pitch + 5) % 12 - 5
