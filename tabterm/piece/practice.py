"""How a phrase is practised: the tempo ladder, what the transport plays by, and the cautions for it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self

import platformdirs

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.score.click_rests import ClickRests  # noqa: TC001 - as the next
from tabterm.score.model import Swing  # noqa: TC001 - the side file is read by these annotations
from tabterm.score.place import Place, lead_in
from tabterm.score.record_mix import AS_IT_IS as PLAIN_MIX
from tabterm.score.record_mix import RecordMix
from tabterm.storage.opening import make_own_folder
from tabterm.storage.whole import write_new
from tabterm.values import TextValue

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from tabterm.score.model import Score
    from tabterm.score.tempo import Tempo


SLOWEST, FASTEST = 20.0, 200.0
"""Percent of the written tempo between which anything can be played."""

_NUMBER = r"\d{1,3}(?:\.\d{1,2})?"
_TEXT = re.compile(rf"^({_NUMBER}):({_NUMBER}):({_NUMBER})(?:x(\d{{1,2}}))?( ?bpm)?$", re.IGNORECASE)
HOW = "write 60:100:5 to climb by a key, 60:100:5x3 for 3 turns on each rung, 72:104:4x3bpm for beats a minute"


@dataclass(frozen=True, slots=True)
class Ladder(TextValue):
    """Tempos to be climbed; text form `60:100:5x3`, `60:100:5` (when told), `72:104:4x3bpm`.

    Attributes:
        start: The first rung, in percent of the written tempo, or in beats a minute as the tempo is written.
        end: The last rung; one below the start leads down.
        step: From rung to rung, more than 0; the last one is shorter where it does not come out even.
        turns: Turns on each rung before the next; None to stay until told.
        per_minute: The numbers are beats a minute.
    """

    PATTERN: ClassVar[str] = _TEXT.pattern

    start: float
    end: float
    step: float
    turns: int | None = None
    per_minute: bool = False

    def __post_init__(self) -> None:
        if not self.step > 0:
            raise ScoreError("a ladder needs steps of more than 0", hint=HOW)
        if self.turns is not None and self.turns < 1:
            raise ScoreError("a rung needs at least one turn", hint=HOW)
        if not self.per_minute:
            for percent in (self.start, self.end):
                check_percent(percent)

    def __str__(self) -> str:
        turns = f"x{self.turns}" if self.turns else ""
        unit = "bpm" if self.per_minute else ""
        return f"{self.start:g}:{self.end:g}:{self.step:g}{turns}{unit}"

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a ladder."""
        match = _TEXT.match(text.strip())
        if match is None:
            raise ScoreError(f"not a ladder: '{text}'", hint=HOW)
        start, end, step, turns, unit = match.groups()
        return cls(float(start), float(end), float(step), int(turns) if turns else None, per_minute=bool(unit))

    def rungs(self, tempo: Tempo) -> tuple[float, ...]:
        """The rungs in percent of a written tempo, start and end included.

        Raises:
            ScoreError: Beats a minute that are less than 20 or more than 200 percent of the written tempo.
        """
        way = self.end - self.start
        step = math.copysign(self.step, way)
        count = math.ceil(abs(way) / self.step - 1e-9)
        rungs = (*(self.start + number * step for number in range(count)), self.end)
        if not self.per_minute:
            return rungs
        percents = tuple(100.0 * rung / tempo.per_minute for rung in rungs)
        for percent in (percents[0], percents[-1]):
            check_percent(percent)
        return percents


def check_percent(percent: float) -> None:
    """Raise ScoreError for a tempo that cannot be played at."""
    if not SLOWEST <= percent <= FASTEST:
        raise ScoreError(f"cannot play at {percent:g} percent", hint=f"{SLOWEST:g} to {FASTEST:g}")


ClickWord = Literal["off", "beats", "offbeats"]
CLICKS: tuple[ClickWord, ...] = ("off", "beats", "offbeats")
"""Where the click falls, in the order in which it is gone through."""

PartsWord = Literal["solo", "chords", "both"]
PARTS: tuple[PartsWord, ...] = ("solo", "both", "chords")
"""Who is heard, in the order in which it is gone through; the chords bring their bass along."""

RecordWord = Literal["tab", "record", "both"]
RECORDS: tuple[RecordWord, ...] = ("tab", "record", "both")
"""What is heard where a recording is tied to the score, in the order in which it is gone through."""

LevelWord = Literal["solo", "chords", "bass", "click", "record"]
LEVELS: tuple[LevelWord, ...] = ("solo", "chords", "bass", "click", "record")
"""What has a level of its own; the count-in is as loud as the click."""

MOST_SEMITONES = 12
"""Up or down."""

AS_IT_IS, LOUDEST = 100, 140
"""Percent of its MIDI velocity that a part is played at; any louder, the loudest strokes would be alike."""

