"""What is to be mended around the cursor, where the screen has room for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.place import count_name, display_number
from tabterm.tui.canvas import Canvas
from tabterm.tui.lines import TextLine
from tabterm.tui.painter import SIGNS

if TYPE_CHECKING:
    from textual.strip import Strip

    from tabterm.hand.finding import Finding
    from tabterm.score.model import Score


def finding_line(score: Score, finding: Finding) -> str:
    """A finding as one line: sign, place, severity, words."""
    number = display_number(score, finding.place.measure)
    where = f"m{number} {count_name(score, finding.place)}"
    severity = finding.severity.value
    return f"{SIGNS[severity]} {where:<8} {severity}: {finding.message}"


class Outlook(TextLine):
    """The findings nearest to the cursor in score order, the next one bright; it is there on tall screens only."""

    DEFAULT_CSS = "Outlook { display: none; }"
    SHARE, LOWEST = 6, 36
    """The part of a screen's lines that it takes, and the lines that the screen must have."""

    def fit(self, lines: int) -> None:
        """Take a share of a screen of so many lines, or none."""
        self.display = lines >= self.LOWEST
        self.styles.height = lines // self.SHARE

    def paint(self) -> list[Strip]:
        """As many as there is room for; those at and behind the cursor, and one that lies before it."""
        session, room = self.session, self.size.height
        advice = session.hand.advice
        if advice is None or advice.findings is None or session.hand.needs_advice:
            return self.lines
        found = advice.findings
        following = sum(finding.place < session.here.cursor.place for finding in found)
        first = max(min(following - 1, len(found) - room), 0)
        strips = []
        for number, finding in enumerate(found[first : first + room], first):
            canvas = Canvas(self.size.width, self.look.plain)
            style = self.look.chosen if number == following else self.look.faint
            canvas.put(0, finding_line(session.score, finding), style)
            strips.append(canvas.strip())
        return strips
