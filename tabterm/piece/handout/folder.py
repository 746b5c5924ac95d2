"""The folder of a handout: booklet, page, audio files, MIDI, MusicXML, text tab, and what is what."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from textwrap import wrap
from typing import TYPE_CHECKING, Literal

from tabterm.dataclass import dataclass
from tabterm.errors import ScoreError
from tabterm.piece import audio
from tabterm.piece.handout.booklet import booklet
from tabterm.piece.handout.lesson import SECTIONS, Lesson
from tabterm.piece.handout.pack import Pack
from tabterm.piece.handout.page import PlayerPage
from tabterm.piece.piece import Piece, cut_out
from tabterm.sheet.typesetter import check_installed
from tabterm.storage.names import named_after
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from tabterm.page.neck_map import NeckMap
    from tabterm.piece.practice import Practice
    from tabterm.score.model import Score
    from tabterm.score.place import Span

FILES: dict[str, str] = {
    "booklet": "the sheet, notes on each phrase, and a practice plan",
    "page": "the same with sound: open it in a browser, on a phone or a laptop",
    "audio": "two files at each tempo: with the solo, and without it",
    "midi": "the notes, for a playback or teaching program",
    "musicxml": "the score, for a notation program",
    "tab": "the tab as plain text",
    "readme": "this list",
}
"""What a folder holds, in words."""

CAUTIONS = (
    (
        "Go up a tempo when the one below is easy. Repetition is hard on the hands: rest between turns, and put "
        "the instrument down for at least ten minutes in every hour."
    ),
    (
        "Stop when something hurts. See a doctor about pain, numbness or weakness; ask your teacher before you "
        "train a wide reach or a fast repetition. The limits named here are averages, not a promise."
    ),
    "Keep the sound low enough to talk over, above all on headphones, and follow local rules.",
)
"""What is said once in everything that is handed out."""


@dataclass(frozen=True)
class Handout:
    """What is to be handed out of a piece.

    Attributes:
        piece: With fingers and strokes.
        name: What the files are called where the piece has no title.
        practice: How it is played.
        tempos: In percent of the written tempo.
        span: The measures; None for the whole.
        turns: How often an audio file plays it.
        seamless: Audio files can be looped.
        kind: Ending of the audio files, without its stop.
        may_click: A click takes the place of chords where there are none.
        files: What the folder holds, of `FILES`.
        sections: What is said in booklet and page, of `lesson.SECTIONS`.
        paper: Of the booklet.
        necks: What is drawn on the neck in both.
    """

    piece: Piece
    name: str
    practice: Practice
    tempos: tuple[int, ...]
    span: Span | None = None
    turns: int = 1
    seamless: bool = False
    kind: str = "mp3"
    may_click: bool = True
    files: frozenset[str] = frozenset(FILES)
    sections: frozenset[str] = frozenset(SECTIONS)
    paper: Literal["a4", "letter"] = "a4"
    necks: tuple[NeckMap, ...] = ()

    @property
    def score(self) -> Score:
        """The score."""
        return self.piece.score

    @cached_property
    def stem(self) -> str:
        """What the files of this piece are called."""
        name = named_after(self.score.head.title or self.name, audio.measures_of(self.score, self.span))
        return f"{name}-" if f"{name}.txt" == README.lower() else name

    def takes(self, folder: Path) -> list[audio.AudioFile]:
        """The audio files to be written.

        Raises:
            TabtermError: Something else cannot be made of this piece, or not here.
        """
        if self.files & {"booklet", "page"}:
            check_installed()
            if not self.lesson.phrases:
                raise ScoreError("no notes in these measures", hint="write some notes first")
        if "audio" not in self.files:
            return []
        pack = Pack(
            self.score,
            self.name,
            self.practice,
            self.tempos,
            span=self.span,
            turns=self.turns,
            seamless=self.seamless,
            kind=self.kind,
            may_click=self.may_click,
        )
        return list(pack.takes(folder))

    def frames(self, takes: Sequence[audio.AudioFile]) -> int:
        """How many frames are written, so that progress can be shown."""
        return sum(take.frames for take in takes) + (self.page.frames if "page" in self.files else 0)

    @cached_property
    def lesson(self) -> Lesson:
        """What is taught of it."""
        return Lesson(self.piece, self.tempos, self.sections, self.span, self.necks)

    @property
    def booklet(self) -> str:
        """Name of the PDF."""
        return f"{self.stem}.pdf"

    @cached_property
    def page(self) -> PlayerPage:
        """The page to listen to."""
        link = self.booklet if "booklet" in self.files else ""
        practice = self.practice.with_(count_in=0)
        return PlayerPage(self.lesson, practice, CAUTIONS, may_click=self.may_click, booklet=link)

    def fill(self, folder: Path, takes: Sequence[audio.AudioFile], watch: Callable[[int], None]) -> list[str]:
        """Write everything into a folder; what there is, by name, in the order in which it is told.

        Raises:
            TabtermError: There is nothing to play, or the disk refused.
        """
        names: list[str] = []
        if "booklet" in self.files:
            atomic_write(folder / self.booklet, booklet(self.lesson, CAUTIONS, self.paper))
            names.append(self.booklet)
        if "page" in self.files:
            atomic_write(folder / PAGE, self.page.html(watch).encode())
            names.append(PAGE)
        for part, ending in SCORES.items():
            if part in self.files:
                names.append(f"{self.stem}{ending}")
                self._part.write(folder / names[-1])
        audio.write(takes, watch)
        names += [take.path.name for take in takes]
        if "readme" in self.files:
            atomic_write(folder / README, "\n".join(self._readme(names)).encode())
            names.append(README)
        return names

    @property
    def _part(self) -> Piece:
        """The measures as a piece of their own."""
        if self.span is None:
            return self.piece
        score = cut_out(self.score, self.span.start.measure, self.span.end.measure - 1)
        return replace(self.piece, score=score)

    def _readme(self, names: Sequence[str]) -> Iterator[str]:
        """What is in the folder, and how to begin; the cautions too where neither booklet nor page has them."""
        yield " ".join(self.score.head.title.split()) or "Untitled"
        yield from ("", "In this folder:", "")
        for part, words in FILES.items():
            found = [name for name in names if _part_of(name) == part]
            if found:
                yield f"* {found[0] if len(found) == 1 else f'{found[0]} to {found[-1]}'}"
                yield from wrap(words, WIDTH, initial_indent="  ", subsequent_indent="  ")
        for caution in () if self.files & {"booklet", "page"} else CAUTIONS:
            yield from ("", *wrap(caution, WIDTH))
        yield ""


README, PAGE = "README.txt", "index.html"

SCORES = {"midi": ".mid", "musicxml": ".musicxml", "tab": ".txt"}
"""Endings of the parts that hold the score."""

ENDINGS = {".pdf": "booklet", ".html": "page"} | {ending: part for part, ending in SCORES.items()}
"""Parts by the endings of their files; the others are audio."""

WIDTH = 78
"""Characters of a line of plain text."""


def _part_of(name: str) -> str:
    return ENDINGS.get(name[name.rfind(".") :], "audio")
