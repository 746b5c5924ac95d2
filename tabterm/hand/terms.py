"""The terms that a fingering is judged by: each with its unit, its weight and where the number comes from.

An effort is a sum of terms, in points. One point is a reach at the end of what is comfortable, three points
are a reach that is hard (`tabterm.hand.bands`). "TNUA" are the fingerings of ten professional violinists (Jen et
al. 2021, 108,795 labelled notes). Weights were fitted to them once, in two ways;
a former weight of two figures is what each gave.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.values import Value

if TYPE_CHECKING:
    from collections.abc import Mapping

Amounts = Iterable[tuple[str, float]]
"""Terms and how much of each, before weighting."""

TNUA = "TNUA (Jen et al. 2021)"
FITTED = f"{TNUA}, fitted once to that data, not repeatable here"
PRACTICE = "common practice, no source"
TUNED = "tuned here"
DEFINED = "definition: the unit of the scale"
LEARNT = "definition: 0 until learnt from the player's fingers"


def _changed(was: str, now: str, because: str) -> str:
    """The source of a weight that was fitted and then set to something else."""
    return f"from {TNUA}, then changed by us: was {was}, now {now}, because {because}"


UNNOTED = "a plucked instrument with frets differs (no further reason recorded)"


@dataclass(frozen=True, slots=True)
class Term:
    """One reason why a fingering is hard.

    Attributes:
        words: What it says to a player.
        unit: What an amount of 1 is.
        weight: Points for an amount of 1.
        source: Where the weight comes from.
    """

    words: str
    unit: str
    weight: float
    source: str


TERMS: dict[str, Term] = {
    "reach": Term("fingers held down together are far apart", "point of the stretch bands", 1.0, DEFINED),
    "stretch": Term("a finger reaches out of its place in the frame", "point of the stretch bands", 1.0, DEFINED),
    "wide": Term("a finger takes the next finger's fret", "fret", 0.6, TUNED),
    "back": Term("the index finger reaches back above first position", "fret", 0.35, TUNED),
    "crowding": Term("fingers are crowded", "missing finger's breadth", 3.0, TUNED),
    "crossing": Term("fingers cross", "pair", 1.2, FITTED),
    "flat": Term("a fingertip lies flat over several courses", "course after the first", 0.3, PRACTICE),
    "weak": Term(
        "a weak finger",
        "ring finger 0.75, little finger 3.5",
        0.2,
        _changed(
            "0.20 to 0.55 for the little finger and none for the ring finger",
            "0.2 times how weak it is, 0.7 and 0.15",
            UNNOTED,
        ),
    ),
    "bend": Term("a bend by a finger with little strength", "finger away from the middle finger", 0.5, PRACTICE),
    "height": Term("further up the neck", "100 mm from the nut", 0.6, _changed("0.99 to 1.90", "0.6", UNNOTED)),
    "half": Term(
        "the hand is in half position",
        "onset",
        0.15,
        _changed("0.59 to 1.12", "0.15", "frets 1 and 2 are both the index finger's own in first position"),
    ),
    "second": Term(
        "the hand is in second position without its index finger",
        "onset",
        0.25,
        "tuned here: first 0.15, then 0.25, because a fiddle collection goes on to third position; "
        "from 0.28 up closed shapes at fret 4 break",
    ),
    "away": Term("the ring finger is not three frets above the frame", "note", 0.15, TUNED),
    "by-itself": Term("a shift or jump to a note that another finger may reach", "change", 0.5, TUNED),
    "index-free": Term("a grip without the index finger", "grip", 0.3, TUNED),
    "open-high": Term("an open course while the hand is high on the neck", "note", 0.6, FITTED),
    "moved": Term("a note leaves the course it is written on", "note", 0.3, PRACTICE),
    "stopped": Term("a finger set down", "finger", 0.15, FITTED),
    "shift": Term("the hand shifts", "shift", 2.4, _changed("2.70 to 3.00", "2.4", UNNOTED)),
    "creep": Term(
        "the hand moves by one fret",
        "shift",
        3.0,
        _changed(
            "2.37 to 2.65 (at first here 1.9)",
            "3",
            "the hand left first position by a fret where printed fingerings stay",
        ),
    ),
    "travel": Term("the distance of a shift", "100 mm", 2.0, FITTED),
    "time": Term("little time for a shift", "natural logarithm of 0.1 s over the time", 0.5, FITTED),
    "hurry": Term("a shift has too little time", "time needed over time available", 3.0, PRACTICE),
    "guide": Term(
        "a grip keeps its shape in the shift",
        "shift",
        -0.9,
        _changed(
            "-1.40 to -1.59 (and at first here for a single finger too)",
            "-0.9 for two fingers or more",
            "a single finger that leads each shift crawls up its course",
        ),
    ),
    "index-lands": Term(
        "the index finger lands a shift", "shift", -0.4, _changed("-0.59 to -0.64", "-0.4", UNNOTED)
    ),
    "border": Term("a new section begins", "shift", -1.0, PRACTICE),
    "slide": Term("a slide", "100 mm", 1.0, PRACTICE),
    "jump": Term("one finger jumps along its course", "fret (the first 0.8, more 0.25 each)", 1.1, FITTED),
    "roll": Term(
        "a finger rolls over to the next course",
        "course",
        0.35,
        _changed("0.48 to 0.56", "0.35", "one finger bars two courses at a fret"),
    ),
    "hop": Term("one finger changes course and fret", "change", 1.7, FITTED),
    "switch": Term("another finger plays the same fret", "change", 1.6, FITTED),
    "over": Term("the next finger is far from the one before", "point of the stretch bands", 0.5, TUNED),
    "pace": Term("two fingers alternate faster than they can", "rate over the limit", 2.0, TUNED),
    "course": Term("the pick changes course", "point of the right hand", 0.4, PRACTICE),
    "little": Term("the little finger", "note", 0.0, LEARNT),
    "ring": Term("the ring finger", "note", 0.0, LEARNT),
    "open": Term("an open course", "note", 0.0, LEARNT),
    "leave": Term("the hand changes position", "shift", 0.0, LEARNT),
    "step": Term("the hand moves by a fret or two", "shift", 0.0, LEARNT),
    "along": Term("one finger moves along its course", "note", 0.0, LEARNT),
    "across": Term("one finger plays another course at the same fret", "note", 0.0, LEARNT),
    "spread": Term("a finger is away from its own fret, one finger a fret", "note", 0.0, LEARNT),
    "law": Term("it cannot be done", "breach", 200.0, "definition: more than any way round it costs"),
}
"""Every term by name."""

WORST = 0.5  #: times; tuned here; the idea: Hori and Sagayama 2016, ISMIR (minimax)
"""Weight of the worst moment of a phrase beside the sum of all."""

HABITS: dict[str, tuple[str, str]] = {
    "little": ("you spare the little finger", "you like to use the little finger"),
    "ring": ("you spare the ring finger", "you like to use the ring finger"),
    "open": ("you avoid open courses", "you prefer open courses"),
    "leave": ("you stay in position", "you shift readily"),
    "step": ("you avoid small shifts", "you like small shifts"),
    "along": ("you change fingers from note to note along a course", "you like to move one finger along a course"),
    "across": (
        "you use different fingers for two courses at one fret",
        "you like to play two courses at one fret with one finger",
    ),
    "spread": ("you keep to one finger a fret", ""),
}
"""What is learnt of a player: terms that weigh nothing by themselves, and what more and what less means."""

LIMITS = (-1.0, 2.0)  #: points; tuned here
"""The points of any habit: what is liked may not outweigh what strains the hand."""


class Weights(Value):
    """Points for each term: those of the table, and what is added to them, each with its term's name.

    What was learnt of a player is added to terms of `HABITS`. Equal weights have equal additions: see `of`.
    """

    added: tuple[tuple[str, float], ...] = ()

    @classmethod
    def of(cls, added: Mapping[str, float]) -> Weights:
        """The weights with these points added by term, of which those that are 0 say nothing."""
        return cls(added=tuple(sorted((name, points) for name, points in added.items() if points)))

    @cached_property
    def points(self) -> dict[str, float]:
        """Points for an amount of 1, by term."""
        added = dict(self.added)
        return {name: term.weight + added.get(name, 0.0) for name, term in TERMS.items()}

    @cached_property
    def habits(self) -> dict[str, float]:
        """What was learnt of the player: points by habit, of those that count."""
        return {name: points for name, points in self.added if name in HABITS}

    def total(self, amounts: Amounts) -> float:
        """Points of a list of amounts."""
        points, sum_so_far = self.points, 0.0
        for name, amount in amounts:  # quicker than a generator, and called very often
            sum_so_far += points[name] * amount
        return sum_so_far

    def by_term(self, amounts: Amounts) -> dict[str, float]:
        """Points by term, of those that count."""
        sums: dict[str, float] = {}
        for name, amount in amounts:
            sums[name] = sums.get(name, 0.0) + self.points[name] * amount
        return {name: points for name, points in sums.items() if abs(points) > 1e-9}
