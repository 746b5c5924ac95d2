"""The typesetter: documents of typst as PDF or pictures, in the fonts of the sheet.

The same document gives the same bytes: no date is written, and a font of the system serves only for characters
that ours lack.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from tabterm.errors import INSTALL, FormatError
from tabterm.sheet import fonts

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

STANDARD: Literal["ua-1"] = "ua-1"
"""PDF/UA-1 (ISO 14289-1): title, language, tags and words for what is drawn, for screen readers."""


class Typeset(NamedTuple):
    """Files, one a page where the kind of file has one page; and the characters that no font here has."""

    files: tuple[bytes, ...]
    lacking: str = ""


def check_installed() -> None:
    """Raise FormatError, which names the command, where the extra of printed sheets is not installed."""
    from importlib.util import find_spec

    lacking = [package for package in ("typst", "fontTools") if find_spec(package) is None]
    if lacking:
        raise FormatError(
            f"printed sheets need {' and '.join(lacking)}, which is not installed",
            hint=INSTALL,
        )


def pdf(source: str, inputs: Mapping[str, str]) -> Typeset:
    """A document as a tagged PDF.

    Args:
        source: What typst reads; it finds the inputs in `sys.inputs`, and writes words in `fonts.TEXT`.
        inputs: Texts by name, pictures in SVG among them.
    """
    return _typeset(source, inputs, "pdf")


def png(source: str, inputs: Mapping[str, str], dpi: int) -> Typeset:
    """A document as pictures, one a page."""
    return _typeset(source, inputs, "png", dpi)


def _typeset(source: str, inputs: Mapping[str, str], kind: Literal["pdf", "png"], dpi: int = 72) -> Typeset:
    """By the standard, or without it where it is strict about a character: one in no font, or a rare mark."""
    check_installed()
    import typst

    lacking, folders = _fallback(fonts.missing("".join(inputs.values())))
    known = typst.Fonts(include_system_fonts=False, font_paths=[str(fonts.FOLDER), *folders])

    def made_by(standards: list[Literal["ua-1"]]) -> bytes | list[bytes] | None:
        compiler = typst.Compiler(source.encode(), font_paths=known, sys_inputs=dict(inputs))
        return compiler.compile(format=kind, ppi=float(dpi), pdf_standards=[*standards])

    try:
        made = made_by([STANDARD])
    except typst.TypstError:
        made = made_by([])
    return Typeset(tuple(made) if isinstance(made, list) else (made or b"",), lacking)


def _fallback(missing: str) -> tuple[str, Sequence[str]]:
    """The characters among those missing that no font of the system has; and folders with fonts for the rest.

    Of several fonts the first that has most of them is taken, by the names of their families.
    """
    folders: list[str] = []
    while missing:
        found = max(_system_fonts(), key=lambda font: len(set(missing) & _characters(*font)), default=None)
        covered = set(missing) & _characters(*found) if found else set()
        if found is None or not covered:
            break
        folders.append(str(Path(found[0]).parent))
        missing = "".join(each for each in missing if each not in covered)
    return missing, folders


@cache
def _system_fonts() -> tuple[tuple[str, int], ...]:
    """Path and number in its file of every regular font of the system, by families."""
    import typst

    found = typst.Fonts(include_embedded_fonts=False).fonts()
    regular = [font for font in found if font.path and font.style == "normal" and font.weight == 400]
    by_family = sorted(regular, key=lambda font: (font.family, font.path))
    return tuple((font.path or "", font.index) for font in by_family)


@cache
def _characters(path: str, index: int) -> frozenset[str]:
    """The characters of a font; none where it cannot be read."""
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(path, fontNumber=index, lazy=True) as font:
            return frozenset(map(chr, font.getBestCmap() or ()))
    except (OSError, TTLibError):
        return frozenset()
