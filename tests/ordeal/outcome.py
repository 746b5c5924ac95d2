"""What a part of the ordeal found."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Outcome:
    """Counts of a part, and the faults in a line each.

    Attributes:
        name: Of the part.
        counts: What was done, by name.
        faults: What must not be; none in the end.
    """

    name: str
    counts: dict[str, int] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def count(self, name: str, by: int = 1) -> None:
        """Something was done."""
        self.counts[name] = self.counts.get(name, 0) + by

    def __str__(self) -> str:
        done = ", ".join(f"{number} {name}" for name, number in self.counts.items())
        return f"{self.name}: {done}; faults {len(self.faults)}"
