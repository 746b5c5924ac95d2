"""The phrases in which a piece is learnt: where they are, how near to the limits, what is hard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.difficulty import Playing, curve
from tabterm.hand.finding import Severity
from tabterm.hand.fingering import fingering
from tabterm.hand.passages import hardest
from tabterm.hand.review import findings
from tabterm.hand.trial import BAD, offered
from tabterm.harmony.phrases import phrase_ranges
from tabterm.score.place import Span, display_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.passages import Hard
    from tabterm.hand.player import Player
    from tabterm.score.model import Event, Score

HARD = 0.6
"""A passage that uses so much of the player up, 1 at the limit, gets a drill of its own; tuned here."""

MOST_PASSAGES, MOST_OF_PHRASE = 20, 2
"""Hard passages that are looked for in a piece, and that one phrase names; tuned here."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase as it is learnt.

    Attributes:
        number: From 1 on.
        first: Index of its first measure.
        last: Index of its last measure.
        section: The section that it is in, "" where none is marked.
        use: The most that it uses the player up at the written tempo: 1 at the limit, or where something is hard.
        limit_percent: Percent of the written tempo at which the player's limit is reached.
        findings: What a hand cannot do or finds hard there, each with the ways round it that help.
        passages: Its hardest passages, the hardest first.
        again: Runs of its measures that stand in the piece before: first, last, and the first one before.
    """

    number: int
    first: int
    last: int
    section: str
    use: float
    limit_percent: float
    findings: tuple[tuple[Finding, tuple[Remedy, ...]], ...] = ()
    passages: tuple[Hard, ...] = ()
    again: tuple[tuple[int, int, int], ...] = ()

    @property
    def span(self) -> Span:
        """Its measures."""
        return Span.of_measures(self.first, self.last)

    def measures(self, score: Score) -> str:
        """Its measures as a player counts them."""
        return measures_named(score, self.first, self.last)

    def name(self, score: Score) -> str:
        """What it is called: its number and its measures."""
        return f"Phrase {self.number}: {self.measures(score)}"


def measures_named(score: Score, first: int, last: int) -> str:
    """Measures by index in words, as a player counts them: `measures 5 to 8`, `pickup to measure 4`."""
    if first == 0 and score.measures[0].short:
        return "pickup" if last == 0 else f"pickup to measure {display_number(score, last)}"
    if first == last:
        return f"measure {display_number(score, first)}"
    return f"measures {display_number(score, first)} to {display_number(score, last)}"


def phrases_of(score: Score, player: Player, span: Span | None = None) -> tuple[Phrase, ...]:
    """The phrases of a fingered score, or those of some measures, as `phrase_ranges` has them."""
    levels = curve(score, fingering(score, player))
    found = [(each, offered(score, player, each)) for each in findings(score, player) if _counts(each)]
    named = {each.place for each, _ in found if each.severity in BAD}
    passages = hardest(score, player, MOST_PASSAGES)
    known: dict[tuple[object, ...], int] = {}
    phrases: list[Phrase] = []
    for first, last in phrase_ranges(score, span):
        uses = [use for index in range(first, last + 1) for use in levels.get(index, {}).values()]
        here = Span.of_measures(first, last)
        if not uses:
            continue
        hard = [each for number, each in enumerate(passages) if each.use >= HARD or number == 0]
        phrases.append(
            Phrase(
                number=len(phrases) + 1,
                first=first,
                last=last,
                section=_section(score, first, last),
                use=max((*uses, *(1.0 for place in named if place in here))),
                limit_percent=_limit_percent(score, player, here),
                findings=tuple(each for each in found if each[0].place in here),
                passages=tuple([each for each in hard if each.span.start in here][:MOST_OF_PHRASE]),
                again=tuple(_again(score, first, last, known)),
            )
        )
        for index in range(first, last + 1):
            known.setdefault(_music(score, index), index)
    return tuple(phrases)


def _counts(finding: Finding) -> bool:
    return finding.severity is not Severity.REMARK


def _section(score: Score, first: int, last: int) -> str:
    """The last section mark up to the end of a phrase's first whole measure."""
    until = first + 1 if score.measures[first].short and first < last else first
    marks = (score.measures[index].section for index in range(until, -1, -1))
    return next(filter(None, marks), "")


def _limit_percent(score: Score, player: Player, span: Span) -> float:
    """Percent of the written tempo at which the worst place of a span reaches the limit."""
    percents = []
    for solved in fingering(score, player).phrases:
        inside = [number for number, onset in enumerate(solved.phrase) if onset.place in span]
        if inside:
            written = score.tempos[solved.phrase[inside[0]].place.measure].quarters_per_minute
            part = Playing.of(score, solved).part(inside[0], inside[-1])
            percents.append(100.0 * part.limit_tempo(written) / written)
    return min(percents)


def _music(score: Score, index: int) -> tuple[object, ...]:
    """What makes two measures the same to the hands: rhythm, and each note with how it is reached."""
    return tuple(_moment(event) for event in score.measures[index].events)


def _moment(event: Event) -> tuple[object, ...]:
    notes = (*event.grace, *event.notes)
    return event.duration, tuple((n.course, n.fret, n.reached, n.tied, n.muted, n.bend) for n in notes)


def _again(
    score: Score, first: int, last: int, known: dict[tuple[object, ...], int]
) -> Iterator[tuple[int, int, int]]:
    """Runs of measures that are like measures before the phrase, one after the other there as well."""
    begin, like = first, None
    for index in range(first, last + 2):
        before = None
        if index <= last and any(not event.is_rest for event in score.measures[index].events):
            before = known.get(_music(score, index))
        if like is not None and before != like + index - begin:
            yield begin, index - 1, like
            like = None
        if like is None and before is not None:
            begin, like = index, before
