"""What is read of a tune before it is laid into measures: tones, moments, bars."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, Any

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from fractions import Fraction

    from tabterm.formats.abc.fields import KeyField
    from tabterm.score.duration import Tuplet
    from tabterm.score.metre import Metre
    from tabterm.score.tempo import Tempo

Spot = tuple[str, int]
"""A letter and its octave, 0 from middle C: what an accidental and a tie belong to."""

Look = tuple[int, tuple[int, int], "Tuplet | None", tuple[Any, ...]]
"""Pitch (-1 for a rest), length as written, tuplet and marks of a moment that asks nothing of its neighbours."""


@dataclass(slots=True)
class Letter:
    """A pitch of a moment.

    Attributes:
        pitch: MIDI note number.
        spot: Letter and octave that it is written with.
        alter: Semitones that it is altered by.
        marks: Fields of its note.
        ties: A tie leads on from it.
        tied: A tie leads to it.
    """

    pitch: int
    spot: Spot
    alter: int
    marks: dict[str, Any]
    ties: bool = False
    tied: bool = False


@dataclass(slots=True)
class Letters:
    """A note, a chord or a rest.

    Attributes:
        tones: None for a rest.
        written: Length as a note value, in quarters.
        tuplet: Its tuplet, or None.
        line: Line of the file, from 1.
        marks: Fields of its event.
        grace: MIDI note numbers of the grace notes before it.
        slurred: A slur leads to it from the moment before.
        how: How the slur is sounded where an annotation says it: H, P or S.
        chord: Chord symbol over it, or "".
        words: Annotations.
    """

    tones: list[Letter]
    written: Fraction
    tuplet: Tuplet | None
    line: int
    marks: dict[str, Any]
    grace: tuple[int, ...]
    slurred: bool
    how: str
    chord: str
    words: list[str]

    @property
    def length(self) -> Fraction:
        """Length in quarters."""
        tuplet = self.tuplet
        return self.written if tuplet is None else self.written * tuplet.normal / tuplet.actual

    @property
    def look(self) -> Look | None:
        """All there is to say of a moment that stands by itself, so that equal ones are made once; or None."""
        if self.grace or self.slurred or len(self.tones) > 1:
            return None
        marks: tuple[Any, ...] = tuple(self.marks.items()) if self.marks else ()
        if not self.tones:
            return -1, self.written.as_integer_ratio(), self.tuplet, marks
        tone = self.tones[0]
        if tone.tied:
            return None
        if tone.marks:
            if tone.marks.get("finger") == 0:  # each one over a note that is not open is told
                return None
            marks += tuple(tone.marks.items())
        return tone.pitch, self.written.as_integer_ratio(), self.tuplet, marks


@dataclass(slots=True)
class AbcBar:
    """What stands between two bar lines, and what the lines and fields say.

    Attributes:
        line: Line of the file where it begins, from 1.
        moments: In order.
        metre: New metre from here, or None.
        free: Free metre begins (True) or ends (False) here; None for no change.
        key: New key, or None.
        tempo: New tempo, or None.
        starts_repeat: A repeat starts here.
        repeat_times: A repeat ends here, and is played so many times; 0: none ends.
        endings: Passes in which what begins here is played; None where no ending begins.
        thick: The line at its end: 0 plain, 2 double, 3 final.
        section: Mark of a part that begins here.
    """

    line: int
    moments: list[Letters] = field(default_factory=list)
    metre: Metre | None = None
    free: bool | None = None
    key: KeyField | None = None
    tempo: Tempo | None = None
    starts_repeat: bool = False
    repeat_times: int = 0
    endings: tuple[int, ...] | None = None
    thick: int = 0
    section: str = ""
