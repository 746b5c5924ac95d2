"""New phrases that the player looks through: of what they are made, how, and which five of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.place import Place, Span
from tabterm.score.query import music

if TYPE_CHECKING:
    from tabterm.hand.candidates import Candidate
    from tabterm.workspace.session import Session

AROUND = 1
"""Measures that are heard before a new phrase and behind it."""


@dataclass(frozen=True, slots=True)
class Invention:
    """What is looked through.

    Attributes:
        words: How the phrases are made, in the words of `piece.inventing.asked`.
        seed: Which ones of those that can be made.
    """

    words: str = "repitched"
    seed: int = 0

    def others(self) -> Invention:
        """The next ones of the same way."""
        return replace(self, seed=self.seed + 1)

    def by(self, step: int) -> Invention:
        """Another way of those that need no more words."""
        from tabterm.piece.inventing import PLAIN_WAYS

        ways = [*PLAIN_WAYS]
        now = ways.index(self.words) if self.words in ways else -(step > 0)
        return Invention(ways[(now + step) % len(ways)])


def phrase_meant(session: Session) -> Span:
    """The selection, or else the phrase at the cursor; raises ScoreError after the last measure."""
    from tabterm.harmony.phrases import phrases

    selected, place = session.here.selection(), session.here.cursor.place
    if selected is not None:
        return selected
    if place.measure >= len(session.score.measures):
        raise ScoreError("the cursor is past the last measure", hint="go back to the music")
    return next(span for span in phrases(session.score) if place < span.end)


def hear(session: Session, candidate: Candidate) -> None:
    """Play a candidate with what stands around it; stop where something plays.

    Raises:
        SoundError: There is no way to.
    """
    if session.transport.playing:
        session.transport.stop()
        return
    span, count = candidate.span, len(candidate.score.measures)
    last = min(span.end.measure + (span.end.offset > 0) + AROUND, count)
    session.rehearsal.audition(candidate.score, Span(Place(max(span.start.measure - AROUND, 0)), Place(last)))


def take(session: Session, candidate: Candidate) -> None:
    """Put a candidate into the score, as one change; measures in which nothing else is played stay as they are."""
    session.transport.stop()
    now = session.score.measures
    measures = tuple(
        now[index] if index < len(now) and music((now[index],)) == music((new,)) else new
        for index, new in enumerate(candidate.score.measures)
    )
    session.rework(session.score.with_(measures=measures), "new phrase", told=f": {candidate.told}")
    session.here.go(candidate.span.start)
