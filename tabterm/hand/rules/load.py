"""A rule on whole phrases: how much the little finger has to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.hand.finding import Finding, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.fingering import Solved

WINDOW, MOST = 8, 5  #: onsets; common practice, no source
"""Of so many stopped onsets in a row, at most so many are for the little finger ."""


def little_finger_loads(solved: Solved) -> Iterator[Finding]:
    """A remark where the little finger's load begins; not again before it has ended."""
    stopped = [hold for hold in solved.holds if hold.grip.down]
    loaded = [any(stop.finger == 4 for stop in hold.grip.notes) for hold in stopped]
    over = False
    for end in range(WINDOW, len(stopped) + 1):
        count = sum(loaded[end - WINDOW : end])
        if count > MOST and not over and 4 in solved.neck.hand.weak:
            hold = stopped[end - WINDOW]
            message = (
                f"the little finger plays {count} of {WINDOW} stopped notes: rest it, or find another position"
            )
            numbers: dict[str, float | int | str] = {"little": count, "of": WINDOW}
            yield Finding("little-finger-load", Severity.REMARK, hold.onset.place, None, message, numbers)
        over = count > MOST
