"""Music put into measures: spelled, filled up with rests, with what changes from one measure to the next.

Readers of formats that tell when something begins, and how long it lasts, make their measures here: those of a
score where the file says courses and frets, those of a line where it does not.
"""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.line import Bar, Sounding
from tabterm.score.model import Measure
from tabterm.score.operations.draft import heal_event
from tabterm.score.operations.spelling import spell
from tabterm.score.operations.timeline import divided, in_parts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from tabterm.score.duration import Duration
    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.tempo import Tempo


Made = TypeVar("Made", Measure, Bar)


class Barring(Generic[Sounding, Made]):
    """Makes measures one after the other.

    Args:
        event: The class of what happens in them: `Event` or `Moment`.
        measure: The class that they are of: `Measure` or `Bar`.
        key: The key that a head has said; None: that of the first measure is the head's.

    Attributes:
        measures: Those made so far.
        begins: Metre, key and tempo that the first one begins with, as far as they are told: the head's.
    """

    def __init__(self, event: type[Sounding], measure: type[Made], key: Key | None = None) -> None:
        self.measures: list[Made] = []
        self.begins: dict[str, Any] = {}
        self._event: type[Sounding] = event
        self._measure: Callable[..., Made] = measure
        self._said: dict[str, Any] = {} if key is None else {"key": key}
        self._held = dict(self._said)
        self._before: Sounding | None = None

    def add(
        self,
        stretches: Iterable[Stretch[Sounding]],
        length: Fraction,
        metre: Metre,
        *,
        key: Key | None = None,
        tempo: Tempo | None = None,
        **signs: Any,
    ) -> list[tuple[Stretch[Sounding], Sounding | None]]:
        """Make the next measure; return what is struck for want of a tie or slur, and what was before it.

        Args:
            stretches: What sounds, in order, nothing over another; between them is silence.
            length: Quarters of the measure, at most those of its metre.
            metre: Its metre.
            key: Its key; None: no other than before.
            tempo: Its tempo; None: no other than before.
            signs: Other fields of the measure.

        Raises:
            ScoreError: A stretch of time is too fine to write, or two things contradict each other.
        """
        short = length < metre.length
        lead = metre.length - length if short and not self.measures else Fraction(0)
        events: list[Sounding] = []
        before = self._before
        struck: list[tuple[Stretch[Sounding], Sounding | None]] = []
        for each, made in filled(self._event, stretches, length, metre, lead):
            for number, event in enumerate(made):
                made[number] = healed = heal_event(before, event)
                if each is not None and healed is not event:
                    struck.append((each, before))
                before = healed
            events += made
        changes = self._changes(metre=metre, key=key, tempo=tempo)
        measure = self._measure(events=tuple(events), short=short, **changes, **signs)
        self._held |= {name: value for name, value in (("metre", metre), ("key", key), ("tempo", tempo)) if value}
        self.begins = self.begins or self._held | self._said
        self.measures.append(measure)
        self._before = before
        return struck

    def _changes(self, **now: Any) -> dict[str, Any]:
        """What differs from what held before; what the first measure begins with is the head's."""
        return {
            name: value
            for name, value in now.items()
            if value is not None and value != self._held.get(name) and (self.measures or name in self._held)
        }


@dataclass(slots=True)
class Stretch(Generic[Sounding]):
    """What sounds, or is silent, over a stretch of time.

    Attributes:
        onset: Quarters from the start of its measure.
        length: Quarters.
        event: What; its duration means nothing.
        written: The note value that is kept where it is as long, or None.
        line: Line of the file, from 1; 0: not told.
    """

    onset: Fraction
    length: Fraction
    event: Sounding
    written: Duration | None = None
    line: int = 0


def filled(
    event: type[Sounding],
    stretches: Iterable[Stretch[Sounding]],
    length: Fraction,
    metre: Metre,
    lead: Fraction = Fraction(0),
) -> Iterator[tuple[Stretch[Sounding] | None, list[Sounding]]]:
    """The events of each stretch of a measure, and of the silence between them (None).

    Args:
        event: The class that rests are of.
        stretches: What sounds, in order, nothing over another.
        length: Quarters of the measure.
        metre: Its metre.
        lead: Where in the metre it begins.

    Raises:
        ScoreError: A stretch of time is too fine to write.
    """

    def rests(offset: Fraction, length: Fraction) -> list[Sounding]:
        return [event(duration=duration) for duration in spell(lead + offset, length, metre)]

    at = Fraction(0)
    for each in stretches:
        end, lasts = each.onset + each.length, each.length
        if end > length:
            end, lasts = length, length - each.onset
        if lasts.numerator <= 0:
            continue
        if each.onset != at:
            yield None, rests(at, each.onset - at)
        if each.written is not None and each.written.length == lasts:
            same = each.event.duration == each.written
            yield each, [each.event if same else each.event.with_(duration=each.written)]
        else:
            yield each, in_parts(each.event, _spelled(lead + each.onset, lasts, metre, each.line))
        at = end
    if at != length:
        yield None, rests(at, length - at)


def over_bars(
    stretches: Iterable[Stretch[Sounding]], lengths: Iterable[Fraction]
) -> Iterator[list[Stretch[Sounding]]]:
    """The stretches of each of the measures of these lengths; what lasts over a bar line is tied over it.

    The onsets that come in are counted from the start of the first measure.
    """
    queue = deque(stretches)
    start = Fraction(0)
    for length in lengths:
        end, inside = start + length, list[Stretch[Sounding]]()
        while queue and queue[0].onset < end:
            each = queue.popleft()
            room, event = end - each.onset, each.event
            if each.length > room:
                event, later = divided(event)
                queue.appendleft(replace(each, onset=end, length=each.length - room, event=later))
            inside.append(replace(each, onset=each.onset - start, length=min(each.length, room), event=event))
        yield inside
        start = end


def _spelled(offset: Fraction, length: Fraction, metre: Metre, line: int) -> tuple[Duration, ...]:
    try:
        return spell(offset, length, metre)
    except ScoreError as error:
        raise ScoreError(error.message, hint=error.hint, place=f"line {line}" if line else "") from None
