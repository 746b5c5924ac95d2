"""What is taught of a piece: its phrases with all that is said of them, and the plan; page and booklet show it."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.explaining import explain
from tabterm.harmony.phrases import phrase_of
from tabterm.harmony.pools import explanations
from tabterm.page.neck_map import map_of_pool
from tabterm.page.spoken import step_name
from tabterm.piece.handout import counsel
from tabterm.piece.handout.phrases import measures_named, phrases_of
from tabterm.piece.handout.plan import CLEAN_TURNS, HEADROOM, Ladder, ladder, plan
from tabterm.score.place import Span
from tabterm.score.tempo import Tempo

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tabterm.hand.passages import Drill
    from tabterm.harmony.pools import Pool
    from tabterm.page.neck_map import NeckMap
    from tabterm.piece.handout.phrases import Phrase
    from tabterm.piece.handout.plan import Day
    from tabterm.piece.piece import Piece
    from tabterm.score.model import Score

SECTIONS: dict[str, str] = {
    "sheet": "the whole piece as a sheet",
    "phrases": "each phrase in notation and tab",
    "remarks": "the teacher's remarks",
    "harmony": "chords, and what each note is against them",
    "theory": "what a phrase is made of, in sentences, and its scale on the neck",
    "hard": "hard places, and the way round them",
    "drills": "a drill for the hardest place of a phrase",
    "ladder": "the tempos to climb",
    "plan": "what to practise from day to day",
}
"""What is said in a handout; each can be left out."""


ON_NECK = "On the neck"
"""What stands over the necks that are asked for."""


class Remark(NamedTuple):
    """The teacher's words, and the measure that they stand over."""

    where: str
    words: str


