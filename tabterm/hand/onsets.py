"""The score as the left hand meets it: phrases of onsets, of which those that a change leaves are kept."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace
from itertools import takewhile
from operator import is_
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.hand.leisure import give_way
from tabterm.memory import Memory
from tabterm.score.place import Place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.score.kinds import Stroke
    from tabterm.score.model import Event, Measure, Note, Score


FREE_S = 0.5  #: s; common practice, no source: at 0.8 mm/ms it would cross the neck of a mandolin twice
"""A rest as long as this ends a phrase: the hand has time to go anywhere, at no effort (common practice, no
source; at 0.8 mm/ms it would cross the neck of a mandolin twice)."""

GRACE_S = 0.08  #: s; common practice, no source
"""Time that a grace note takes, in seconds."""


@dataclass(frozen=True, slots=True)
class Onset:
    """What begins at one moment: the notes of an event, or one of its grace notes.

    Attributes:
        place: Onset of the event.
        grace: Number of the grace note, or None for the event itself.
        event: The event.
        notes: Its notes, or the grace note.
        gap_s: Seconds since the onset before.
        rest_s: Seconds of rest right before.
        let_go: Part of the note before that sounds on: 1, or less where it is cut short.
        opens: A section begins here.
        tied_s: Seconds that what sounds before it had lasted already at the onset before, by ties.
        returns: The left hand goes back to where it was two onsets ago.
    """

    place: Place
    grace: int | None
    event: Event
    notes: tuple[Note, ...]
    gap_s: float
    rest_s: float
    let_go: float
    opens: bool
    tied_s: float = 0.0
    returns: bool = False

    @property
    def since_s(self) -> float:
        """Seconds since what sounds before was struck: a tie is one note."""
        return self.gap_s + self.tied_s

    @property
    def goes_on(self) -> bool:
        """Nothing begins: every note is tied."""
        return self.notes[0].tied and all(note.tied for note in self.notes)

    def is_at(self, other: Onset) -> bool:
        """Whether its notes are written on the courses and frets of another onset."""
        if self.notes[0].fret != other.notes[0].fret or len(self.notes) != len(other.notes):
            return False
        pairs = zip(self.notes, other.notes, strict=True)
        return all(one.fret == another.fret and one.course == another.course for one, another in pairs)

    @property
    def stroke(self) -> Stroke | None:
        """The stroke shown."""
        return self.event.stroke_shown if self.event.takes_stroke else None


Phrase = tuple[Onset, ...]
"""Onsets between two borders that are free for the hand."""


class Start(NamedTuple):
    """Where a phrase begins, and what the hand did before.

    Attributes:
        place: Onset of its first event.
        rest_s: Seconds of rest right before.
        since_s: Seconds since the onset before.
        before: The event that sounded last, or None.
    """

    place: Place = Place(0)
    rest_s: float = 0.0
    since_s: float = 0.0
    before: Event | None = None


BEGIN = Start()
"""Before the first note."""


def walk(score: Score, start: Start = BEGIN) -> Iterator[tuple[Start, Phrase]]:
    """The phrases of a score from a start on, each with its own start: parted by rests of at least `FREE_S`."""
    phrase: list[Onset] = []
    begin, rest_s, since_s, before = start
    for index in range(begin.measure, len(score.measures)):
        give_way()
        measure = score.measures[index]
        quarter_s = 60.0 / score.tempos[index].quarters_per_minute
        for offset, event in measure.timed():
            if index == begin.measure and offset < begin.offset:
                continue
            length_s = float(event.length) * quarter_s
            if event.is_rest:
                rest_s += length_s
            else:
                place = Place(index, offset)
                if phrase and rest_s >= FREE_S:
                    yield start, tuple(phrase)
                    phrase = []
                if not phrase:
                    start = Start(place, rest_s, since_s, before)
                for onset in _onsets(place, event, measure, before, since_s, rest_s):
                    phrase.append(_after(phrase, onset))
                rest_s, since_s, before = 0.0, 0.0, event
            since_s += length_s
    if phrase:
        yield start, tuple(phrase)


def _after(phrase: list[Onset], onset: Onset) -> Onset:
    """An onset with what the ones before it in its phrase say of it."""
    tied_s = phrase[-1].since_s if phrase and phrase[-1].goes_on else 0.0
    returns = len(phrase) > 1 and onset.is_at(phrase[-2]) and not onset.is_at(phrase[-1])
    return replace(onset, tied_s=tied_s, returns=returns) if tied_s or returns else onset


def _onsets(
    place: Place, event: Event, measure: Measure, before: Event | None, since_s: float, rest_s: float
) -> Iterator[Onset]:
    """The grace notes of an event, taken from the time before it, and the event."""
    count = len(event.grace)
    grace_s = min(GRACE_S, since_s / (count + 1)) if count and before is not None else GRACE_S
    let_go = 0.5 if before is not None and before.staccato else 1.0
    opens = bool(measure.section) and not place.offset
    first_s = max(since_s - count * grace_s, grace_s) if count else since_s
    for number, note in enumerate(event.grace):
        if number == 0:
            yield Onset(place, number, event, (note,), first_s, rest_s, let_go, opens)
        else:
            yield Onset(place, number, event, (note,), grace_s, 0.0, 1.0, opens=False)
    if count:
        yield Onset(place, None, event, event.notes, grace_s, 0.0, 1.0, opens=False)
    else:
        yield Onset(place, None, event, event.notes, since_s, rest_s, let_go, opens)


KEPT_SCORES = 4  #: scores; implementation limit
"""Scores whose phrases are remembered: the player's, and pieces of it on which something is tried."""


