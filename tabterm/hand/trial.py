"""Trying remedies, as a teacher would: in the order of `Kind`, each on the whole phrase before it is offered.

A remedy is offered where its finding is gone, no other of the same or a higher severity comes, and the phrase is
no harder by the measure of `tabterm.hand.difficulty`. One that takes the hand further up the neck than
`FURTHER` frets above all else in the phrase counts as another register.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.hand.bends import NEAR_CENTS
from tabterm.hand.difficulty import curve
from tabterm.hand.finding import UNASKED, Kind, Severity
from tabterm.hand.fingering import fingering
from tabterm.hand.onsets import phrases
from tabterm.hand.review import findings
from tabterm.hand.strokes import with_proposals
from tabterm.hand.ways import CHORD, searches
from tabterm.score.change import Change
from tabterm.score.operations import delete_measures
from tabterm.score.place import Place, Span
from tabterm.score.query import end_of, events_in, next_event, previous_event

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.player import Player
    from tabterm.instrument import Instrument
    from tabterm.score.model import Event, Note, Score

RANK = {severity: number for number, severity in enumerate(Severity)}
"""The lower the worse."""

BAD = frozenset({Severity.IMPOSSIBLE, Severity.HARD})
"""Where a finding of these is, the player is at the limit, whatever the effort."""

FURTHER = 2  #: frets; common practice, no source
"""A remedy goes so far beyond the highest fret of its phrase, unless another register is asked for."""

MOST_OF_KIND = 3  #: remedies; tuned here
"""So many of one kind are offered."""

FIRST_WILL_DO = frozenset({Kind.MEASURE, Kind.TEMPO})
"""Kinds that come from the least change to the greatest: the first that helps is offered alone."""

BY_EASE = frozenset({Kind.FINGER, Kind.COURSE})
"""Kinds of which the easiest is offered first; the others come in the order in which a teacher thinks of them."""

NO_HARDER = 1e-6  #: part of the limit; implementation limit


class Untried(NamedTuple):
    """A phrase as it was before anything was tried: where it is, and how far up the neck a remedy may go."""

    span: Span
    highest: int

    def moved(self, by: int) -> Untried:
        """The same, seen from so many measures earlier."""
        return Untried(Span(_moved(self.span.start, by), _moved(self.span.end, by)), self.highest)


@dataclass(frozen=True)
class Judged:
    """A score, or some measures of one, as a remedy is judged by it."""

    score: Score
    player: Player

    @cached_property
    def findings(self) -> dict[tuple[object, ...], Finding]:
        """Its findings by code, place and course."""
        return {key(each): each for each in findings(self.score, self.player)}

    @cached_property
    def uses(self) -> dict[Place, float]:
        """The part of the player's limit that each event asks for."""
        levels = curve(self.score, fingering(self.score, self.player))
        return {Place(index, offset): use for index, each in levels.items() for offset, use in each.items()}

    def use(self, span: Span) -> float:
        """The most that is asked for in a span; the limit at least, where something in it is hard or worse."""
        uses = [use for place, use in self.uses.items() if place in span]
        bad = any(each.severity in BAD and each.place in span for each in self.findings.values())
        return max((*uses, 1.0 if bad else 0.0))

    def bears(self, before: Judged, stretches: Sequence[Untried], severity: Severity) -> bool:
        """Nothing of a severity or worse is new since `before`, and no stretch is harder."""
        for each, found in self.findings.items():
            old = before.findings.get(each)
            is_new = old is None or RANK[found.severity] < RANK[old.severity]
            if is_new and RANK[found.severity] <= RANK[severity]:
                return False
        return all(self.use(each.span) <= before.use(each.span) + NO_HARDER for each in stretches)


def key(finding: Finding) -> tuple[object, ...]:
    """What tells a finding from the others of a score."""
    return finding.code, finding.place, finding.course


def stretches(score: Score) -> tuple[Untried, ...]:
    """The phrases of a score as a remedy has to respect them."""
    found = []
    for phrase in phrases(score):
        following = next_event(score, phrase[-1].place)
        span = Span(phrase[0].place, following[0] if following else end_of(score))
        found.append(Untried(span, max(map(_fret, (note for onset in phrase for note in onset.notes))) + FURTHER))
    return tuple(found)


