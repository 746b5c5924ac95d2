"""The hardest passages of a score: where, why, and how to drill them."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.hand.difficulty import CAUSES, Playing, plain_scale, uses
from tabterm.hand.fingering import fingering
from tabterm.hand.limits import SHIFT
from tabterm.hand.neck import widest_of
from tabterm.hand.state import shift_to
from tabterm.score.operations import copy, paste, set_tempo
from tabterm.score.operations.timeline import rest_measure
from tabterm.score.place import Place, Span, lead_in
from tabterm.score.query import end_of, event_at, move_by, next_event, previous_event
from tabterm.score.tempo import FASTEST, SLOWEST, Tempo

if TYPE_CHECKING:
    from tabterm.hand.limits import Used
    from tabterm.hand.neck import Reach
    from tabterm.hand.player import Player
    from tabterm.hand.state import Shift
    from tabterm.score.model import Score

START = 0.6  #: times the tempo; common practice, no source
"""A drill begins at this part of the tempo at which the passage is at the limit."""

REASONS, LEAST = 3, 0.1  #: causes, points; tuned here
"""Causes that are named, and the points that each has at least."""

NEAR = 0.75  #: part of a speed; tuned here
"""A speed is named where this part of it is used."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One cause of a passage's effort: its name in `CAUSES`, and the points beyond those of a plain scale."""

    term: str
    points: float

    @property
    def words(self) -> str:
        """The cause in words."""
        return CAUSES[self.term].words


@dataclass(frozen=True, slots=True)
class Drill:
    """A passage to loop, with the note before and the note after it, from a tempo at which it is easy."""

    span: Span
    tempo: Tempo


@dataclass(frozen=True, slots=True)
class Hard:
    """A hard passage, from beat to beat.

    Attributes:
        span: Where.
        rate: Its highest effort over a beat, in points per second.
        use: How far it uses the player up at the written tempo: 1 at the limit.
        limit_tempo: Quarters per minute at which it reaches the limit.
        reasons: What makes the effort more than that of a plain scale, the greatest first.
        speeds: The speeds that are used up, or nearly, the most first; shifts stand in `shifts`.
        shifts: The shifts in it.
        reach: Its widest reach, where it is beyond the comfortable.
        drill: How to practise it.
        again: Where the same music stands once more.
    """

    span: Span
    rate: float
    use: float
    limit_tempo: float
    reasons: tuple[Reason, ...]
    speeds: tuple[Used, ...]
    shifts: tuple[Shift, ...]
    reach: Reach | None
    drill: Drill
    again: tuple[Span, ...] = ()


def hardest(score: Score, player: Player, count: int = 3) -> tuple[Hard, ...]:
    """The hardest passages of a score, the hardest first; they do not overlap.

    Music that stands in the score more than once is one passage.
    """
    found: list[Hard] = []
    numbers: dict[tuple[object, ...], int] = {}
    taken: list[Span] = []
    for _, span, playing in _candidates(score, player):
        if any(span.start < other.end and other.start < span.end for other in taken):
            continue
        music = _music(playing)
        if music in numbers:
            same = found[numbers[music]]
            found[numbers[music]] = replace(same, again=tuple(sorted((*same.again, span), key=lambda s: s.start)))
        elif len(found) < count:
            numbers[music] = len(found)
            found.append(_hard(score, span, playing))
        else:
            continue
        taken.append(span)
    return tuple(found)


def _candidates(score: Score, player: Player) -> list[tuple[float, Span, Playing]]:
    """The beats round each beat's worth of music, the hardest first, and in score order where they are equal."""
    found = []
    for solved in fingering(score, player).phrases:
        playing = Playing.of(score, solved)
        loads, places = playing.loads(), [onset.place for onset in solved.phrase]
        for span in dict.fromkeys(_beats(score, places[r.first], places[r.last]) for r in playing.rates()):
            first, end = bisect_left(places, span.start), bisect_left(places, span.end)
            used = max(uses(loads[first:end], playing.beats_s[first:end], playing.limit_rate))
            found.append((used, span, playing.part(first, end - 1)))
    return sorted(found, key=lambda each: (-round(each[0], 6), each[1].start))


def _beats(score: Score, first: Place, last: Place) -> Span:
    """From the beat that one place lies in to the end of the beat of another."""
    start, _ = _beat(score, first)
    beat, length = _beat(score, last)
    return Span(start, move_by(score, beat, length))


