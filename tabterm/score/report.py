"""What was left out, changed or guessed on the way from a file to the neck, or into another file."""

from __future__ import annotations

from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.score.place import Place, describe

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.model import Score

MOST_KINDS = 200
"""More remarks of different words than this are counted together."""


class Kind(StrEnum):
    """What happened to something."""

    LEFT_OUT = "left out"
    CHANGED = "changed"
    GUESSED = "guessed"
    MOVED = "moved to another octave"
    RESHAPED = "a chord in another shape"
    WHOLE = "done to the whole line"


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing that happened: what kind of thing, in words what and why, and where.

    Attributes:
        kind: What kind of thing.
        message: What, and why where that is not plain.
        line: Line of the file, from 1; 0 for what concerns all of it, or is said of a score.
        column: Column in the line, from 1; 0 like the line.
        place: Where in the score, of what fitting it to the neck did or a file does not carry; None for the whole.
    """

    kind: Kind
    message: str
    line: int = 0
    column: int = 0
    place: Place | None = None

    @property
    def is_detail(self) -> bool:
        """Whether the summary of a report speaks of it too."""
        return self.kind is Kind.WHOLE or (self.place is not None and self.kind is not Kind.GUESSED)


@dataclass(frozen=True, slots=True)
class Report:
    """What a reader, a writer or a fitting did that the player should know.

    Attributes:
        remarks: Of a file in the order of its lines, of a score in that of its places; what concerns the
            whole first.
        summary: The fitting in a sentence, or "".
    """

    remarks: tuple[Remark, ...] = ()
    summary: str = ""

    def __add__(self, later: Report) -> Report:
        """This report and one of what was done afterwards."""
        return Report((*self.remarks, *later.remarks), later.summary or self.summary)

    def only(self, *kinds: Kind) -> Report:
        """The report with the remarks of these kinds."""
        return replace(self, remarks=tuple(each for each in self.remarks if each.kind in kinds))

    def lines(
        self, score: Score, file: object = None, *, details: bool = True, most: int | None = None
    ) -> list[str]:
        """The report as every shell shows it, a line each: remarks on the file, the summary, then its details.

        Args:
            score: The score that the places are in.
            file: The name that each line begins with, as compilers do; None: the place in words.
            details: With what the summary speaks of, one by one.
            most: Remarks on the file to show at most; None: all.
        """
        head = "" if file is None else f"{file}: "
        shown = [each for each in self.remarks if not each.is_detail][:most]
        lines = [_of_file(each, score, file) for each in shown]
        lines += [f"{head}{self.summary}"] if self.summary else []
        return lines + [f"{head}{_of_score(each, score)}" for each in self.remarks if each.is_detail and details]


NOTHING = Report()
"""Nothing to tell."""


def _of_file(remark: Remark, score: Score, file: object) -> str:
    if remark.place is not None:
        return _of_score(remark, score) if file is None else f"{file}: {_of_score(remark, score)}"
    if file is not None:
        place = f":{remark.line}:{remark.column}" if remark.line else ""
        return f"{file}{place}: {remark.message}"
    if not remark.line:
        return remark.message
    column = f", column {remark.column}" if remark.column > 1 else ""
    return f"line {remark.line}{column}: {remark.message}"


def _of_score(remark: Remark, score: Score) -> str:
    return remark.message if remark.place is None else f"{describe(score, remark.place)}: {remark.message}"


class Reporter:
    """Gathers the remarks on a file while it is read or written.

    What is told with a column is a remark of its own; the same words without one are told once, with the first
    line or place and how often.

    Args:
        most_places: More remarks with a column are only counted; None: as many as there are.
    """

    def __init__(self, most_places: int | None = None) -> None:
        self._most_places = most_places
        self._places: list[Remark] = []
        self._more = 0
        self._kinds: dict[str, Remark] = {}
        self._times: dict[str, int] = {}

    def left_out(self, message: str, line: int = 0, column: int = 0, place: Place | None = None) -> None:
        """Something is not carried over."""
        self._tell(Remark(Kind.LEFT_OUT, message, line, column, place))

    def changed(self, message: str, line: int = 0, column: int = 0, place: Place | None = None) -> None:
        """Something is carried over as something else."""
        self._tell(Remark(Kind.CHANGED, message, line, column, place))

    def guessed(self, message: str, line: int = 0, column: int = 0) -> None:
        """Something that is not told is taken to be so."""
        self._tell(Remark(Kind.GUESSED, message, line, column))

    def _tell(self, remark: Remark) -> None:
        if not remark.column:
            self._count(remark)
        elif self._most_places is None or len(self._places) < self._most_places:
            self._places.append(remark)
        else:
            self._more += 1

    def _count(self, remark: Remark) -> None:
        if len(self._kinds) >= MOST_KINDS and remark.message not in self._kinds:
            remark = replace(remark, kind=Kind.LEFT_OUT, message="other things are left out")
        self._kinds.setdefault(remark.message, remark)
        self._times[remark.message] = self._times.get(remark.message, 0) + 1

    def gathered(self) -> Report:
        """Everything told, in the order of the lines or places, what concerns the whole file first."""
        told = sorted(
            [*self._places, *self._counted()],
            key=lambda each: (each.line, each.column, each.place or Place(-1)),
        )
        if self._more:
            told.append(Remark(Kind.LEFT_OUT, f"and {self._more} more places that could not be read"))
        return Report(tuple(told))

    def _counted(self) -> Iterable[Remark]:
        for message, remark in self._kinds.items():
            times = self._times[message]
            words = message if times == 1 else f"{message} ({times} times)"
            yield replace(remark, message=words, column=1 if remark.line else 0)
