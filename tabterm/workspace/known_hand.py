"""What is known of the hand on a document's score as it stands, and what the player's own fingers teach."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.fingering import Fingering
    from tabterm.hand.player import Player
    from tabterm.score.model import Score
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.commands.fingers import Audition, NoteAudition
    from tabterm.workspace.document import Document


@dataclass
class KnownHand:
    """The newest advice where it is still about the score and the player; else what is worked out when asked for.

    Attributes:
        document: Whose score and player it is about.
        advice: What the adviser has worked out last.
        finding_index: Number of the finding that was gone to last.
        audition: Fingerings of a passage that are being gone through.
        note_audition: The same of one note.
    """

    document: Document
    advice: Advice | None = None
    finding_index: int | None = None
    audition: Audition | None = None
    note_audition: NoteAudition | None = None
    _found: tuple[Score, Player, tuple[Finding, ...]] | None = None
    _offered: tuple[Score, Finding, tuple[Remedy, ...]] | None = None

    @property
    def needs_advice(self) -> bool:
        """Nothing has been worked out for the score and the player as they stand."""
        return self._advice() is None

    def _advice(self) -> Advice | None:
        """What has been worked out for the score and the player as they stand."""
        known, document = self.advice, self.document
        return known if known and known.score is document.score and known.player is document.player else None

    def levels(self, index: int) -> Mapping[Fraction, float]:
        """For each event of a measure, by its offset, the part of the player's limit that it asks for.

        Empty where the measure, or the player, has changed since that was worked out.
        """
        advice, measures = self.advice, self.document.score.measures
        if advice is None or advice.player is not self.document.player or index >= len(advice.score.measures):
            return {}
        return advice.levels.get(index, {}) if advice.score.measures[index] is measures[index] else {}

    def fingering(self) -> Fingering:
        """The fingering of the score as it stands."""
        from tabterm.hand.fingering import fingering

        known = self._advice()
        return fingering(self.document.score, self.document.player) if known is None else known.fingering

    def findings(self) -> tuple[Finding, ...]:
        """What the hands cannot do, or find hard, in score order."""
        from tabterm.hand.review import findings

        known = self._advice()
        if known is not None and known.findings is not None:
            return known.findings
        score, player, found = self.document.score, self.document.player, self._found
        if found is None or found[0] is not score or found[1] is not player:
            found = self._found = (score, player, findings(score, player))
        return found[2]

    def remedies(self, finding: Finding) -> tuple[Remedy, ...]:
        """The remedies of a finding that help, tried out."""
        from tabterm.hand.trial import offered

        known = self.remedies_known(finding)
        if known is None:
            known = offered(self.document.score, self.document.player, finding)
            self.take_remedies(self.document.score, finding, known)
        return known

    def take_remedies(self, score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
        """Remember which remedies help, for as long as the score stands."""
        self._offered = (score, finding, remedies)

    def remedies_known(self, finding: Finding) -> tuple[Remedy, ...] | None:
        """The remedies that help, where that has been worked out already."""
        known = self._offered
        return known[2] if known and known[0] is self.document.score and known[1] is finding else None


@dataclass
class Lessons:
    """Measures of a document that have something to teach, until it is learnt."""

    document: Document
    _measures: set[int] = field(default_factory=set)

    def add(self, index: int) -> None:
        """Have a measure learnt from."""
        self._measures.add(index)

    def learn(self) -> int:
        """Learn from the fingers that the player set against a proposal; in how many measures there were such.

        What was learnt holds from the next proposal on, and is kept for other scores.
        """
        from tabterm.hand.trial import surroundings
        from tabterm.piece.player import learn

        score, player = self.document.score, self.document.player
        lessons = sorted(self._measures)
        self._measures.clear()
        if not player.learns:
            return 0
        looked_at = -1
        for index in lessons:
            if looked_at < index < len(score.measures):
                piece, first = surroundings(score, index)
                looked_at = first + len(piece.measures) - 1
                player = learn(piece, player)
        if player is self.document.player:
            return 0
        self.document.player = player
        return len(lessons)