@dataclass(frozen=True, eq=False)
class Phrasing:
    """The phrases of a score, and where and how each begins."""

    score: Score
    starts: tuple[Start, ...] = ()
    phrases: tuple[Phrase, ...] = ()

    def carried_to(self, score: Score) -> Phrasing:
        """The phrases of another score: these ones as far as its measures are the same objects."""
        front, back = self.shared(score)
        behind = len(score.measures) - back
        number = max(self._number(Place(front)) - 1, 0)
        starts, phrases = list(self.starts[:number]), list(self.phrases[:number])
        for start, phrase in walk(score, self.starts[number] if self._number(Place(front)) else BEGIN):
            if start.place.measure >= behind:
                number = self._number(start.place)
                if self.starts[number : number + 1] == (start,):
                    starts += self.starts[number:]
                    phrases += self.phrases[number:]
                    break
            starts.append(start)
            phrases.append(phrase)
        return Phrasing(score, tuple(starts), tuple(phrases))

    def shared(self, score: Score) -> tuple[int, int]:
        """How many measures at the front and at the back are another score's too, there and at that tempo."""
        pairs = (self.score.measures, score.measures), (self.score.tempos, score.tempos)
        front = min(sum(takewhile(bool, map(is_, mine, others))) for mine, others in pairs)
        if len(self.score.measures) != len(score.measures):
            return front, 0
        return front, min(sum(takewhile(bool, map(is_, mine[::-1], others[::-1]))) for mine, others in pairs)

    def _number(self, place: Place) -> int:
        """How many phrases begin before a place."""
        return bisect_left(self.starts, place, key=lambda start: start.place)


_RECENT: Memory[Phrasing] = Memory(
    "phrases", hangs_on="a score; carried on from the one most like it", most=KEPT_SCORES
)


def phrases(score: Score) -> tuple[Phrase, ...]:
    """The phrases of a score, in order; the same objects as in the score before, as far as nothing has changed."""
    recent = _RECENT.latest()
    known = max(recent, key=lambda each: sum(each.shared(score)), default=Phrasing(score))
    found = known if known.score is score and known in recent else known.carried_to(score)
    if 2 * sum(known.shared(score)) >= len(score.measures):
        _RECENT.drop(id(known.score))
    return _RECENT.keep(id(score), found).phrases
