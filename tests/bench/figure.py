"""What a benchmark finds."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One figure beside its goal.

    Attributes:
        name: What was measured.
        value: The figure.
        unit: Its unit.
        goal: The value that it should not exceed, or None where it is only reported.
        note: How it was measured, where the name does not say it.
    """

    name: str
    value: float
    unit: str
    goal: float | None = None
    note: str = ""

    @property
    def is_met(self) -> bool:
        """Within its goal, or without one."""
        return self.goal is None or self.value <= self.goal
