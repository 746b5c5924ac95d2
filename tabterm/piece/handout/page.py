"""The page of a handout: one HTML file that holds the sheet, the sound and the player, and needs nothing else."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from functools import cached_property
from html import escape
from importlib.resources import files as resources
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.page.neck_map import svg_of
from tabterm.page.spoken import measures_in_words
from tabterm.piece.handout import snippets
from tabterm.piece.handout.counsel import NOTHING_NEAR
from tabterm.piece.handout.lesson import ON_NECK
from tabterm.piece.handout.plan import EASY
from tabterm.piece.handout.trace import Trace
from tabterm.sheet.engrave import engrave
from tabterm.sheet.files import faces
from tabterm.sheet.layout import Layout
from tabterm.sound.rendering import TAIL_S

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from tabterm.piece.handout.lesson import Lesson
    from tabterm.piece.handout.phrases import Phrase
    from tabterm.piece.handout.snippets import Snippet, Sound
    from tabterm.piece.practice import Practice
    from tabterm.sheet.layout import Page

WIDTHS_MM = (96.0, 178.0)
"""Widths of an engraved phrase, for a phone and for a wider screen; tuned here: a staff is 24 px high."""

DEFS = re.compile(r"<defs>(.*?)</defs>", re.DOTALL)
GLYPH = re.compile(r'<path id="([^"]+)".*?/>', re.DOTALL)

CODER_DELAY_S = 1105 / 32_000
"""What an MP3 begins with and some decoders leave in: 576 frames of the coder, 529 of the decoder; from memory."""


@dataclass(frozen=True)
class PlayerPage:
    """The page of a lesson.

    Attributes:
        lesson: What is taught.
        practice: How it is played.
        may_click: A click takes the place of chords where there are none.
        booklet: Name of the PDF beside it, "" for none.
        cautions: What is said at its end.
    """

    lesson: Lesson
    practice: Practice
    cautions: tuple[str, ...]
    may_click: bool = True
    booklet: str = ""

    @cached_property
    def _stretches(self) -> tuple[tuple[snippets.Stretch, ...], tuple[int, ...]]:
        return snippets.stretches(self.lesson.score, self.lesson.phrases, whole=self.lesson.span is None)

    @cached_property
    def snippets(self) -> tuple[Snippet, ...]:
        """What is heard, phrase by phrase and what more the whole needs."""
        return tuple(snippets.snippet_of(self.lesson.score, each, self.practice) for each in self._stretches[0])

    @cached_property
    def tempos(self) -> tuple[int, ...]:
        """Tempos that can be chosen, in percent."""
        return snippets.fitting(self.snippets, self.lesson.tempos)

    @property
    def frames(self) -> int:
        """How many frames of sound are made for it."""
        return snippets.frames(self.snippets, self.tempos)

    def html(self, watch: Callable[[int], None]) -> str:
        """The file."""
        pages = [self._engraved(phrase) for phrase in self.lesson.phrases]
        every = [page for both in pages for page in both]
        sounds = {
            tempo: list(
                snippets.sounds(
                    *(self.lesson.score, self.snippets, self.practice, tempo, watch), may_click=self.may_click
                )
            )
            for tempo in self.tempos
        }
        head = self.lesson.score.head
        return _part("page.html").format_map(
            {
                "title": escape(head.title or "Untitled"),
                "credits": "".join(f"<p>{escape(line)}</p>" for line in head.credits),
                "facts": escape(" · ".join(self.lesson.facts())),
                "faces": faces(page.svg for page in every),
                "style": _part("page.css"),
                "code": _part("page.js"),
                "signs": "".join(_signs(every).values()),
                "foreword": "".join(f"<p>{escape(line)}</p>" for line in self.lesson.foreword),
                "booklet": self._link(),
                "phrases": "\n".join([*map(self._phrase, self.lesson.phrases, pages), *self._necks()]),
                "tempos": "\n".join(map(self._tempo, self.tempos)),
                "backing": "" if any(each.backing for each in sounds[self.tempos[0]]) else " hidden",
                "cautions": "".join(f"<p>{escape(words)}</p>" for words in self.cautions),
                "data": json.dumps(self._data(pages), separators=(",", ":")).replace("<", "\\u003c"),
                "sounds": "\n".join(_embedded(sounds)),
            }
        )

    def _engraved(self, phrase: Phrase) -> tuple[Page, ...]:
        measures = phrase.first, phrase.last
        layouts = (Layout(excerpt_width_mm=width, measures=measures, rows=self.lesson.rows) for width in WIDTHS_MM)
        return tuple(engrave(self.lesson.score, layout).pages[0] for layout in layouts)

    def _link(self) -> str:
        from urllib.parse import quote

        return f'<p><a href="{quote(self.booklet)}">Booklet to print (PDF)</a></p>' if self.booklet else ""

    # Phrases

    def _phrase(self, phrase: Phrase, pages: tuple[Page, ...]) -> str:
        lesson, number = self.lesson, phrase.number
        measures = phrase.measures(lesson.score)
        pictures = "".join(
            f'<div class="{name}">{_without_signs(page.svg)}<div class="cursor" hidden></div></div>'
            for name, page in zip(("narrow", "wide"), pages, strict=True)
        )
        section = f"{escape(phrase.section)}, " if phrase.section else ""
        spoken = escape(measures_in_words(lesson.score, phrase.first, phrase.last))
        return _part("phrase.html").format_map(
            {
                "number": number,
                "measures": section + measures,
                "label": escape(f"Notation and tab, {measures}"),
                "pictures": pictures,
                "words": "\n".join(self._words(phrase)),
                "spoken": spoken,
            }
        )

    def _necks(self) -> Iterator[str]:
        """The necks that are asked for."""
        if self.lesson.necks:
            yield f"<h2>{ON_NECK}</h2>"
        for neck in self.lesson.necks:
            label = escape(f"{neck.title} on the neck")
            yield f'<figure class="neck" tabindex="0" aria-label="{label}">{svg_of(neck)}</figure>'

    def _words(self, phrase: Phrase) -> Iterator[str]:
        lesson = self.lesson
        for remark in lesson.remarks(phrase):
            yield f"<p><q>{escape(remark.words)}</q> ({escape(remark.where)})</p>"
        if sentences := lesson.explained(phrase):
            yield f"<p>{escape(' '.join(sentences))}</p>"
        elif chords := lesson.chords(phrase):
            yield f"<p>Chords: {escape(chords)}</p>"
        if (neck := lesson.neck(phrase)) is not None:
            yield f'<figure class="neck" tabindex="0" aria-label="The scale on the neck">{svg_of(neck)}</figure>'
        yield from (f"<p>{escape(words)}</p>" for words in lesson.known(phrase))
        hard = lesson.hard(phrase)
        if hard:
            places = (f"<li><b>{escape(where)}:</b> {escape(words)}</li>" for where, words in hard)
            yield f"<ul>{''.join(places)}</ul>"
        elif "hard" in lesson.sections and phrase.use <= EASY:
            yield f"<p>{escape(NOTHING_NEAR)}</p>"
        if "ladder" in lesson.sections:
            rungs = ", ".join(lesson.rungs(phrase))
            named = f"Tempos: {rungs} beats a minute. " if rungs else ""
            yield f"<p>{escape(named + lesson.climbing(phrase))}</p>"

    def _tempo(self, tempo: int) -> str:
        chosen = " checked" if tempo == self.tempos[0] else ""
        button = f'<input type="radio" name="tempo" value="{tempo}"{chosen}>'
        return f"<label>{button}<span>{tempo}<small>%</small></span></label>"

    # What the player needs to know

    def _data(self, pages: list[tuple[Page, ...]]) -> dict[str, object]:
        traces = [[Trace(page) for page in both] for both in pages]
        return {
            "tail": TAIL_S,
            "delay": CODER_DELAY_S,
            "order": self._stretches[1],
            "systems": [[trace.systems for trace in both] for both in traces],
            "pieces": [
                {
                    "phrase": each.stretch.phrase,
                    "length": each.length_s,
                    "counts": [(round(time_s, 4), loud) for time_s, loud in each.counts],
                    "marks": [list(_marks(each, trace)) for trace in traces[each.stretch.phrase]],
                }
                for each in self.snippets
            ],
        }


def _marks(snippet: Snippet, trace: Trace) -> Iterator[tuple[float, int, float]]:
    """When the cursor is where: seconds at the written tempo, number of the system, percent of the width."""
    for time_s, measure, onset in snippet.marks:
        spot = trace.spot(measure, onset)
        if spot is not None:
            yield round(time_s, 4), spot.system, spot.x


def _embedded(sounds: Mapping[int, list[Sound]]) -> Iterator[str]:
    for tempo, each in sounds.items():
        for number, sound in enumerate(each):
            for stem, data in (("solo", sound.solo), ("backing", sound.backing)):
                if data is not None:
                    words = b64encode(data).decode()
                    yield f'<script type="text/plain" id="{stem}-{tempo}-{number}">{words}</script>'


def _signs(pages: list[Page]) -> dict[str, str]:
    """The outlines of all music signs by name, each once for the whole file."""
    return {
        match[1]: match[0] for page in pages for defs in DEFS.findall(page.svg) for match in GLYPH.finditer(defs)
    }


def _without_signs(svg: str) -> str:
    """A picture whose signs stand elsewhere in the file, and which the figure round it names."""
    return DEFS.sub("", svg).replace(' role="img"', ' aria-hidden="true"', 1)


def _part(name: str) -> str:
    return (resources("tabterm.piece.handout") / name).read_text(encoding="utf-8")
