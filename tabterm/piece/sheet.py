"""The printed sheet of a score: what is on it, how it is laid out, and its files."""

from __future__ import annotations

import os
import re
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from tabterm.errors import FormatError, ScoreError
from tabterm.harmony.phrases import phrase_ranges
from tabterm.judge import UnfitError
from tabterm.page.neck_map import text_of
from tabterm.page.rows import PRINTED, RHYTHM
from tabterm.piece.piece import span_of
from tabterm.score.report import NOTHING, Reporter
from tabterm.storage.names import check_free
from tabterm.storage.whole import replacing
from tabterm.values import field_names

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from tabterm.page.neck_map import NeckMap
    from tabterm.score.model import Score
    from tabterm.score.report import Report
    from tabterm.sheet.layout import Layout

TEXT = (".txt", ".tab")
"""Endings of a page of text."""

DPI, LOWEST_DPI, HIGHEST_DPI = 150, 30, 600
"""Dots an inch of a picture: unasked, and at least and at most; a page of A4 at 600 has 35 million."""

ROWS = ("remark", *(row.name for row in PRINTED if row is not RHYTHM))
"""Rows of the page that a sheet can have beside the staves."""

TEXT_PT, LARGE_PT = 10.0, 16.0
"""Size of the type for which a page of text is made as wide as the paper; large print from 16 points on is common
practice, no source."""

CHARACTER_EM = 0.6
"""Width of a character of a typewriter font; common practice, no source."""

LETTER = frozenset({"BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"})
"""Countries that print on Letter rather than A4: CLDR, `paperSize`, from memory."""

_COUNTRY = re.compile(r"[a-z]{2,3}_([A-Z]{2})(?:\W|$)")


Paper = Literal["a4", "letter"]


def paper_of(word: Literal["auto", "a4", "letter"], environment: Mapping[str, str] = os.environ) -> Paper:
    """The paper of a setting; `auto` is that of the country that the locale names, A4 where it names none."""
    if word != "auto":
        return word
    for name in ("LC_ALL", "LC_PAPER", "LANG"):
        if environment.get(name):
            country = _COUNTRY.match(environment[name])
            return "letter" if country and country[1] in LETTER else "a4"
    return "a4"


class Written(NamedTuple):
    """The files of a sheet, one or one a page, and what they do not carry."""

    paths: tuple[Path, ...]
    report: Report


def measures_of(
    score: Score, measures: tuple[int | None, int | None] | None = None, phrase: int | None = None
) -> tuple[int, int] | None:
    """First and last index of the measures that two players' numbers, or the number of a phrase, name.

    Raises:
        ScoreError: There are no such measures, there is no such phrase, or both are said.
    """
    if phrase is None:
        span = None if measures is None else span_of(score, *measures)
        return None if span is None else (span.start.measure, span.end.measure - 1)
    if measures is not None:
        raise ScoreError("choose measures or a phrase, not both", hint="leave one out")
    found = phrase_ranges(score)
    if not 1 <= phrase <= len(found):
        raise ScoreError(f"no phrase {phrase}", hint=f"1 to {len(found)}" if found else "nothing sounds")
    return found[phrase - 1]


def laid_out(
    score: Score, *, measures: tuple[int | None, int | None] | None = None, phrase: int | None = None, **told: Any
) -> Layout:
    """A layout by the words of `Layout`: `parts`, `large`, `paper`, `landscape`, `margin_mm`, `rows` ...

    Args:
        score: The score that is printed.
        measures: First and last measure as a player counts them, each None for that of all; None for all.
        phrase: Number of a phrase instead, from 1.
        told: The rest; the paper is that of the locale where none is named.

    Raises:
        ScoreError: There are no such measures, or there is no such phrase.
        FormatError: A word is unknown or has no sensible value.
    """
    from tabterm.sheet.layout import Layout

    strange = sorted(told.keys() - set(field_names(Layout)))
    if strange:
        known = ", ".join(name for name in field_names(Layout) if name != "excerpt_width_mm")
        raise FormatError(f"a sheet has no '{strange[0]:.40}'", hint=f"one of: {known}")
    unknown = [row for row in told.get("rows") or () if row not in ROWS]
    if unknown:
        raise FormatError(f"a sheet has no row '{unknown[0]:.40}'", hint=f"one of: {', '.join(ROWS)}")
    fields = {"paper": paper_of("auto")} | {name: value for name, value in told.items() if value is not None}
    try:
        return Layout(**fields, measures=measures_of(score, measures, phrase))
    except UnfitError as error:
        name, value = str(error.where[0]), fields.get(str(error.where[0]))
        raise FormatError(
            f"a sheet cannot have {name.removesuffix('_mm')} {value!r:.40}", hint=error.said
        ) from None