def _beat(score: Score, place: Place) -> tuple[Place, Fraction]:
    """Where the beat of a place begins, inside the measure, and how long it is from there."""
    lead = lead_in(score, place.measure)
    _, offset, length = score.metres[place.measure].beat_at(place.offset + lead)
    start = max(offset - lead, Fraction(0))
    return Place(place.measure, start), offset + length - lead - start


def _music(playing: Playing) -> tuple[object, ...]:
    """What makes two passages the same: rhythm, and each note with how it is reached."""
    return tuple(
        (onset.grace, onset.event.duration, *((note.course, note.fret, note.reached) for note in onset.notes))
        for onset in playing.solved.phrase[playing.first : playing.end]
    )


def _hard(score: Score, span: Span, playing: Playing) -> Hard:
    solved, inside = playing.solved, range(playing.first, playing.end)
    written = score.tempos[span.start.measure]
    limit = playing.limit_tempo(written.quarters_per_minute)
    return Hard(
        span=span,
        rate=max(rate.per_s for rate in playing.rates()),
        use=max(playing.uses()),
        limit_tempo=limit,
        reasons=reasons_of(playing),
        speeds=_speeds(playing),
        shifts=tuple(shift for number in inside if (shift := shift_to(solved, number)) is not None),
        reach=_widest(playing),
        drill=Drill(_with_neighbours(score, span), like(written, START * min(limit, written.quarters_per_minute))),
    )


def like(tempo: Tempo, quarters_per_minute: float) -> Tempo:
    """A tempo in the note value of another, to a tenth, as near as the range of tempos allows."""
    per_minute = round(quarters_per_minute / float(tempo.beat.length), 1)
    return Tempo(min(max(per_minute, SLOWEST), FASTEST), tempo.beat)


def reasons_of(playing: Playing) -> tuple[Reason, ...]:
    """What the passage takes beyond a plain scale of as many notes; nothing where only the tempo is hard."""
    scale = plain_scale(playing.solved.neck)
    share = (playing.end - playing.first) / scale.end
    plain = scale.terms()
    beyond = ((points - share * plain.get(name, 0.0), name) for name, points in playing.terms().items())
    ranked = sorted((each for each in beyond if each[0] >= LEAST), reverse=True)
    return tuple(Reason(name, points) for points, name in ranked[:REASONS])


def _speeds(playing: Playing) -> tuple[Used, ...]:
    most: dict[str, Used] = {}
    for load in playing.loads():
        for each in load.used:
            if each.speed != SHIFT and each.share >= NEAR:
                most[each.speed] = max(each, most.get(each.speed, each), key=lambda used: used.share)
    return tuple(sorted(most.values(), key=lambda used: -used.share))


def _widest(playing: Playing) -> Reach | None:
    holds = playing.solved.holds[playing.first : playing.end]
    reaches = [reach for hold in holds if (reach := widest_of(playing.solved.neck, hold.grip.down)) is not None]
    widest = max(reaches, key=lambda reach: reach.rank, default=None)
    return widest if widest is not None and widest.reach_mm > widest.comfortable_mm else None


# Drills


def _with_neighbours(score: Score, span: Span) -> Span:
    """The span with the event before and the one after it, where these sound and join on to it."""
    start, end = span.start, span.end
    before = previous_event(score, start)
    if before is not None and not before[1].is_rest:
        start = before[0]
    after = event_at(score, end)
    if after is not None and after[0] != end:  # the passage's last note goes on
        after = next_event(score, end)
    if after is not None and not after[1].is_rest:
        end = _after(score, after[0])
    return Span(start, end)


def _after(score: Score, place: Place) -> Place:
    """Where the event that begins at a place ends."""
    following = next_event(score, place)
    return following[0] if following else end_of(score)


def cut(score: Score, drill: Drill) -> Score:
    """A drill as a small score of its own, at its tempo, each note on the beat it has in the piece.

    Rests fill the measures before and after it.
    """
    start = drill.span.start
    index, metre = start.measure, score.metres[start.measure]
    head = score.head.with_(metre=metre, key=score.keys[index], school=score.schools[index])
    empty = type(score)(head=head, measures=(rest_measure(metre),))
    laid = paste(empty, Place(0, start.offset + lead_in(score, index)), copy(score, drill.span), chords=True)
    return set_tempo(laid, 0, drill.tempo)
