"""Reading text tab: our own, and what people really write."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING, Any

from tabterm.errors import FormatError, TabtermError
from tabterm.formats import Reading
from tabterm.formats.text.events import Assembly, assemble
from tabterm.formats.text.guesses import Guesses, how_sure, metre_of
from tabterm.formats.text.lines import row_of
from tabterm.formats.text.measures import Segment, read_system
from tabterm.formats.text.page import read_page
from tabterm.formats.text.rhythm import put_into_tuplets
from tabterm.formats.text.unbarred import with_bars
from tabterm.score.model import Event, Measure, Score
from tabterm.score.operations.draft import heal_event

if TYPE_CHECKING:
    from tabterm.formats.text.page import Page
    from tabterm.score.source import SourceEvent

LONGEST_TITLE, LONGEST_REMARK = 200, 500
"""Characters that the model takes."""

MOST_NOTES = 40_000
"""Of a tab: an hour of sixteenths at 120 quarters a minute has 28,800 (derived)."""

MOST_WORDS = 6 * MOST_NOTES
"""Notes, note values, fingers, strokes, counts and other words, counted before any is read."""

_WORDS = re.compile(rb"[^-|,\s]+")
_SECTION = re.compile(r"^\[([^\[\]]{1,40})\]$")


def read(data: bytes) -> Reading:
    """The score in a text tab, with remarks on what was not read, or proposed.

    Raises:
        FormatError: It is beyond all measure, or has no system of as many lines as the instrument has courses.
    """
    if sum(1 for _ in islice(_WORDS.finditer(data), MOST_WORDS + 1)) > MOST_WORDS:
        raise _too_long()
    page = read_page(data)
    courses = page.head.instrument.course_count
    segments = [
        segment
        for system in page.systems
        if len(system.courses) == courses
        for segment in read_system(system, page.report)
    ]
    put_into_tuplets(segments, page.report)
    chunks = _joined(list(with_bars(segments, page.head.metre)))
    if not chunks:
        sizes = sorted({len(system.courses) for system in page.systems})
        found = f"only systems of {', '.join(map(str, sizes))} lines" if sizes else "no lines of dashes"
        raise FormatError(f"no tab of {courses} courses: {found}", hint="one line of dashes for each course")
    if sum(len(segment.cells) for segments in chunks for segment in segments) > MOST_NOTES:
        raise _too_long()
    _take_title(page)
    fields = _measures(page, chunks)
    _take_words(page, chunks, fields)
    try:
        score = Score(head=page.head, measures=tuple(Measure(**each) for each in fields))
    except TabtermError as error:
        raise FormatError(error.message, place=error.place, hint=error.hint) from None
    return Reading(score, page.report.gathered())


def _too_long() -> FormatError:
    return FormatError("the tab is too large", hint=f"at most {MOST_NOTES} notes: cut the file into parts")


def _joined(segments: list[Segment]) -> list[list[Segment]]:
    """Segments by measure: where durations are given, a line that breaks off goes on in the next system."""
    chunks: list[list[Segment]] = []
    for segment in segments:
        broken = chunks and chunks[-1][-1].barline is None and not segment.opened
        if broken and segment.has_rhythm:
            chunks[-1].append(segment)
        else:
            chunks.append([segment])
    return chunks


def _measures(page: Page, chunks: list[list[Segment]]) -> list[dict[str, Any]]:
    """The fields of every measure, healed where a slur or tie has no note to start from."""
    guesses = _guesses(page, chunks)
    assembly = Assembly(page.head.metre, page.report, guesses)
    measures: list[dict[str, Any]] = []
    before: Event | None = None
    for number, segments in enumerate(chunks, 1):
        _, marked = page.marks.pop(number, (0, {}))
        assembly.metre = marked.get("metre") or assembly.metre
        fields = assemble(assembly, segments, dict(marked), first=number == 1)
        events = []
        for event in fields["events"]:
            healed = heal_event(before, event)
            if healed is not event:
                text = f"measure {number}: a slur or tie has no note before it, so the note is picked"
                page.report.changed(text, *segments[0].at())
            before = healed
            events.append(healed)
        _check_heard(page, segments[0], fields)
        measures.append(fields | {"events": tuple(events)})
    _say_what_is_proposed(page, chunks, guesses)
    for number, (line, _) in page.marks.items():
        page.report.left_out(f"no measure {number}: its marks are left out", line, 1)
    return measures


def _guesses(page: Page, chunks: list[list[Segment]]) -> Guesses:
    """What the text does not say, with a remark on the metre and the pickup."""
    firsts = [segments[0] for segments in chunks]
    if "metre" not in page.named and "metre" not in page.marks.get(1, (0, {}))[1]:
        metre = metre_of(firsts)
        if metre != page.head.metre:
            page.head = page.head.with_(metre=metre)
            page.report.guessed(f"no metre is given: {metre} is assumed, because most measures come out full")
    guesses = Guesses.of(firsts, page.head.metre)
    if guesses.pickup:
        said = f"the first measure is read as a pickup of {guesses.pickup} quarters"
        page.report.guessed(said, *firsts[0].at())
    return guesses


def _say_what_is_proposed(page: Page, chunks: list[list[Segment]], guesses: Guesses) -> None:
    """One remark for the whole file, or for each system that lacks the durations which others have."""
    without = [segments[0] for segments in chunks if not segments[0].has_rhythm]
    if len(without) == len(chunks):
        counted = any("count" in segment.rows for segment in without)
        source = "the count and the spacing" if counted else "the spacing"
        sure = how_sure(guesses, chunks)
        page.report.guessed(f"no durations are given: the rhythm is proposed from {source}{sure}")
        return
    for line in sorted({segment.line for segment in without}):
        there = [segments for segments in chunks if segments[0].line == line]
        sure = how_sure(guesses, [segments if segments in there else [] for segments in chunks])
        page.report.guessed(f"no durations are given here: the rhythm is proposed from the spacing{sure}", line, 1)


def _check_heard(page: Page, segment: Segment, fields: dict[str, Any]) -> None:
    """Leave out a line of the original that does not fill its measure, and proposed chords outside it."""
    source: tuple[SourceEvent, ...] = fields.get("source", ())
    filled = sum((event.duration.length for event in source), Fraction(0))
    length = sum((event.length for event in fields["events"]), Fraction(0))
    if source and filled != length:
        page.report.left_out("the original line does not fill its measure and is left out", *segment.at())
        del fields["source"]
    offsets = [mark.offset for mark in fields.get("heard_chords", ())]
    if offsets and (offsets != sorted(set(offsets)) or offsets[-1] >= length):
        page.report.left_out("chords that were heard do not fit their measure and are left out", *segment.at())
        del fields["heard_chords"]


def _take_title(page: Page) -> None:
    """Without a title in the head, the first words of all are the title, unless they are chord symbols."""
    words = page.words.get(0, [])
    if page.head.title or not words or "--" in words[0] or _SECTION.match(words[0]) or row_of(words[0]) == "chord":
        return
    if len(words[0]) <= LONGEST_TITLE:
        page.head = page.head.with_(title=words.pop(0))


def _take_words(page: Page, chunks: list[list[Segment]], measures: list[dict[str, Any]]) -> None:
    """Words before a system become the remark of its first measure, `[words]` its section."""
    lines = [segments[0].line for segments in chunks]
    for number, texts in page.words.items():
        first = page.systems[number].courses[0].number if number < len(page.systems) else lines[-1] + 1
        index = next((i for i, line in enumerate(lines) if line >= first), len(measures) - 1)
        fields = measures[index]
        for text in texts:
            section = _SECTION.match(text)
            if section and not fields.get("section") and number < len(page.systems):
                fields["section"] = section.group(1)
            else:
                fields["remark"] = f"{fields.get('remark', '')} {text}".strip()
        if len(fields.get("remark", "")) > LONGEST_REMARK:
            page.report.left_out(f"words over a measure are cut after {LONGEST_REMARK} characters", first, 1)
            fields["remark"] = fields["remark"][:LONGEST_REMARK]
