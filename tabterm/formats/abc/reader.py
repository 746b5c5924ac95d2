"""Reading ABC: one tune of a file, its first voice, becomes a line."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Any

from tabterm import collector
from tabterm.errors import FormatError, ScoreError
from tabterm.formats import Reading
from tabterm.formats.abc import fields
from tabterm.formats.abc.measures import VoiceBuilder
from tabterm.formats.abc.music import VoiceReader
from tabterm.formats.abc.tunes import COMMENT, text_of, tunes_of, words
from tabterm.score.line import Bar, Line
from tabterm.score.metre import COMMON_TIME
from tabterm.score.model import Head
from tabterm.score.query import after_double_bar, passages
from tabterm.score.report import Reporter

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tabterm.formats.abc.tunes import Tune, TuneLine

CREDITS = "CROASBDZ"
"""Fields whose words become credit lines: composer, rhythm, origin, area, source, book, discography,
transcription (standard 3.1)."""

MOST_PLACES = 40
"""More places that could not be read are only counted: nobody reads on."""

IN_MUSIC = "KMLQPU"
HEADING = frozenset(f"T{CREDITS}")
READ = frozenset(f"XTV%I+{CREDITS}{IN_MUSIC}")
NAMES = {
    "T": "a title inside the music",
    "w": "lyrics",
    "W": "lyrics below the tune",
    "s": "symbol lines",
    "N": "notes",
    "H": "the history",
    "F": "the file's address",
    "G": "the group",
    "m": "macros",
    "r": "remarks",
}
_VOICE = re.compile(r"\[V:\s*([^\s\]]+)[^\]]*\]")
_SPREAD = re.compile(r"propagate-accidentals[\s:]+(not|octave|pitch)\b")


def read(data: bytes, *, tune: int | None = None, part: int | str | None = None) -> Reading:
    """The line of one tune.

    Args:
        data: The file.
        tune: Which tune, counted from 1 in the order of the file; the first where none is given.
        part: Name of the voice to read; the first with music where none is given.

    Raises:
        FormatError: No such tune or voice, or no music.
    """
    tunes = tunes_of(text_of(data))
    if not tunes:
        raise FormatError("no tune found", hint="a tune begins with X:1 and its music follows K:")
    if tune is not None and not 1 <= tune <= len(tunes):
        raise FormatError(f"no tune {tune}", hint=f"1 to {len(tunes)}")
    report = Reporter(MOST_PLACES)
    if tune is None and len(tunes) > 1:
        report.left_out(f"the first of {len(tunes)} tunes is read; --tune N reads another")
    try:
        with collector.at_rest():
            music = _line(tunes[(tune or 1) - 1], None if part is None else str(part), report)
    except ScoreError as error:
        raise FormatError(error.message, hint=error.hint, place=error.place) from None
    return Reading(music, report.gathered())


def _line(tune: Tune, part: str | None, report: Reporter) -> Line:
    head = {line.field: line for line in reversed(tune.header)}
    metre_text = words(head["M"].text) if "M" in head else ""
    metre = fields.parse_metre(metre_text) if "M" in head else COMMON_TIME
    free = "M" in head and metre is None
    if free and not fields.is_free(metre_text):
        report.left_out(f"not a metre: '{metre_text:.20}'", head["M"].number, 1)
    unit = fields.parse_length(words(head["L"].text)) if "L" in head else None
    unit = unit or fields.usual_length(metre)
    key_text = words(next((line.text for line in reversed(tune.header) if line.field == "K"), ""))
    key = fields.parse_key(key_text) or fields.KeyField()
    if not key.is_exact:
        report.changed(f"the key signature '{key_text:.30}' is shown as {key.key}; all pitches are right")
    voice = VoiceReader(key, metre, unit, report, free=free)
    voice.take_clef(key_text)
    for line in tune.header:
        if line.field == "U":
            voice.redefine(line.text)
    if "Q" in head:
        voice.read_field("Q", head["Q"].text, head["Q"].number)
    _read_body(tune, part, voice, report)
    _count_unread(tune, report)
    barring = VoiceBuilder(metre, key.key, Head().instrument, report).build(voice.bars)
    if not barring.measures:
        raise FormatError("the tune has no music", place=f"line {tune.header[0].number if tune.header else 1}")
    begins = Head(**_names(tune), **barring.begins)
    return Line(head=begins, measures=tuple(_with_starts(barring.measures)))


def _with_starts(bars: Sequence[Bar]) -> Iterator[Bar]:
    """The bars, with a start wherever a repeat goes back to a double bar line.

    A repeat whose start is not written begins at the latest double bar line or end of a repeat, else with the tune
    (standard 4.8, recommendation for developers). The last two are where a score has it anyway.
    """
    starts = {after_double_bar(bars, passage) for passage in passages(bars)}
    for index, bar in enumerate(bars):
        yield bar.with_(repeat_start=True) if index in starts else bar


def _names(tune: Tune) -> dict[str, Any]:
    """Title and credits; a second title is a credit."""
    found = [words(line.text)[:200] for line in tune.header if line.field == "T"]
    credits_ = [words(line.text)[:500] for line in tune.header if line.field in CREDITS]
    return {"title": found[0] if found else "", "credits": tuple(text for text in found[1:] + credits_ if text)}


def _read_body(tune: Tune, part: str | None, voice: VoiceReader, report: Reporter) -> None:
    """Read the lines of one voice, and of none; a tune without voices is one."""
    lines = list(_by_voices(tune.body))
    named = dict.fromkeys(name for name, line in lines if name is not None and not line.field)
    described = [_voice_of(line) for line in tune.header if line.field == "V"]
    wanted = part if part is not None else next(iter((*named, *(name for name, _ in described))), None)
    others = named.keys() - {wanted}
    for properties in (each for own, each in described if own == wanted):
        voice.take_clef(properties)
    for name, line in (*((None, each) for each in tune.header if each.field in ("%", "I")), *lines):
        if line.field in ("%", "I"):
            spread = _SPREAD.match(line.text.strip())
            voice.spread = spread[1] if spread else voice.spread
        elif name is not None and name != wanted:
            continue
        elif not line.field:
            voice.read(line)
        elif line.field == "V":
            voice.take_clef(_voice_of(line)[1])
        elif line.field in IN_MUSIC:
            voice.read_field(line.field, line.text, line.number)
    voice.end()
    if part is not None and not any(bar.moments for bar in voice.bars):
        raise FormatError(f"no voice '{part}' in the tune", hint=f"one of: {', '.join(sorted(others)) or 'none'}")
    if others:
        report.left_out(f"only voice {wanted} is read; --part reads another: {', '.join(sorted(others))}")


def _voice_of(line: TuneLine) -> tuple[str, str]:
    """The name of the voice that a field begins or describes, and what it says of it."""
    name, properties, *_ = *words(line.text).split(maxsplit=1), "", ""
    return name, properties


def _by_voices(body: Sequence[TuneLine]) -> Iterator[tuple[str | None, TuneLine]]:
    """The lines of a tune with the voice of each; lines of music are cut where `[V:...]` goes to another."""
    current: str | None = None
    for line in body:
        if line.field == "V":
            current = _voice_of(line)[0]
        if line.field:
            yield current, line
            continue
        comment = COMMENT.search(line.text)
        end, begin = comment.start() if comment else len(line.text), 0
        for match in (*_VOICE.finditer(line.text, 0, end), None):
            piece = line.text[begin : match.start() if match else None]
            if piece.strip():
                yield current, line._replace(text=piece, column=line.column + begin)
            if match:
                current, begin = match[1], match.end()


def _count_unread(tune: Tune, report: Reporter) -> None:
    lines = [line for line in tune.header if line.field and line.field not in READ]
    lines += [line for line in tune.body if line.field and line.field not in READ - HEADING]
    for letter, times in Counter(line.field for line in lines).items():
        first = next(line.number for line in lines if line.field == letter)
        text = f"field {letter}: {f'{NAMES[letter]} ' if letter in NAMES else ''}left out"
        for _ in range(times):
            report.left_out(text, first)
    if any(line.field == "P" for line in tune.header):
        order = words(next(line.text for line in tune.header if line.field == "P"))
        report.left_out(f"the order of parts, {order:.40}, is left out")
