"""Paging: which systems stand on a page, and how far apart; pages are turned where there is time for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tabterm.sheet.system import System

APART, TIGHT, MOST_APART = 3.2, 1.5, 9.0
"""Room between the ink of two systems, in staff spaces: usual, where it saves a page, and at most; tuned here."""

FULL_ENOUGH = 0.72
"""A page may end so early that it can be turned at a rest; tuned here."""

Page = list[tuple["System", float]]
"""Systems with the height of their zero line under the top margin."""


def paged(systems: Sequence[System], height: float, title: float, turned: Callable[[System], bool]) -> list[Page]:
    """Pages of systems.

    Args:
        systems: All of them.
        height: Of a page, in staff spaces.
        title: Height of what stands over the first system.
        turned: Whether a page has to begin with a system.
    """
    usual, tight = (_paged(systems, height, title, turned, apart) for apart in (APART, TIGHT))
    return tight if len(tight) < len(usual) else usual


def _paged(
    systems: Sequence[System], height: float, title: float, turned: Callable[[System], bool], apart: float
) -> list[Page]:
    pages: list[Page] = []
    left = list(systems)
    while left:
        top = 0.0 if pages else title
        free = height - top
        count = _fitting(left, free, turned, apart)
        last = count == len(left)
        forced = not last and turned(left[count])
        if not last and not forced and apart == APART:
            count = _turning(left[:count], free)
        page, left = left[:count], left[count:]
        pages.append(_spread(page, height, top, apart, filled=bool(left) and not forced))
    return pages


def _used(systems: Sequence[System], apart: float) -> float:
    ink = sum((system.bottom - system.top) * system.shrink for system in systems)
    return ink + apart * (len(systems) - 1)


def _fitting(systems: Sequence[System], height: float, turned: Callable[[System], bool], apart: float) -> int:
    """How many of the first systems fit on a page, one at least."""
    count = 1
    while count < len(systems) and _used(systems[: count + 1], apart) <= height and not turned(systems[count]):
        count += 1
    return count


def _turning(page: Sequence[System], height: float) -> int:
    """How many systems stay on a page so that it ends with a rest or a phrase and is still full enough."""
    for count in range(len(page), 1, -1):
        if _used(page[:count], APART) < FULL_ENOUGH * height:
            break
        if page[count - 1].rests:
            return count
    return len(page)


def _spread(page: Sequence[System], height: float, top: float, apart: float, *, filled: bool) -> Page:
    """Heights of the systems of a page; a page that others follow is filled, within reason."""
    spare = height - top - _used(page, apart)
    gap = apart
    if len(page) > 1:
        more = spare / (len(page) - 1)
        gap += max(0.0, min(more, MOST_APART - apart if filled else 2.0))
    placed: Page = []
    y = top
    for system in page:
        y -= system.top * system.shrink
        placed.append((system, y))
        y += system.bottom * system.shrink + gap
    return placed
