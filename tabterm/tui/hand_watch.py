"""The hand is worked out beside the keys, and what comes of it is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.workspace.adviser import Adviser
from tabterm.workspace.commands.trouble import finding_here

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import App

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.score.model import Score
    from tabterm.score.place import Place
    from tabterm.tui.front import Front
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.session import Session


class HandWatch:
    """Asks the adviser about each new score; its answers come back between two keys."""

    def __init__(self, session: Session, front: Front, app: App[None], when_failed: Callable[[], None]) -> None:
        """Show on `front`, and on the screen of `app` that lies over it, what is found out about a session.

        `when_failed` is called where something could not be worked out; what is said by `fault`.
        """
        self._session = session
        self._front = front
        self._app = app
        self._when_failed = when_failed
        self._adviser: Adviser | None = None
        self._puzzle: Finding | None = None

    def start(self) -> None:
        """Have the hand worked out from now on."""

        def answer(advice: Advice) -> None:
            self._app.call_from_thread(self._take_advice, advice)

        def offer(score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
            self._app.call_from_thread(self._take_remedies, score, finding, remedies)

        def failed() -> None:
            self._app.call_from_thread(self._when_failed)

        self._adviser = Adviser(answer, offer, failed)
        self._adviser.ask(self._session.score, self._session.player)

    def stop(self) -> None:
        """Have nothing worked out any more: there is no screen to show it on."""
        if self._adviser is not None:
            self._adviser.close()

    def hold(self) -> None:
        """Have the adviser wait while a key is carried out and shown."""
        if self._adviser is not None:
            self._adviser.hold()

    def ask(self) -> None:
        """Ask about the score as it stands, if that has not been answered."""
        if self._adviser is not None and self._session.hand.needs_advice:
            self._adviser.ask(self._session.score, self._session.player)

    def fault(self) -> str:
        """What to say where the hand could not be worked out, or ""."""
        fault = self._adviser.take_fault() if self._adviser is not None else None
        what = "internal error: no fingers or findings for this score"
        return f"{what} ({type(fault).__name__}: {fault}); your work is kept" if fault is not None else ""

    def wonder(self, finding: Finding) -> None:
        """Have the remedies of a finding tried."""
        if self._adviser is not None:
            self._adviser.ask_remedies(self._session.score, self._session.player, finding)

    def wonder_here(self) -> None:
        """Have the remedies of the finding at the cursor tried, once."""
        finding = self.finding_at_cursor()
        if finding is not None and finding is not self._puzzle:
            self.wonder(finding)
        self._puzzle = finding

    def finding_at_cursor(self) -> Finding | None:
        """From what was found for the score that stands; None while that is being worked out."""
        advice = self._session.hand.advice
        if advice is None or advice.findings is None or self._session.hand.needs_advice:
            return None
        return finding_here(self._session)

    def sync_lines(self) -> None:
        """Repaint the lines round the score, with the finding at the cursor."""
        self._front.sync_lines(self.finding_at_cursor())

    def _take_advice(self, advice: Advice) -> None:
        """Show proposed fingers, the hand and the findings, if they are still about the score that stands."""
        if not self._session.take_advice(advice):
            return
        self._front.score_view.sync()
        if advice.findings is not None:
            places: dict[Place, tuple[Finding, ...]] = {}
            for finding in advice.findings:
                places[finding.place] = (*places.get(finding.place, ()), finding)
            self._front.message_line.to_mend = len(advice.findings)
            self._front.score_view.show_findings(places)
            self.wonder_here()  # the keys may have rested before there was a finding to wonder about
        self.sync_lines()

    def _take_remedies(self, score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
        self._session.hand.take_remedies(score, finding, remedies)
        if takes := getattr(self._app.screen, "take_remedies", None):
            takes(finding)
        self.sync_lines()
