"""The pack of a handout: audio files at several tempos, with and without the solo."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.performance import SOLO_ALONE, Click, Part, perform
from tabterm.piece import audio
from tabterm.piece.takes import options_of
from tabterm.storage.names import named_after

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tabterm.piece.practice import Practice
    from tabterm.score.model import Score
    from tabterm.score.place import Span

TEMPOS = (60, 70, 80, 90, 100)
"""In percent of the written one, where none are named; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pack:
    """What is to be in a folder to practise with.

    Attributes:
        score: What is played.
        name: What the score is called where it has no title.
        practice: How it is played.
        percents: Tempos in percent of the written one.
        span: The measures; None for the whole.
        turns: How often each file plays it.
        seamless: The files can be looped: without count-in, exactly as long as their turns.
        kind: Ending of the files, without its stop.
        may_click: A click on the beats takes the place of chords where there are none.
    """

    score: Score
    name: str
    practice: Practice
    percents: tuple[int, ...]
    span: Span | None = None
    turns: int = 1
    seamless: bool = False
    kind: str = "mp3"
    may_click: bool = True

    def takes(self, folder: Path) -> Iterator[audio.AudioFile]:
        """At each tempo a file with the solo and one without; raises ScoreError where there is nothing to hear."""
        score, span = self.score, self.span
        title = score.head.title or self.name
        name = named_after(title, audio.measures_of(score, span))
        number, count = 0, 2 * len(self.percents)
        for percent in self.percents:
            options = options_of(self.practice, percent, self.practice.count_in)
            performance = perform(score, span=span, options=options)
            if self.may_click and not any(pluck.part is Part.CHORDS for pluck in performance.plucks):
                options = replace(options, click=Click.BEATS)
            for what, parts in (("solo", options.parts), ("backing", options.parts - SOLO_ALONE)):
                number += 1
                performance = perform(score, span=span, options=replace(options, parts=parts))
                heard = frozenset(pluck.part for pluck in performance.plucks)
                tags = audio.tags_of(
                    *(score, span, percent),
                    what=what,
                    album=f"{score.head.title or 'Untitled'}, to practise",
                    tracknumber=str(number),
                )
                path = folder / f"{number:0{len(str(count))}d}-{name}-{percent:03d}-{what}.{self.kind}"
                yield audio.AudioFile(path, performance, heard, self.turns, tags, seamless=self.seamless)
