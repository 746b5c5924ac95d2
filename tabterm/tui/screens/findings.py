"""The list of findings: jump to one, or mend it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tabterm.score.place import count_name, display_number
from tabterm.tui.painter import SIGNS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from tabterm.hand.findings import Finding
    from tabterm.score.model import Score

Choice = tuple[int, int | None]
"""Number of a finding, and number of the remedy to apply (None: only go there)."""


def finding_line(score: Score, finding: Finding) -> str:
    """A finding as one line: sign, place, severity, words."""
    number = display_number(score, finding.place.measure)
    where = f"m{number} {count_name(score, finding.place)}"
    severity = finding.severity.value
    return f"{SIGNS[severity]} {where:<8} {severity}: {finding.message}"


class FindingsScreen(ModalScreen[Choice | None]):
    """Arrows choose; Enter goes there; a digit applies the remedy with that number."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "dismiss", "close"),
        *((str(number), f"mend({number})", f"remedy {number}") for number in range(1, 10)),
    ]

    def __init__(self, score: Score, findings: Sequence[Finding], chosen: int) -> None:
        super().__init__()
        self._score = score
        self._findings = findings
        self._chosen = chosen

    def compose(self) -> ComposeResult:
        """One entry a finding, its remedies below it."""
        title = f"{len(self._findings)} findings: Enter goes there, a digit applies a remedy, Escape closes"
        with Vertical(classes="sheet"):
            yield Static(Text(title, style="bold"))
            yield OptionList(*[self._option(finding) for finding in self._findings], compact=True)

    def on_mount(self) -> None:
        """Start at the finding nearest to the cursor."""
        options = self.query_one(OptionList)
        options.highlighted = self._chosen if self._findings else None
        options.focus()

    def _option(self, finding: Finding) -> Option:
        lines = [finding_line(self._score, finding)]
        lines += [f"      {number} {remedy.label}" for number, remedy in enumerate(finding.remedies[:9], 1)]
        return Option(Text("\n".join(lines)))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Go there."""
        self.dismiss((event.option_index, None))

    def action_mend(self, number: int) -> None:
        """Apply a remedy of the finding chosen."""
        index = self.query_one(OptionList).highlighted
        if index is not None and number <= len(self._findings[index].remedies):
            self.dismiss((index, number - 1))
