"""Changing what the head of a score says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tabterm.score.operations.draft import commit, refusing

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.kinds import StrokeSchool
    from tabterm.score.model import Score, Swing
    from tabterm.score.profile import HandProfile


def _set_head(score: Score, **changes: Any) -> Score:
    return commit(score, 0, 0, [], score.head.with_(**changes))


def set_title(score: Score, title: str) -> Score:
    """Name the score; raises ScoreError for more than 200 characters."""
    with refusing("the title is too long", hint="at most 200 characters"):
        return _set_head(score, title=title)


def set_credits(score: Score, lines: tuple[str, ...]) -> Score:
    """Set the credit lines; raises ScoreError for one of more than 500 characters."""
    with refusing("a credit line is too long", hint="at most 500 characters"):
        return _set_head(score, credits=lines)


def set_instrument(score: Score, instrument: Instrument) -> Score:
    """Play the same courses and frets on another instrument.

    Raises:
        ScoreError: It has too few courses. Too few frets are a finding, not an error.
    """
    return _set_head(score, instrument=instrument)


def set_swing(score: Score, swing: Swing | None) -> Score:
    """Swing the score, or play it straight."""
    return _set_head(score, swing=swing)


def set_school(score: Score, school: StrokeSchool) -> Score:
    """Choose how strokes are proposed."""
    return _set_head(score, school=school)


def set_hand(score: Score, hand: HandProfile | None) -> Score:
    """Say whose hands play; None: those of whoever opens it."""
    return _set_head(score, hand=hand)