@dataclass(frozen=True)
class Lesson:
    """What is taught of a piece.

    Attributes:
        piece: With fingers and strokes.
        tempos: That there are files of, in percent of the written tempo, the slowest first.
        sections: What is said, of `SECTIONS`.
        span: The measures; None for the whole.
        necks: What is drawn on the neck behind the phrases.
    """

    piece: Piece
    tempos: tuple[int, ...]
    sections: frozenset[str] = frozenset(SECTIONS)
    span: Span | None = None
    necks: tuple[NeckMap, ...] = ()

    @property
    def score(self) -> Score:
        """The score."""
        return self.piece.score

    @cached_property
    def phrases(self) -> tuple[Phrase, ...]:
        """The phrases in which it is learnt."""
        return phrases_of(self.score, self.piece.player, self.span)

    @cached_property
    def days(self) -> tuple[Day, ...]:
        """The plan; nothing where it is left out."""
        return plan(self.phrases, self.tempos) if "plan" in self.sections else ()

    @cached_property
    def _places(self) -> dict[int, list[tuple[str, str]]]:
        return counsel.hard_places(self.score, self.phrases)

    def hard(self, phrase: Phrase) -> list[tuple[str, str]]:
        """Hard places of a phrase: where, and what to do."""
        return self._places[phrase.number] if "hard" in self.sections else []

    @property
    def foreword(self) -> list[str]:
        """The teacher's words to the student, by paragraphs."""
        return [line for line in self.score.head.foreword.splitlines() if line.strip()]

    def remarks(self, phrase: Phrase) -> list[Remark]:
        """The teacher's remarks on a phrase."""
        if "remarks" not in self.sections:
            return []
        return [
            Remark(measures_named(self.score, index, index), self.score.measures[index].remark)
            for index in range(phrase.first, phrase.last + 1)
            if self.score.measures[index].remark
        ]

    def known(self, phrase: Phrase) -> list[str]:
        """What of a phrase has been learnt before it."""
        return list(counsel.known_before(self.score, phrase))

    def chords(self, phrase: Phrase) -> str:
        """The chords of a phrase with their degrees; "" for none."""
        return counsel.chords(self.score, phrase) if "harmony" in self.sections else ""

    def explained(self, phrase: Phrase) -> tuple[str, ...]:
        """What a teacher says of the chords, notes and line of a phrase, but for what remarks say already."""
        heard = phrase_of(self.score, Span.of_measures(phrase.first, phrase.last))
        if "theory" not in self.sections or heard is None:
            return ()
        told = " ".join(remark.words for remark in self.remarks(phrase))
        return tuple(each for each in explain(self.score, heard).sentences if each not in told)

    def neck(self, phrase: Phrase) -> NeckMap | None:
        """The scale of a phrase on the neck; None where an earlier phrase has shown it."""
        if "theory" not in self.sections:
            return None
        before = [self._pools[each.number] for each in self.phrases if each.number < phrase.number]
        pool = self._pools[phrase.number]
        return None if pool is None or pool in before else map_of_pool(pool, self.score.head.instrument)

    @cached_property
    def _pools(self) -> dict[int, Pool | None]:
        """The scale that explains each phrase best, by its number."""
        return {
            each.number: next(
                (
                    told.pool
                    for told in explanations(self.score, Span.of_measures(each.first, each.last))
                    if told.pool is not None
                ),
                None,
            )
            for each in self.phrases
        }

    def drill(self, phrase: Phrase) -> Drill | None:
        """The drill of the hardest place of a phrase, in whole beats a minute."""
        if "drills" not in self.sections or not phrase.passages:
            return None
        drill = phrase.passages[0].drill
        return replace(drill, tempo=Tempo(round(drill.tempo.per_minute), drill.tempo.beat))

    def drill_words(self, drill: Drill) -> str:
        """How a drill is done."""
        written = self.score.tempos[drill.span.start.measure].quarters_per_minute
        percent = 100 * drill.tempo.quarters_per_minute / written
        return (
            f"From {counsel.from_to(self.score, drill.span)}. Begin at {beats(drill.tempo)} ({percent:.0f}%). "
            f"When you have played it right {NUMBERS[CLEAN_TURNS]} times in a row, go up by five percent. "
            "After five minutes do something else."
        )

    def rungs(self, phrase: Phrase) -> list[str]:
        """The tempos of a phrase in percent, and in beats a minute."""
        tempo = self.score.tempos[phrase.last].per_minute
        return [f"{rung}% ({tempo * rung / 100:.0f})" for rung in self._ladder(phrase).rungs]

    def tempo_range(self, phrase: Phrase) -> str:
        """The first and the last of them."""
        rungs = self._ladder(phrase).rungs
        if not rungs:
            return "slower than the files"
        return f"{rungs[0]} to {rungs[-1]}%" if len(rungs) > 1 else f"{rungs[0]}%"

    def climbing(self, phrase: Phrase) -> str:
        """When to go up a tempo, and where to stop."""
        found = self._ladder(phrase)
        if not found.rungs:
            return (
                f"Even the slowest file ({min(self.tempos)}%) is too close to your limit here. Play more slowly, "
                "and ask your teacher for another way to play it."
            )
        words = f"Go up after {NUMBERS[CLEAN_TURNS]} clean turns in a row."
        if found.safe:
            return words
        return f"{words} Stop at {found.rungs[-1]}%: the written tempo is over {HEADROOM:.0%} of your limit here."

    def _ladder(self, phrase: Phrase) -> Ladder:
        return ladder(phrase.limit_percent, self.tempos)

    @property
    def rows(self) -> tuple[str, ...]:
        """The rows of the page that a phrase is engraved with."""
        return tuple(row for row, section in ROWS.items() if section in {"", *self.sections})

    @property
    def measures(self) -> tuple[int, int] | None:
        """First and last measure by index; None for all."""
        return None if self.span is None else (self.span.start.measure, self.span.end.measure - 1)

    def facts(self) -> Iterator[str]:
        """Key, metre, tempo, and how the courses are tuned where that is not usual for the instrument."""
        head = self.score.head
        yield f"Key {head.key}"
        yield f"{head.metre}"
        yield beats(head.tempo)
        yield head.instrument.name


def beats(tempo: Tempo) -> str:
    """A tempo in words: `quarter = 104`."""
    return f"{step_name(tempo.beat)} = {tempo.per_minute:g}"


NUMBERS = {2: "two", 3: "three", 4: "four"}

ROWS = {"chord": "", "finger": "", "stroke": "", "remark": "remarks", "degree": "harmony"}
"""Rows of an engraved phrase, and the section without which each is left out."""
