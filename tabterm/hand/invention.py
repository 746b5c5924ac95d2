"""New phrases that this player can play: what may be made, the best that differ chosen.

A candidate has no finding that the phrase had not before, and asks for no more of the player's limit than wanted.
Two phrases differ by the share of the notes of the longer one that the other does not have at the same moment,
played in the same way; candidates differ from each other and from the phrase by `APART` at least.
"""

from __future__ import annotations

from dataclasses import field, replace
from random import Random
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.hand.candidates import Candidate, Draft, Room, apart
from tabterm.hand.ornaments import Dresser, Played
from tabterm.hand.plainer import Plainer
from tabterm.harmony.continuing import answer, extended
from tabterm.harmony.from_pool import Demand, new
from tabterm.harmony.inventing import WORDS, Way, over, reordered, repitched
from tabterm.harmony.rhythm_names import usual_rhythms
from tabterm.harmony.sketches import Theme
from tabterm.score.place import Span
from tabterm.score.query import move_by

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tabterm.hand.player import Player
    from tabterm.harmony.pools import Pool
    from tabterm.score.model import Score

COUNT = 5  #: phrases; tuned here: what can be compared by ear

APART = {  #: part of the notes; tuned here
    Way.ORNAMENTED: 0.15,
    Way.PLAINER: 0.1,
    Way.EXTENDED: 0.08,
    Way.ANSWER: 0.2,
}
LEAST_APART = 0.3  #: part of the notes; tuned here
"""How much candidates differ at least; those that keep the melody less than those that do not."""

FROM_THEME = 0.5  #: times; tuned here
"""A melody that stays differs from the phrase by so much of that at least."""

KEEPS_MELODY = frozenset({Way.ORNAMENTED, Way.PLAINER})
"""What is tried in the order in which it is made, kind by kind: a melody that stays is not judged anew."""

MOST_TRIED = 40  #: candidates; implementation limit
"""So many are laid on the neck in search of the ones that are asked for."""

#: points; tuned here
OF_LIMIT, OF_VARIETY = 2.0, 2.0
"""What a phrase that is at the player's limit costs, and what one gains that has nothing of those before it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be made.

    Attributes:
        way: How.
        count: How many.
        seed: Where chance begins; the same seed gives the same phrases.
        chord: What `OVER` is over.
        pool: What notes are of; None for the scale that explains the phrase.
        demand: What `NEW` is to be.
        limit: The part of the player's limit that may be asked for.
        known: Says of a score and a span whether that phrase is not to be made, such as one of a book.
    """

    way: Way
    count: int = COUNT
    seed: int = 0
    chord: str = ""
    pool: Pool | None = None
    demand: Demand = field(default_factory=Demand)
    limit: float = 1.0
    known: Callable[[Score, Span], bool] | None = None


def invented(score: Score, player: Player, span: Span, wanted: Wanted) -> tuple[Candidate, ...]:
    """New phrases made of a span, the best first.

    Raises:
        ScoreError: There is nothing to make one of, or none that can be played.
    """
    found = sorted(_found(score, player, span, wanted), key=lambda pair: pair[0])
    if not found:
        raise ScoreError(
            f"no phrase found: {WORDS[wanted.way]}",
            hint="select more notes, allow more of the limit, or try another seed",
        )
    return tuple(candidate for _, candidate in found)


def _found(score: Score, player: Player, span: Span, wanted: Wanted) -> Iterator[tuple[float, Candidate]]:
    """The candidates with their rank."""
    theme = Theme(score, span, wanted.pool, strictly=wanted.way is Way.NEW)
    if wanted.way is not Way.NEW:
        theme = replace(theme, span=_from_a_note(theme))
    room = Room(score, player, theme.span)
    own = room.marks(Played(note.at, note.length, note.event) for note in theme.notes)
    chosen: list[frozenset[object]] = []
    least, tried = APART.get(wanted.way, LEAST_APART), 0
    drafts = list(_drafts(theme, room, wanted))
    for draft in drafts if wanted.way in KEEPS_MELODY else sorted(drafts, key=lambda each: each.points):
        if len(chosen) == wanted.count or tried >= MOST_TRIED:
            return
        variety = min((apart(draft.marks, other) for other in chosen), default=1.0)
        differs = apart(draft.marks, own)
        if variety < least or differs < least * (FROM_THEME if wanted.way in KEEPS_MELODY else 1.0):
            continue
        tried += 1
        candidate = room.candidate(draft, differs, limit=wanted.limit, easier=wanted.way is Way.PLAINER)
        if candidate is None or (wanted.known is not None and wanted.known(candidate.score, candidate.span)):
            continue
        chosen.append(draft.marks)
        of_melody = draft.points - OF_VARIETY * min(variety, differs)
        yield OF_LIMIT * candidate.use + (0.0 if wanted.way is Way.PLAINER else of_melody), candidate


def _from_a_note(theme: Theme) -> Span:
    """The span from its first note that is struck in it on: the rest of one that goes on into it stays."""
    for note in theme.notes:
        held = note.event is not None and note.event.notes and all(each.tied for each in note.event.notes)
        if not held and note.pitch is not None:
            return Span(move_by(theme.score, theme.span.start, note.at), theme.span.end)
    return theme.span


def _drafts(theme: Theme, room: Room, wanted: Wanted) -> Iterator[Draft]:
    """Everything that may be laid on the neck."""
    random = Random(f"{wanted.seed} {wanted.way}")  # noqa: S311 - chance, no secret
    if wanted.way in KEEPS_MELODY:
        of_theme = theme, room.neck
        ornamented = wanted.way is Way.ORNAMENTED
        made = Dresser(*of_theme).ornamented(random) if ornamented else Plainer(*of_theme).plainer(random)
        for each in made:
            yield Draft(theme.span.start, each.played, room.marks(each.played), each.points, each.told)
        return
    sketches = {
        Way.REORDERED: lambda: reordered(theme, random),
        Way.REPITCHED: lambda: repitched(theme, random),
        Way.OVER: lambda: over(theme, random, wanted.chord),
        Way.EXTENDED: lambda: extended(theme, random),
        Way.ANSWER: lambda: answer(theme, random),
        Way.NEW: lambda: new(
            theme, random, wanted.demand, usual_rhythms(theme.score.metres[theme.span.start.measure])
        ),
    }
    for sketch in sketches[wanted.way]():
        yield room.draft(sketch, WORDS[wanted.way])
