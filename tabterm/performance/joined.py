"""Performances one after another as one: a pre-roll and its phrase, two versions of a phrase."""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.performance.model import Performance, Pluck


def joined(performances: Sequence[Performance], *, loop_from: int = 0) -> Performance:
    """One performance of several, each beginning with its own count-in where the one before it ends.

    Args:
        performances: At least one, of the same instrument.
        loop_from: Number of the one whose music a loop goes back to.
    """
    if len(performances) == 1:
        return performances[0]
    starts_s = [0.0, *accumulate(each.duration_s for each in performances)]
    timed = list(zip(performances, starts_s, strict=False))
    return replace(
        performances[0],
        messages=tuple(
            message._replace(time_s=message.time_s + by_s) for each, by_s in timed for message in each.messages
        ),
        plucks=tuple(_later(pluck, by_s) for each, by_s in timed for pluck in each.plucks),
        marks=tuple(mark._replace(time_s=mark.time_s + by_s) for each, by_s in timed for mark in each.marks),
        measures=tuple(
            replace(measure, start_s=measure.start_s + by_s) for each, by_s in timed for measure in each.measures
        ),
        lead_s=starts_s[loop_from] + performances[loop_from].lead_s,
        duration_s=starts_s[-1],
    )


def _later(pluck: Pluck, by_s: float) -> Pluck:
    curve = tuple((time_s + by_s, cents) for time_s, cents in pluck.curve)
    return pluck._replace(start_s=pluck.start_s + by_s, end_s=pluck.end_s + by_s, curve=curve)
