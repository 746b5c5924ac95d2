"""What the player has written, without what is proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.score.model import Measure

_NOTE = {"__all__": {"proposed_finger"}}
_PROPOSED: Any = {
    "events": {"__all__": {"proposed_stroke": True, "proposed_tremolo": True, "notes": _NOTE, "grace": _NOTE}}
}


def music(measures: Sequence[Measure]) -> list[dict[str, Any]]:
    """Measures as plain data that are equal where the player has written the same."""
    return [measure.model_dump(exclude=_PROPOSED) for measure in measures]
