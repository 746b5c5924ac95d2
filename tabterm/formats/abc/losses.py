"""What a reader leaves out, gathered into remarks: one for each kind, or one for each place."""

from __future__ import annotations

from tabterm.formats import Remark

MOST_PLACES = 40
"""More places than these are only counted: nobody reads on."""


class Losses:
    """Gathers what could not be carried over."""

    def __init__(self) -> None:
        self._places: list[Remark] = []
        self._more = 0
        self._kinds: dict[str, tuple[int, int]] = {}

    def at(self, line: int, column: int, text: str) -> None:
        """Something at one place of the file, both counted from 1."""
        if len(self._places) < MOST_PLACES:
            self._places.append(Remark(line, column, text))
        else:
            self._more += 1

    def count(self, text: str, line: int) -> None:
        """One more of a kind; the first line it stood in is told."""
        first, times = self._kinds.get(text, (line, 0))
        self._kinds[text] = first, times + 1

    def remarks(self) -> tuple[Remark, ...]:
        """All of it in order of the lines."""
        kinds = [
            Remark(line, 1 if line else 0, text if times == 1 else f"{text} ({times} times)")
            for text, (line, times) in self._kinds.items()
        ]
        more = [Remark(0, 0, f"and {self._more} more places that could not be read")] if self._more else []
        return (*sorted([*self._places, *kinds], key=lambda each: (each.line, each.column)), *more)
