"""An application that has the hand worked out beside the keys, and shows what comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.tui.terminal.application import TerminalApp
from tabterm.workspace.adviser import Adviser
from tabterm.workspace.commands.trouble import finding_here

if TYPE_CHECKING:
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.score.model import Score
    from tabterm.score.place import Place
    from tabterm.tui.lines import MessageLine
    from tabterm.tui.score_view import ScoreView
    from tabterm.tui.terminal.abilities import Abilities
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.session import Session


class AdvisedApp(TerminalApp, inherit_bindings=False):
    """Asks the adviser about each new score; its answers come back between two keys."""

    session: Session
    score_view: ScoreView
    message_line: MessageLine

    def __init__(self, abilities: Abilities, *, ansi_color: bool) -> None:
        super().__init__(abilities, ansi_color=ansi_color)
        self.adviser: Adviser | None = None
        self._puzzle: Finding | None = None

    def sync_lines(self) -> None:
        """Repaint the lines round the score."""
        raise NotImplementedError

    def start_adviser(self) -> None:
        """Have the hand worked out from now on."""

        def answer(advice: Advice) -> None:
            self.call_from_thread(self._take_advice, advice)

        def offer(score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
            self.call_from_thread(self._take_remedies, score, finding, remedies)

        self.adviser = Adviser(answer, offer)
        self.adviser.ask(self.session.score, self.session.player)

    def hold_adviser(self) -> None:
        """Have the adviser wait while a key is carried out and shown."""
        if self.adviser is not None:
            self.adviser.hold()

    def ask_adviser(self) -> None:
        """Ask about the score as it stands, if that has not been answered."""
        if self.adviser is not None and self.session.hand.needs_advice:
            self.adviser.ask(self.session.score, self.session.player)

    def fault_of_adviser(self) -> str:
        """What to say where the hand could not be worked out, or ""."""
        fault = self.adviser.take_fault() if self.adviser is not None else None
        what = "a fault of the editor's own: no fingers and findings for this score"
        return f"{what} ({type(fault).__name__}: {fault}); your work is kept" if fault is not None else ""

    def wonder(self, finding: Finding) -> None:
        """Have the remedies of a finding tried."""
        if self.adviser is not None:
            self.adviser.ask_remedies(self.session.score, self.session.player, finding)

    def wonder_here(self) -> None:
        """Have the remedies of the finding at the cursor tried, once."""
        finding = self.finding_at_cursor()
        if finding is not None and finding is not self._puzzle:
            self.wonder(finding)
        self._puzzle = finding

    def finding_at_cursor(self) -> Finding | None:
        """From what was found for the score that stands; None while that is being worked out."""
        advice = self.session.hand.advice
        if advice is None or advice.findings is None or self.session.hand.needs_advice:
            return None
        return finding_here(self.session)

    def _take_advice(self, advice: Advice) -> None:
        """Show proposed fingers, the hand and the findings, if they are still about the score that stands."""
        if not self.session.take_advice(advice):
            return
        self.score_view.sync()
        if advice.findings is not None:
            places: dict[Place, tuple[Finding, ...]] = {}
            for finding in advice.findings:
                places[finding.place] = (*places.get(finding.place, ()), finding)
            self.message_line.to_mend = len(advice.findings)
            self.score_view.show_findings(places)
            self.wonder_here()  # the keys may have rested before there was a finding to wonder about
        self.sync_lines()

    def _take_remedies(self, score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
        self.session.hand.take_remedies(score, finding, remedies)
        if takes := getattr(self.screen, "take_remedies", None):
            takes(finding)
        self.sync_lines()
