"""Where the measures of a score lie in a recording: bar lines held to seconds, and all that lies between them.

A recording drifts, so one tempo never fits it. Each anchor holds a place of the score to a moment; between two of
them time goes evenly by quarters, and beyond the outermost ones it goes on as fast as there. The map knows the
measures as they are written, each once: a recording of a repeated part is mapped in one of its turns.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, Annotated

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.forms import Limits
from tabterm.score.place import Place, Span, display_number, lead_in
from tabterm.values import Quarters, Value

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.recording.beats import Beats
    from tabterm.score.change import Change
    from tabterm.score.model import Score

MOST_ANCHORS = 20_000  #: anchors; derived: two hours of a measure a third of a second
LATEST_S = 1_000_000.0  #: s; definition: no moment of a recording lies later
LEAST_S = 0.02  #: s; tuned here: what is nearer is one moment


class Anchor(Value):
    """A place of a score, and when it sounds in the recording.

    Attributes:
        measure: Index of the measure; that behind the last one is the end of the score.
        offset: Quarters from the start of the measure.
        at_s: Seconds of the recording.
        held: The player has set it; what is proposed anew leaves it alone.
    """

    measure: Annotated[int, Limits(ge=0)]
    offset: Quarters = Fraction(0)
    at_s: Annotated[float, Limits(ge=-LATEST_S, le=LATEST_S)]
    held: bool = False

    @property
    def place(self) -> Place:
        """Where in the score."""
        return Place(self.measure, self.offset)

    def later(self, by_s: float) -> Anchor:
        """The same place so much later."""
        return self.with_(at_s=self.at_s + by_s)


class TimeMap(Value):
    """The anchors of a score to a recording, in order; every change gives a new map.

    Attributes:
        anchors: At least one; places and moments both rise.
    """

    anchors: Annotated[tuple[Anchor, ...], Limits(min_length=1, max_length=MOST_ANCHORS)]

    def __post_init__(self) -> None:
        for earlier, later in pairwise(self.anchors):
            if not (earlier.place < later.place and earlier.at_s < later.at_s):
                raise ValueError("the anchors of a map rise in place and in time")

    def on(self, score: Score) -> Timeline:
        """The map laid on a score, to ask it when and where."""
        return Timeline.of(self, score)

    def pulled(self, score: Score, place: Place, at_s: float, *, rest_follows: bool = False) -> TimeMap:
        """A bar line, or any other place, pulled to a moment, where it is held from now on.

        What comes before stays. What comes after stays too, so that only the stretch up to the next anchor changes
        its tempo; with `rest_follows` all later anchors move by as much.

        Raises:
            ScoreError: It would go past an anchor that stays, or out of all bounds.
        """
        if not abs(at_s) <= LATEST_S:
            raise ScoreError(f"not a moment of a recording: {at_s:g} s", hint="give its seconds")
        earlier = [anchor for anchor in self.anchors if anchor.place < place]
        later = [anchor for anchor in self.anchors if anchor.place > place]
        if rest_follows:
            by_s = at_s - self.on(score).at(place)
            later = [anchor.later(by_s) for anchor in later]
        for near, past in ((earlier[-1:], -1), (later[:1], 1)):
            if near and (near[0].at_s - at_s) * past < LEAST_S:
                number, there = display_number(score, near[0].measure), near[0].at_s
                side, or_else = ("before", "") if past < 0 else ("after", ", or let the rest follow")
                raise ScoreError(
                    f"{at_s:.2f} s is {side} measure {number}, which is at {there:.2f} s",
                    hint=f"move that one first{or_else}",
                )
        held = Anchor(measure=place.measure, offset=place.offset, at_s=at_s, held=True)
        return TimeMap(anchors=(*earlier, held, *later))

    def released(self, place: Place) -> TimeMap:
        """Without the tie at a place; raises ScoreError where there is none, or no other."""
        left = tuple(anchor for anchor in self.anchors if anchor.place != place)
        if len(left) == len(self.anchors) or not left:
            raise ScoreError("no bar line is tied here", hint="go to a tied bar line; the last one stays")
        return TimeMap(anchors=left)

    def later(self, by_s: float) -> TimeMap:
        """All of it so much later."""
        return TimeMap(anchors=tuple(anchor.later(by_s) for anchor in self.anchors))

    def after(self, change: Change, score: Score) -> TimeMap | None:
        """The same after a change of the score; None where no anchored measure is left.

        A measure keeps its moment wherever it goes. What is put in between shares the time up to the next anchor
        until its bar lines are pulled; what is put in at the end goes on behind it.

        Args:
            change: What has changed.
            score: The score as it stands now.
        """
        new, kept = len(score.measures), []
        end, moved = change.first + len(change.removed), len(change.inserted) - len(change.removed)
        at_the_end = end == new - moved
        for anchor in self.anchors:
            behind = anchor.measure >= end and not at_the_end
            index = anchor.measure + moved if behind else anchor.measure
            inside = behind or index < change.first + len(change.inserted) or index == new
            fits = anchor.offset < score.measures[index].length if index < new else not anchor.offset
            if inside and fits:
                kept.append(anchor.with_(measure=index))
        return TimeMap(anchors=tuple(kept)) if kept else None

    def proposed(self, other: TimeMap) -> TimeMap:
        """The anchors of another map, but for what the player holds here, and what would contradict that."""
        held = [anchor for anchor in self.anchors if anchor.held]
        free = [
            anchor
            for anchor in other.anchors
            if all(
                (anchor.place < own.place and anchor.at_s < own.at_s - LEAST_S)
                or (anchor.place > own.place and anchor.at_s > own.at_s + LEAST_S)
                for own in held
            )
        ]
        return TimeMap(anchors=tuple(sorted((*free, *held), key=lambda anchor: anchor.place)))


def of_beats(beats: Beats, score: Score, *, measure: int | None = None, held: bool = False) -> TimeMap:
    """The map of beats that were tapped or found: an anchor at every bar line that they reach.

    Args:
        beats: Their beat `first` begins a measure.
        score: Whose measures.
        measure: Index of the measure that begins there; None for the first whole one: a pickup lies before.
        held: They are the player's own.

    Raises:
        ScoreError: No such measure.
    """
    count = len(score.measures)
    measure = int(score.measures[0].short and count > 1) if measure is None else measure
    if not 0 <= measure < count:
        raise ScoreError("the beats cannot start at that measure", hint=f"there are {count}")
    counted = [_beats_to(score, index) for index in range(count)]
    lines = list(accumulate(counted, initial=0.0))
    anchors = []
    for index, line in enumerate(lines):
        beat = beats.first + line - lines[measure]
        if -1 < beat < len(beats.moments_s):
            anchors.append(Anchor(measure=index, at_s=beats.moment_of(beat), held=held))
    return TimeMap(anchors=tuple(anchors))


def _beats_to(score: Score, index: int) -> float:
    """How many beats of its metre a measure lasts; a pickup counts as the end of a measure."""
    metre, length = score.metres[index], score.measures[index].length
    lead = lead_in(score, index)
    return _beat_at(metre.beats, metre.length, lead + length) - _beat_at(metre.beats, metre.length, lead)


def _beat_at(beats: Sequence[Fraction], length: Fraction, offset: Fraction) -> float:
    number = max(bisect_right(beats, offset) - 1, 0)
    end = beats[number + 1] if number + 1 < len(beats) else length
    return number + float((offset - beats[number]) / (end - beats[number]))


@dataclass(frozen=True, slots=True)
class Timeline:
    """A time map laid on one score.

    Attributes:
        score: Whose measures.
        quarters: Quarters of each anchor from the beginning of the score.
        moments_s: Seconds of each anchor.
        lines: Quarters of each bar line, the end of the score included.
    """

    score: Score
    quarters: tuple[float, ...]
    moments_s: tuple[float, ...]
    lines: tuple[Fraction, ...]

    @classmethod
    def of(cls, time_map: TimeMap, score: Score) -> Timeline:
        """Lay a map on a score; a map with one anchor goes at the tempo that is written."""
        lines = tuple(accumulate((measure.length for measure in score.measures), initial=Fraction(0)))
        quarters, moments_s = list[float](), list[float]()
        for anchor in time_map.anchors:
            here = float(lines[min(anchor.measure, len(score.measures))] + anchor.offset)
            if not quarters or here > quarters[-1]:
                quarters.append(here)
                moments_s.append(anchor.at_s)
        if len(quarters) == 1:
            tempo = score.tempos[min(time_map.anchors[0].measure, len(score.measures) - 1)]
            quarters.append(quarters[0] + 1)
            moments_s.append(moments_s[0] + 60 / tempo.quarters_per_minute)
        return cls(score, tuple(quarters), tuple(moments_s), lines)

    def at(self, place: Place) -> float:
        """The second at which a place sounds; it may lie outside the recording."""
        index = min(place.measure, len(self.lines) - 1)
        return _between(float(self.lines[index] + place.offset), self.quarters, self.moments_s)

    def quarters_at(self, moment_s: float) -> float:
        """Quarters from the beginning of the score to a moment; less than 0 before it."""
        return _between(moment_s, self.moments_s, self.quarters)

    def place(self, moment_s: float) -> Place:
        """What sounds at a moment, to a 96th of a quarter; before the score its start, after it its end."""
        exact = Fraction(round(self.quarters_at(moment_s) * 96), 96)
        quarters = min(max(exact, Fraction(0)), self.lines[-1])
        index = bisect_right(self.lines, quarters) - 1
        return Place(index, quarters - self.lines[index])

    def seconds(self, span: Span) -> tuple[float, float]:
        """When a stretch begins and ends."""
        return self.at(span.start), self.at(span.end)

    def quarter_s(self, place: Place) -> float:
        """How long a quarter lasts there."""
        offset = Fraction(1, 8)
        return (self.at(Place(place.measure, place.offset + offset)) - self.at(place)) / float(offset)

    def beats(self, span: Span) -> Iterator[tuple[Place, float, bool]]:
        """The beats of a stretch as the recording plays them: where, when in s, and whether a measure begins."""
        for index in range(span.start.measure, min(span.end.measure + 1, len(self.score.measures))):
            lead = lead_in(self.score, index)
            for beat in self.score.metres[index].beats:
                place = Place(index, beat - lead)
                if 0 <= place.offset < self.score.measures[index].length and place in span:
                    yield place, self.at(place), beat == 0


def _between(at: float, here: Sequence[float], there: Sequence[float]) -> float:
    """On the straight line between the two points around; beyond the ends on the last ones."""
    index = min(max(bisect_right(here, at) - 1, 0), len(here) - 2)
    part = (at - here[index]) / (here[index + 1] - here[index])
    return there[index] + part * (there[index + 1] - there[index])