class Helping(NamedTuple):
    """A remedy that helps, of the kind that it turned out to be.

    Attributes:
        ease: The part of the player's limit that is asked for there when it is applied.
        remedy: The remedy.
        after: The measures round the finding with it applied.
    """

    ease: float
    remedy: Remedy
    after: Score


class Trial:
    """A finding of a score, and the measures round it on which its remedies are tried."""

    def __init__(self, score: Score, player: Player, finding: Finding, whole: Sequence[Untried] = ()) -> None:
        """Take a finding of a score; `whole` are the stretches of all of it as it was at first."""
        piece, first = surroundings(score, finding.place.measure)
        self._score, self._before, self._finding = score, Judged(piece, player), finding
        self._name = finding.code, _moved(finding.place, -first)
        last = first + len(piece.measures)
        known = (each for each in whole if first <= each.span.start.measure < last)
        self._stretches = tuple(each.moved(-first) for each in known) or stretches(piece)
        self._far: list[Helping] = []

    def offered(self, kinds: Collection[Kind]) -> Iterator[Remedy]:
        """The remedies of some kinds that help, kind by kind and the best first."""
        if not self._stands(self._before):
            return
        seen: list[Score] = []
        for kind in Kind:
            if kind in kinds or (kind in UNASKED and Kind.REGISTER in kinds):
                new = [each for each in self._of_kind(kind) if each.after not in seen]
                seen += [each.after for each in new]
                if kind in kinds:
                    yield from (each.remedy for each in new[:MOST_OF_KIND])

    def _stands(self, judged: Judged) -> bool:
        """Whether the finding is there."""
        return any(each[:2] == self._name for each in judged.findings)

    def _of_kind(self, kind: Kind) -> list[Helping]:
        """The remedies of a kind that help; those that go too far up the neck are kept for `REGISTER`."""
        found = list(self._far) if kind is Kind.REGISTER else []
        own = (remedy for remedy in self._finding.remedies if remedy.kind is kind)
        for search in (own, *searches(self._score, self._before.player, self._finding, kind)):
            for helping in filter(None, map(self._helping, search)):
                (found if helping.remedy.kind is kind else self._far).append(helping)
                if kind in FIRST_WILL_DO:
                    break
            if found and kind is Kind.FINGER:
                break
        return sorted(found, key=lambda each: round(each.ease, 2)) if kind in BY_EASE else found

    def _helping(self, remedy: Remedy) -> Helping | None:
        """A remedy tried: None where it does not help, or sounds otherwise than a remedy of its kind may."""
        before, place = self._before, self._name[1]
        try:
            score = done(before.score, before.player, remedy, place)
        except TabtermError:
            return None
        if score is before.score or (remedy.is_unasked and not sounds_alike(before.score, score, remedy.kind)):
            return None
        after = Judged(score, before.player)
        if self._stands(after) or not after.bears(before, self._stretches, self._finding.severity):
            return None
        if remedy.is_unasked and any(_highest(score, each.span) > each.highest for each in self._stretches):
            remedy = replace(remedy, kind=Kind.REGISTER)
        return Helping(after.use(_round(score, place)), remedy, score)


def offered(
    score: Score, player: Player, finding: Finding, kinds: Collection[Kind] = tuple(Kind)
) -> tuple[Remedy, ...]:
    """The remedies of a finding that help, in the order in which a teacher tries them."""
    return tuple(Trial(score, player, finding).offered(kinds))


def done(score: Score, player: Player, remedy: Remedy, place: Place) -> Score:
    """The score with a remedy applied, and with the strokes that are proposed then.

    Raises:
        TabtermError: It cannot be done.
    """
    after = remedy.operation(score, place)
    change = Change.between(score, after)
    return score if change is None else with_proposals(after, player, change)


class Mended(NamedTuple):
    """A remedy that was applied: to what, and the score before and after."""

    finding: Finding
    remedy: Remedy
    before: Score
    after: Score


