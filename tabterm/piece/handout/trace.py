"""Where the cursor of the page stands on an engraved phrase at each moment that is heard."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.sheet.layout import Page, Sign

MARKS = frozenset({"notehead", "digit", "rest"})
"""Signs that stand where their moment is."""

PAD_MM = 2.0
"""How far the cursor reaches beyond the staves of a system; tuned here."""


class System(NamedTuple):
    """A system on its page, in percent of the page's height and width."""

    top: float
    height: float
    right: float


class Spot(NamedTuple):
    """A moment: number of its system, and how far from the left, in percent of the page's width."""

    system: int
    x: float


class Trace:
    """The systems of a page, and the spot of each moment that a sign stands for."""

    def __init__(self, page: Page) -> None:
        """Take an engraved page."""
        self._page = page
        self._staves = _staves(page.signs)
        self._spots: dict[tuple[int, float], Spot] = {}
        for sign in sorted(
            page.signs, key=lambda each: each.box[0], reverse=True
        ):  # of several the leftmost stays
            if sign.kind in MARKS and sign.measure is not None and sign.onset is not None:
                left, top, width, height = sign.box
                number = self._system_at(top + height / 2)
                x = round(100 * (left + width / 2) / page.width_mm, 2)
                self._spots[sign.measure, float(sign.onset)] = Spot(number, x)

    @property
    def systems(self) -> tuple[System, ...]:
        """From top to bottom."""
        width, height = self._page.width_mm, self._page.height_mm
        return tuple(
            System(
                round(100 * max(top - PAD_MM, 0.0) / height, 2),
                round(100 * (bottom - top + 2 * PAD_MM) / height, 2),
                round(100 * right / width, 2),
            )
            for top, bottom, right in self._staves
        )

    def spot(self, measure: int, onset: float) -> Spot | None:
        """Of a moment; None where no sign stands for it, as between the notes."""
        return self._spots.get((measure, onset))

    def _system_at(self, y_mm: float) -> int:
        """The system whose staves are nearest to a height."""
        return min(range(len(self._staves)), key=lambda number: _distance(self._staves[number], y_mm))


def _distance(stave: tuple[float, float, float], y_mm: float) -> float:
    top, bottom, _ = stave
    return max(top - y_mm, y_mm - bottom, 0.0)


def _staves(signs: Iterable[Sign]) -> Sequence[tuple[float, float, float]]:
    """Top, bottom and right end of each system: of its staff and its courses, whichever it has, in mm."""
    lines = [[sign.box for sign in signs if sign.kind == kind] for kind in ("staff", "courses")]
    systems = [[box for boxes in (kind[number : number + 1] for kind in lines) for box in boxes]
               for number in range(max(map(len, lines)))]  # fmt: skip
    return [
        (
            min(box[1] for box in boxes),
            max(box[1] + box[3] for box in boxes),
            max(box[0] + box[2] for box in boxes),
        )
        for boxes in systems
    ]
