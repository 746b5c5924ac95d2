"""Moves of chords that have a name: two five one, turnarounds, chains of fifths, cadences, forms of the blues.

The names and what is called by them are common practice, no source; `tests/harmony/progressions.txt` has examples.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.harmony.progression import is_diminished, is_dominant, is_minor, roman
from tabterm.harmony.spelling import note_name
from tabterm.score.place import Place, Span
from tabterm.score.query import move_by

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.harmony.progression import SoundingChord
    from tabterm.score.model import Score

#: semitones above the tonic and a letter: M major, m minor, D dominant seventh, h half diminished, o diminished;
#: several letters are a choice, none is any; common practice, no source
TURNAROUNDS = {
    "turnaround I vi ii V": "0M 9m 2m 7MD",
    "turnaround I VI ii V": "0MD 9D 2m 7MD",
    "turnaround iii VI ii V": "4m 9D 2m 7MD",
    "turnaround iii vi ii V": "4m 9m 2m 7MD",
    "turnaround I #i° ii V": "0M 1o 2m 7MD",
    "turnaround I bIII ii bII, by tritone substitutes": "0MD 3MD 2mD 1D",
    "turnaround I bIII bVI bII, by tritone substitutes": "0MD 3MD 8MD 1MD",
    "turnaround I vi IV V": "0M 9m 5M 7MD",
    "turnaround I IV #iv° I": "0MD 5MD 6o 0MD",
    "minor turnaround i bVI iiø V": "0m 8MD 2h 7MD",
    "minor turnaround i vi iiø V": "0m 9h 2h 7MD",
}

#: as in TURNAROUNDS; common practice, no source
MOVES = {
    "circle of fifths III VI II V": "4MD 9MD 2MD 7MD",
    "circle of fifths VI II V I": "9MD 2MD 7MD 0",
    "descending minor line i bVII bVI V": "0m 10MD 8MD 7MD",
    "minor double tonic": "0m 10M 0m",
    "double tonic": "0M 10M 0M",
    "backdoor iv bVII I": "5m 10D 0M",
    "backdoor bVII I": "10D 0M",
    "minor plagal cadence iv I": "5m 0M",
    "plagal cadence bVII IV I": "10M 5M 0M",
    "plagal cadence IV I": "5M 0M",
    "deceptive cadence V vi": "7MD 9m",
    "cadence V I": "7MD 0M",
    "cadence V i": "7MD 0m",
}

#: as in TURNAROUNDS; common practice, no source
BAR_FORMS = {
    "12-bar minor blues": "0m | 0m,5m | 0m | 0m,0D | 5m | 5m | 0m | 0m | 8MD,2h,2m | 7MD | 0m |",
    "12-bar jazz blues": "0D,0M | 5,0 | 0 | 0,7m | 5 | 5,6o | 0 | 9,4m,9D | 2m | 7D,7M | 0,4m |",
    "12-bar blues with a quick change": "0 | 5 | 0 | 0 | 5 | 5 | 0 | 0 | 7 | 5,7 | 0 |",
    "12-bar blues with II7": "0 | 0,5 | 0 | 0 | 5 | 5 | 0 | 0,9 | 2D,2M | 7 | 0 |",
    "12-bar blues": "0 | 0 | 0 | 0 | 5 | 5 | 0 | 0 | 7 | 5,7 | 0 |",
    "16-bar blues": "0 | 0 | 0 | 0 | 0 | 0 | 0 | 0 | 5 | 5 | 0 | 0 | 7 | 5,7 | 0 |",
    "8-bar blues": "0 | 7 | 5 | 5 | 0 | 7 | 0 |",
}
"""What each measure begins with, of several one; the last measure is free. As in TURNAROUNDS."""


@dataclass(frozen=True, slots=True)
class NamedMove:
    """A run of chords with a name.

    Attributes:
        span: From where its first chord begins to where its last one ends; of a move that ends on a rest chord
            (`I`) to where that begins.
        name: What players call it.
        chords: Its chord symbols.
        romans: Their numerals.
    """

    span: Span
    name: str
    chords: tuple[str, ...]
    romans: tuple[str, ...]


def letter_of(each: SoundingChord) -> str:
    """The letter of a chord as the tables name it."""
    chord = each.chord
    if is_dominant(chord):
        return "D"
    if is_diminished(chord):
        return "o"
    if is_minor(chord):
        return "h" if {6, 10} <= {*chord.intervals} and 7 not in chord.intervals else "m"
    return "M"


def named(score: Score, chords: Sequence[SoundingChord]) -> tuple[NamedMove, ...]:
    """Every move with a name, in score order, the longer of two that begin together; forms of the blues first."""
    forms = tuple(_forms(score, chords))
    found: list[NamedMove] = []
    at = 0
    while at < len(chords):
        ways = (_of_table(TURNAROUNDS, chords, at), _two_five(chords, at), _of_table(MOVES, chords, at))
        here = max(filter(None, ways), key=lambda each: each[0], default=None)
        if here is None:
            at += 1
            continue
        size, name = here
        run = chords[at : at + size]
        found.append(NamedMove(_span(score, run), name, *_told(run)))
        at += max(size - 1, 1)
    return (*forms, *found)


def _told(run: Sequence[SoundingChord]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return tuple(each.symbol for each in run), tuple(roman(each.chord, each.key) for each in run)


def _span(score: Score, run: Sequence[SoundingChord]) -> Span:
    return Span(run[0].place, move_by(score, run[-1].place, run[-1].length))


def _fits(chords: Sequence[SoundingChord], at: int, pattern: Sequence[tuple[int, str]]) -> bool:
    run = chords[at : at + len(pattern)]
    return len(run) == len(pattern) and all(
        each.above_tonic == degree and (not letters or letter_of(each) in letters)
        for each, (degree, letters) in zip(run, pattern, strict=True)
    )


@lru_cache(maxsize=128)
def _pattern(text: str) -> tuple[tuple[int, str], ...]:
    found = (re.match(r"(\d+)(\D*)", word) for word in text.split())
    return tuple((int(each[1]), each[2]) for each in found if each is not None)


def _of_table(table: dict[str, str], chords: Sequence[SoundingChord], at: int) -> tuple[int, str] | None:
    fitting = [(len(_pattern(text)), name) for name, text in table.items() if _fits(chords, at, _pattern(text))]
    return max(fitting, key=lambda each: each[0], default=None)


def _two_five(chords: Sequence[SoundingChord], at: int) -> tuple[int, str] | None:
    """A minor chord, the dominant a fourth above it or its tritone substitute, and the chord where both lead."""
    run = chords[at : at + 3]
    if len(run) < 2 or letter_of(run[0]) not in "mh" or letter_of(run[1]) not in "DM":
        return None
    up = ((run[1].chord.root or 0) - (run[0].chord.root or 0)) % 12
    if up not in {5, 11} or (up == 11 and letter_of(run[1]) != "D"):
        return None
    if (run[0].above_tonic == 0 and letter_of(run[1]) == "M") or (
        letter_of(run[1]) == "M" and run[0].above_tonic != 2
    ):
        return None
    by = ", by the tritone substitute" if up == 11 else ""
    goal = ((run[0].chord.root or 0) - 2) % 12
    home = (goal - run[0].key.tonic) % 12 == 0
    if len(run) == 3 and (run[2].chord.root or 0) == goal:
        minor = is_minor(run[2].chord)
        kind = "minor ii V i" if minor else "ii V I"
        where = "" if home else f" to {run[2].symbol}"
        return 3, kind + where + by
    if home:
        return 2, "ii V" + by
    fifths = run[0].chord.root_fifths - 2
    return 2, f"ii V of {note_name(fifths)}, not resolved{by}"


def _forms(score: Score, chords: Sequence[SoundingChord]) -> Iterator[NamedMove]:
    """Forms of the blues, by what stands at the beginning of each measure."""
    at_start = _at_starts(score, chords)
    first = 0
    while first < len(at_start):
        for name, text in BAR_FORMS.items():
            bars = [part.split(",") if part else [] for part in re.split(r"\s*\|\s*", text)]
            run = at_start[first : first + len(bars)]
            if len(run) == len(bars) and all(_begins(each, bar) for each, bar in zip(run, bars, strict=True)):
                told = [each for each in run if each is not None]
                yield NamedMove(Span.of_measures(first, first + len(bars) - 1), name, *_told(told))
                first += len(bars) - 1
                break
        first += 1


def _begins(each: SoundingChord | None, words: Sequence[str]) -> bool:
    return not words or (each is not None and any(_fits([each], 0, _pattern(word)) for word in words))


def _at_starts(score: Score, chords: Sequence[SoundingChord]) -> list[SoundingChord | None]:
    """The chord that sounds as each measure begins."""
    found: list[SoundingChord | None] = []
    for index in range(len(score.measures)):
        before = [each for each in chords if each.place <= Place(index)]
        found.append(before[-1] if before else None)
    return found