def mended(score: Score, player: Player, kinds: Collection[Kind] = UNASKED) -> tuple[Score, list[Mended]]:
    """The score with the first remedy of these kinds that helps of each finding, and what was done.

    One finding after the other, since a remedy may see to several; none is tried twice. Each is judged by the
    whole score as well, and none takes the hand beyond what its phrase was at first.
    """
    applied: list[Mended] = []
    tried: set[tuple[object, ...]] = set()
    whole, judged = stretches(score), Judged(score, player)
    while (
        finding := next((each for name, each in judged.findings.items() if name not in tried), None)
    ) is not None:
        tried.add(key(finding))
        for remedy in Trial(judged.score, player, finding, whole).offered(kinds):
            after = Judged(done(judged.score, player, remedy, finding.place), player)
            if after.bears(judged, whole, finding.severity):
                applied.append(Mended(finding, remedy, judged.score, after.score))
                judged = after
                break
    return judged.score, applied


# What stays as it is


def sounds_alike(one: Score, other: Score, kind: Kind) -> bool:
    """Whether the same is heard at the same time: pitches, lengths, ties, tempos.

    Of a chord the highest note and the names of all count. How notes are reached may differ with `SLUR` only.
    """
    if one.tempos != other.tempos or len(one.measures) != len(other.measures):
        return False
    pairs = ((a, b) for a, b in zip(one.measures, other.measures, strict=True) if a is not b)
    return all(
        len(before.events) == len(after.events)
        and all(
            old is new or _heard(one.head.instrument, old, kind) == _heard(one.head.instrument, new, kind)
            for old, new in zip(before.events, after.events, strict=True)
        )
        for before, after in pairs
    )


def _heard(instrument: Instrument, event: Event, kind: Kind) -> tuple[object, ...]:
    """What is heard of an event, as far as a remedy of a kind has to leave it."""
    pitched = [(instrument.pitch(note.course, note.fret), note) for note in (*event.grace, *event.notes)]
    tied = {pitch for pitch, note in pitched if note.tied}
    if len(event.notes) >= CHORD:
        top = max(pitch for pitch, _ in pitched)
        return event.duration, tied, top, {pitch % 12 for pitch, _ in pitched}
    pitches: set[float] = {pitch for pitch, note in pitched if note.bend is None or note.is_struck}
    for pitch, note in pitched:
        if note.bend is not None:
            to = note.bend.cents / 100
            pitches.add(pitch + (round(to) if 100 * abs(to - round(to)) <= NEAR_CENTS else to))
    reached = set() if kind is Kind.SLUR else {(pitch, note.reached) for pitch, note in pitched}
    return event.duration, tied, pitches, reached


def _fret(note: Note) -> int:
    """The fret of a note, or of the pitch that it is bent to."""
    return note.fret + (0 if note.bend is None else math.ceil(note.bend.cents / 100))


def _highest(score: Score, span: Span) -> int:
    """The highest fret in a span."""
    notes = (note for _, event in events_in(score, span) for note in (*event.grace, *event.notes))
    return max((note.fret for note in notes), default=0)


def _round(score: Score, place: Place) -> Span:
    """From the event before a place to the one after it."""
    before, after = previous_event(score, place), next_event(score, place)
    last = next_event(score, after[0]) if after else None
    return Span(before[0] if before else place, last[0] if last else end_of(score))


# The measures round a finding


def surroundings(score: Score, index: int) -> tuple[Score, int]:
    """The measures of the phrases that touch a measure and one more at each end, and the index of the first."""
    first = last = index
    for phrase in phrases(score):
        begins, ends = phrase[0].place.measure, phrase[-1].place.measure
        if begins <= index + 1 and ends >= index - 1:
            first, last = min(first, begins), max(last, ends)
    first, last = max(first - 1, 0), min(last + 1, len(score.measures) - 1)
    piece = score
    if last + 1 < len(score.measures):
        piece = delete_measures(piece, last + 1, len(score.measures) - 1)
    if first:
        piece = delete_measures(piece, 0, first - 1)
    return piece, first


def _moved(place: Place, by: int) -> Place:
    return Place(place.measure + by, place.offset)