def write_sheet(
    path: Path,
    score: Score,
    *,
    dpi: int = DPI,
    force: bool = True,
    progress: Callable[[int, int], None] | None = None,
    **told: Any,
) -> Written:
    """Write a sheet into the file that the ending names, or into one a page: `NAME-1.png`, `NAME-2.png` ...

    A page of text (`.txt`) is a text tab as wide as the paper.

    Args:
        path: Where to.
        score: With fingers and strokes, set or proposed.
        dpi: Dots an inch of a PNG picture.
        force: Write over files that exist.
        progress: Called with the measures that are done and all of them.
        told: How it is laid out, by the words of `laid_out`.

    Raises:
        FormatError: The extra of printed sheets is missing, or a word has no sensible value.
        ScoreError: There are no such measures, or there is no such phrase.
        StorageError: A file exists, or the disk refused; then none is written.
    """
    made = printed(score, path.suffix.lower(), dpi=dpi, progress=progress, **told)
    paths = names_of(path, len(made.files))
    for each in paths:
        check_free(each, force=force)
    with ExitStack() as stack:
        for each, data in zip(paths, made.files, strict=True):
            stack.enter_context(replacing(each)).write(data)
    return Written(paths, made.report)


class Printed(NamedTuple):
    """The bytes of a sheet, of one file or one a page, and what they do not carry."""

    files: tuple[bytes, ...]
    report: Report


def printed(
    score: Score,
    ending: str,
    *,
    dpi: int = DPI,
    progress: Callable[[int, int], None] | None = None,
    necks: Sequence[NeckMap] = (),
    **told: Any,
) -> Printed:
    """A sheet as the bytes of its files; the arguments and errors are those of `write_sheet`.

    `necks` stand behind it, on pages of their own.
    """
    layout = laid_out(score, **told)
    if ending in TEXT:
        if layout.parts not in {"both", "tab"} or layout.original:
            what = "the original line" if layout.original else f"a {layout.parts} sheet"
            raise FormatError(f"{what} cannot be written as text", hint="choose pdf")
        return Printed((_text_page(score, layout, necks).encode(),), NOTHING)
    from tabterm.sheet import typesetter

    if not LOWEST_DPI <= dpi <= HIGHEST_DPI:
        raise FormatError(f"a picture cannot have {dpi} dots an inch", hint=f"{LOWEST_DPI} to {HIGHEST_DPI}")
    typesetter.check_installed()
    from tabterm.sheet import files
    from tabterm.sheet.engrave import engrave
    from tabterm.sheet.necks import with_necks

    sheet = with_necks(engrave(score, layout, progress=progress), necks, layout)
    made = files.written(sheet, score, ending, dpi)
    report = Reporter()
    if made.lacking:
        report.left_out(
            f"no font on this machine has {made.lacking:.60}: shown as boxes; install one that has them"
        )
    return Printed(made.files, report.gathered())


def _text_page(score: Score, layout: Layout, necks: Sequence[NeckMap]) -> str:
    """Title and credits, what is played on and how fast, and a clean text tab as wide as the paper; the necks."""
    from tabterm.formats.text import NARROWEST, WIDEST
    from tabterm.formats.text import ROWS as TAB_ROWS
    from tabterm.formats.text.excerpt import excerpt

    character_mm = CHARACTER_EM * (LARGE_PT if layout.large else TEXT_PT) * 25.4 / 72
    width = min(max(int((layout.page_mm[0] - 2 * layout.margin_mm) / character_mm), NARROWEST), WIDEST)
    first, last = layout.measures or (0, len(score.measures) - 1)
    head = score.head
    lines = [line.center(width).rstrip() for line in (head.title, *head.credits) if line]
    lines += ["", f"{head.instrument.name}, {score.keys[first]}, {score.tempos[first]}", ""]
    rows = ("rhythm", *(row for row in layout.rows if row in TAB_ROWS))
    behind = [line for each in necks for line in ("", each.title, *text_of(each, width))]
    return "\n".join(lines) + "\n" + excerpt(score, first, last, width=width, rows=rows) + "\n".join([*behind, ""])


def names_of(path: Path, count: int) -> tuple[Path, ...]:
    """The files of so many pages; one alone has the name itself."""
    if count == 1:
        return (path,)
    return tuple(path.with_name(f"{path.stem}-{number}{path.suffix}") for number in range(1, count + 1))