LEVELS_HINT = f"{', '.join(LEVELS)}; 0 to {LOUDEST} percent each, such as solo 80 chords 50"


ToneWord = Literal["brightness", "body", "room", "detuning"]
TONE: tuple[ToneWord, ...] = ("brightness", "body", "room", "detuning")
"""What of the built-in strings can be tuned by ear."""

Percents = tuple[tuple[Any, int], ...]
"""Names, each with so many percent."""

MOST_OF_A_TONE = 200
"""Percent of what it is made as."""

TONE_HINT = f"{', '.join(TONE)}; 0 to {MOST_OF_A_TONE} percent each, such as brightness 120 room 50"


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
    missing = lead_in(score, index)
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
        levels: How loud a part is, in percent; one that is not named is as it is.
        tone: What the built-in strings sound like, in percent; what is not named is as it is made.
        record: The tab is heard, or the recording that is tied to it in its own time, or the one left and the
            other right.
        semitones: How much higher the recording is heard, or (negative) lower.
        mix: Which side of the recording is heard, how balanced, and which register is brought forward.
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
    levels: tuple[tuple[LevelWord, int], ...] = ()
    tone: tuple[tuple[ToneWord, int], ...] = ()
    record: RecordWord = "tab"
    semitones: float = 0.0
    mix: RecordMix = PLAIN_MIX

    def __post_init__(self) -> None:
        check_percent(self.tempo_percent)
        if self.count_in not in range(3):
            raise ScoreError(f"cannot count in {self.count_in} measures", hint="0 to 2")
        if not abs(self.semitones) <= MOST_SEMITONES:
            raise ScoreError(
                f"cannot move the recording by {self.semitones:g} semitones",
                hint=f"-{MOST_SEMITONES} to {MOST_SEMITONES}",
            )
        chosen = (("click", self.click, CLICKS), ("parts", self.parts, PARTS), ("record", self.record, RECORDS))
        for name, word, words in chosen:
            if word not in words:
                raise ScoreError(f"{name} cannot be '{word}'", hint=f"one of: {', '.join(words)}")
        for part, level in self.levels:
            if part not in LEVELS or not 0 <= level <= LOUDEST:
                raise ScoreError(f"not a level: '{part} {level}'", hint=LEVELS_HINT)
        for name, percent in self.tone:
            if name not in TONE or not 0 <= percent <= MOST_OF_A_TONE:
                raise ScoreError(f"not a tone: '{name} {percent}'", hint=TONE_HINT)

    def with_levels(self, text: str) -> Practice:
        """The same with other levels of some parts, as in `solo 80 chords 50`; empty: all as they are.

        Raises:
            ScoreError: No such part or level.
        """
        return self.with_(levels=_changed(self.levels, text, LEVELS, f"not levels: '{text:.40}'", LEVELS_HINT))

    def with_tone(self, text: str) -> Practice:
        """The same with another tone, as in `brightness 120 room 50`; empty: as the strings are made.

        Raises:
            ScoreError: No such thing to tune, or it cannot be so much.
        """
        return self.with_(tone=_changed(self.tone, text, TONE, f"not a tone: '{text:.40}'", TONE_HINT))

    def with_(self, **changes: Any) -> Practice:
        """The same with some fields changed; raises ScoreError for what cannot be."""
        return replace(self, **changes)


def _changed(percents: Percents, text: str, names: Collection[str], fault: str, hint: str) -> Percents:
    """Names with percents, some of them changed by a text; what is at 100 is not named."""
    words = text.replace("%", " ").replace(",", " ").split()
    numbers = all(word.isdecimal() and len(word) < 4 for word in words[1::2])
    if len(words) % 2 or not numbers or not set(words[::2]) <= set(names):
        raise ScoreError(fault, hint=hint)
    changed = dict(percents) | dict(zip(words[::2], map(int, words[1::2]), strict=True)) if words else {}
    return tuple((name, percent) for name, percent in changed.items() if percent != AS_IT_IS)


CAUTION = (
    "Pain is a reason to stop: rest, shorten the session, and ask a teacher or doctor before you train a "
    "wide reach or a fast repetition. Keep the sound low enough to talk over."
)
BEFORE_LOOPS = "Rest between loops. If it hurts, stop and see a doctor. Keep it low."

BEFORE_LISTENING = (
    "Start with the volume low, above all on headphones, and keep it low enough to talk over. "
    "Rest, and stop if it hurts."
)


def caution_file() -> Path:
    """The file that remembers that the caution has been shown."""
    return platformdirs.user_data_path("tabterm") / "caution-shown"


def caution_due() -> bool:
    """Whether the caution has not been shown yet; asking counts as showing it.

    Where that cannot be remembered, it is shown again the next time.
    """
    file = caution_file()
    try:
        make_own_folder(file.parent)
        write_new(file)
    except FileExistsError:
        return False
    except OSError:
        pass
    return True
