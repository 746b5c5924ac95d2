"""Music put into measures: spelled, filled up with rests, with what changes from one measure to the next.

Readers of formats that tell when something begins, and how long it lasts, make their measures here: those of a
score where the file says courses and frets, those of a line where it does not.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from tabterm.score.line import Bar, Sounding
from tabterm.score.model import Measure
from tabterm.score.operations.draft import heal_event
from tabterm.score.operations.stretches import filled

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.operations.stretches import Stretch
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
        self._measure: type[Made] = measure
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
