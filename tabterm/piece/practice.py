"""How a phrase is practised: what the transport plays by, and a document's side file keeps."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self

from tabterm.errors import ScoreError
from tabterm.piece.ladder import Ladder, check_percent
from tabterm.score.click_rests import ClickRests  # noqa: TC001 - as the next
from tabterm.score.model import Swing  # noqa: TC001 - the side file is read by these annotations
from tabterm.score.place import Place
from tabterm.values import TextValue

if TYPE_CHECKING:
    from tabterm.score.model import Score

ClickWord = Literal["off", "beats", "offbeats"]
CLICKS: tuple[ClickWord, ...] = ("off", "beats", "offbeats")
"""Where the click falls, in the order in which it is gone through."""

PartsWord = Literal["solo", "chords", "both"]
PARTS: tuple[PartsWord, ...] = ("solo", "both", "chords")
"""Who is heard, in the order in which it is gone through; the chords bring their bass along."""


class Heard(StrEnum):
    """Which version sounds: A in the score, B put aside, both in turn, or the original, also before A."""

    SCORE = "A"
    ASIDE = "B"
    IN_TURN = "A+B"
    ORIGINAL = "original"
    BESIDE = "original+A"


_PRE_ROLL = re.compile(r"^([1-9]\d?)\s*(m|b|measures?|beats?)(?:\s*(\+|every(?:\s+turn)?))?$", re.IGNORECASE)
PRE_ROLL_HINT = "such as 1m (one measure), 2b (two beats), 2b+ (before every turn)"


@dataclass(frozen=True, slots=True)
class PreRoll(TextValue):
    """What is played before a phrase to lead into it; text form `1m`, `2b`, `2b+` (before every turn).

    Attributes:
        count: So many measures or beats.
        unit: `m` for measures, `b` for beats.
        every_turn: Before every turn, not the first only.
    """

    PATTERN: ClassVar[str] = _PRE_ROLL.pattern

    count: int
    unit: Literal["m", "b"]
    every_turn: bool = False

    def __str__(self) -> str:
        return f"{self.count}{self.unit}{'+' if self.every_turn else ''}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read the text form, or the same in words: `2 beats every turn`."""
        match = _PRE_ROLL.match(text.strip())
        if match is None:
            raise ScoreError(f"not a pre-roll: '{text}'", hint=PRE_ROLL_HINT)
        count, unit, every = match.groups()
        return cls(int(count), "m" if unit[0] in "mM" else "b", every_turn=bool(every))

    def start(self, score: Score, place: Place) -> Place:
        """Where it begins before a place; the start of the score where there is less before it."""
        if self.unit == "m":
            index = place.measure - self.count
            if index < 0:
                return Place(0)
            return Place(index, min(place.offset, score.measures[index].length))
        beats: list[Place] = []
        index = place.measure
        while index >= 0 and len(beats) < self.count:
            beats = [beat for beat in _beats(score, index) if beat < place] + beats
            index -= 1
        return beats[-self.count] if len(beats) >= self.count else Place(0)


def _beats(score: Score, index: int) -> list[Place]:
    """The beats of a measure; those that a pickup lacks are left out."""
    measure, metre = score.measures[index], score.metres[index]
    missing = metre.length - measure.length if measure.short and index == 0 else Fraction(0)
    return [Place(index, beat - missing) for beat in metre.beats if missing <= beat < missing + measure.length]


@dataclass(frozen=True, slots=True)
class Practice:
    """How a phrase is played again and again.

    Attributes:
        loop: Until stopped; otherwise once, or up a ladder to its end.
        tempo_percent: Percent of the written tempo; the rung that it stands on, with a ladder.
        ladder: Tempos to climb, or None to stay at one.
        count_in: Measures counted before the start.
        click: Where it clicks.
        click_rests: Where the click rests.
        pre_roll: What leads into the phrase.
        parts: Who is heard.
        style: How chords and bass play; None for what metre and swing propose.
        groove: Chords and bass with the style's accents and time; without, all on the grid.
        swing: As the score is written, straight, or of one's own.
    """

    loop: bool = False
    tempo_percent: float = 100.0
    ladder: Ladder | None = None
    count_in: int = 0
    click: ClickWord = "off"
    click_rests: ClickRests | None = None
    pre_roll: PreRoll | None = None
    parts: PartsWord = "solo"
    style: str | None = None
    groove: bool = True
    swing: Literal["written", "straight"] | Swing = "written"

    def __post_init__(self) -> None:
        check_percent(self.tempo_percent)
        if self.count_in not in range(3):
            raise ScoreError(f"cannot count {self.count_in} measures in", hint="0 to 2")
        for name, word, words in (("click", self.click, CLICKS), ("parts", self.parts, PARTS)):
            if word not in words:
                raise ScoreError(f"{name} cannot be '{word}'", hint=f"one of: {', '.join(words)}")

    def with_(self, **changes: Any) -> Practice:
        """The same with some fields changed; raises ScoreError for what cannot be."""
        return replace(self, **changes)
