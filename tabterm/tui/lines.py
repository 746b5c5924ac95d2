"""The lines round the score: status above; what is to be mended, and the message, below."""

from __future__ import annotations

from functools import lru_cache
from textwrap import wrap
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.page.rows import COURSE
from tabterm.page.spoken import step_name
from tabterm.piece.practice import Heard
from tabterm.score.duration import QUARTER
from tabterm.score.place import count_name, display_number
from tabterm.score.swing import swing_words
from tabterm.score.tempo import part_of_whole
from tabterm.tui.canvas import Canvas
from tabterm.tui.painter import SIGNS
from tabterm.workspace.cursor import sentence

if TYPE_CHECKING:
    from collections.abc import Callable

    from tabterm.hand.finding import Finding
    from tabterm.score.model import Score
    from tabterm.tui.canvas import Line
    from tabterm.tui.terminal.brush import Pen
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session


ROOM_FOR_TITLE = 14
"""Cells of the status line that the title keeps, where more is said of the cursor."""

STEP_FROM = 80
"""Cells of a status line on which row and step stay, and the less needed of the practice options give way."""

CLICK_WORDS = {"beats": "click", "offbeats": "off-beat click"}
VERSION_WORDS = {
    Heard.ASIDE: "version B",
    Heard.IN_TURN: "version A+B",
    Heard.ORIGINAL: "original",
    Heard.BESIDE: "original+A",
}
RECORD_WORDS = {"record": "record", "both": "record | tab"}
PARTS_WORDS = {"both": "with chords", "chords": "chords only"}


MORE = " …"
"""Behind what is cut off."""


class Part:
    """Lines of the screen that are painted from a session; widgets and the first picture show them."""

    def __init__(self, session: Session, look: Look, extent: Callable[[], tuple[int, int]]) -> None:
        """`extent` tells how many cells and lines there are room for now."""
        self.session = session
        self.look = look
        self.lines: list[Line] = []
        self._extent = extent

    @property
    def wide(self) -> int:
        """How many cells a line has room for."""
        return self._extent()[0]

    @property
    def high(self) -> int:
        """How many lines there is room for."""
        return self._extent()[1]

    def paint(self) -> list[Line]:
        """The lines as they should be now."""
        raise NotImplementedError


class Status(Part):
    """How it is played and how fast, what is open, where the cursor is and what the next key writes.

    State and tempo come first and stay longest; the title gives way before them, and on a line of 80 cells the
    last of the states before row and step. Each stands in a place of its own, so that a move changes few cells.
    For a screen reader it is one sentence.
    """

    PLACE, ROW = 4, 8
    """Cells kept for a count and for the name of a row."""

    def paint(self) -> list[Line]:
        """One line."""
        width = self.wide
        canvas = Canvas(width, self.look.bar)
        if self.session.shown.plain:
            canvas.put(0, sentence(self.session), self.look.bar)
            return [canvas.line()]
        states, ways = self._states(), self._where()[: -1 if width >= STEP_FROM else None]
        state = "  ".join(states)
        right = next((way for way in ways if len(state) + len(way) <= width - ROOM_FOR_TITLE), ways[-1])
        while len(states) > 1 and len(state) + len(right) > width - 4:
            states.pop()
            state = "  ".join(states)
        canvas.put(0, "*" if self.session.document.unsaved else " ", self.look.bar)
        x = canvas.put(1, state, self.look.bar_state) + 2
        room = width - len(right) - 3 - x
        what = self._what()
        canvas.put(x, what if len(what) <= room else what[: max(room - 1, 0)] + "…" * (room > 1), self.look.bar)
        canvas.put(width - len(right) - 1, right, self.look.bar)
        return [canvas.line()]

    def _what(self) -> str:
        session = self.session
        score, document = session.score, session.document
        index = min(session.here.cursor.place.measure, len(score.measures) - 1)
        name = score.head.title or document.path.name
        flag = " (read-only)" if document.read_only else ""
        return f"{name}{flag}  {score.keys[index]}  {score.metres[index]}"

    def _where(self) -> tuple[str, ...]:
        """Where the cursor is, from the most words to the fewest."""
        session = self.session
        cursor, score = session.here.cursor, session.score
        place = "after the end "
        if cursor.place.measure < len(score.measures):
            digits = len(str(len(score.measures)))
            number = f"m{display_number(score, cursor.place.measure)}"
            place = f"{number:<{digits + 1}} {count_name(score, cursor.place):<{self.PLACE}}"
        letter = score.head.instrument.course_letters()[cursor.course - 1]
        row, short = (f"course {letter}", letter) if cursor.row is COURSE else (cursor.row.name,) * 2
        step = step_name(session.next_note.step)
        return (
            f"{place} {row:<{self.ROW}}  step {step}",
            f"{place} {short:<{self.ROW}} {step}",
            f"{place} {short}",
        )

    def _states(self) -> list[str]:
        """How it is played, the most needed first; what is as usual is not said."""
        session, transport = self.session, self.session.transport
        practice, heard = transport.practice, session.rehearsal.heard
        counted_in = transport.playing and bool(transport.counted())
        playing = f"{'COUNT-IN' if counted_in else 'PLAYING'} " if transport.playing else ""
        words = self._pace()
        words[0] = playing + words[0]
        words += ["selecting"] if session.here.anchor is not None else []
        words += [self._looped()] if practice.loop else []
        words += [VERSION_WORDS[heard]] if heard in VERSION_WORDS else []
        words += [RECORD_WORDS[practice.record]] if practice.record in RECORD_WORDS else []
        words += [PARTS_WORDS[practice.parts]] if practice.parts in PARTS_WORDS else []
        words += [f"{part} {level}%" for part, level in practice.levels]
        if practice.click in CLICK_WORDS:
            words.append(CLICK_WORDS[practice.click])
            if practice.click_rests is not None:
                words[-1] += f" {practice.click_rests.in_words}"
        words += [f"count-in {practice.count_in}"] if practice.count_in else []
        words += [f"pre-roll {practice.pre_roll}"] if practice.pre_roll else []
        if practice.parts != "solo":
            words += [practice.style] if practice.style else []
            words += [] if practice.groove else ["no groove"]
        if practice.swing != "written":
            words.append("straight" if practice.swing == "straight" else f"swing {swing_words(practice.swing)}")
        return words

    def _pace(self) -> list[str]:
        """How fast it is played, and where on the ladder that is."""
        transport, practice = self.session.transport, self.session.transport.practice
        tempo, run = self.session.tempo(), transport.run
        try:
            percent, rungs = transport.percent(tempo), transport.rungs(tempo)
        except ScoreError:
            return ["no such ladder at this tempo"]
        beat = f"{part_of_whole(tempo.beat)}=" if tempo.beat != QUARTER else ""
        words = [f"{beat}{tempo.per_minute * percent / 100:.0f} bpm"]
        if percent != 100 or practice.ladder is not None:
            words[0] += f" {percent:.0f}%"
        if practice.ladder is not None:
            turn = "" if run is None or not run.ordered else " turn {}/{}".format(*run.count)
            words.append(f"rung {transport.rung + 1}/{len(rungs)}{turn}")
        return words

    def _looped(self) -> str:
        """What goes round: the measures that sound, or those that are selected."""
        run, score = self.session.transport.run, self.session.score
        span = run.takes[0].span if run is not None else self.session.here.selection()
        if span is None:
            return "loop"
        first, last = span.start.measure, span.end.measure - (not span.end.offset)
        first, last = display_number(score, first), display_number(score, last)
        return f"loop m{first}" if first == last else f"loop m{first}-{last}"


class Message(Part):
    """What there is to say: an answer to the last key, else the finding here, else the nearest help.

    What is long begins on the lines above: an answer on those of the neck and the last ones of the score, until
    the next key; a finding, which stays, on the line of the hand alone.
    """

    HINT = "? keys   ctrl+p commands   space play   ctrl+s save   ctrl+q quit"

    message = ""
    trouble = False
    kept_free = 0
    finding: tuple[str, ...] = ()
    """What is said of the finding here, from the most words to the fewest."""
    to_mend = 0
    lines_above = 2
    hand_above = True

    def say(self, text: str, *, trouble: bool = False, keep_free: int = 0) -> None:
        """Show a message until the next key, with so many cells free at the right end of its lines."""
        self.message, self.trouble, self.kept_free = text, trouble, keep_free

    def paint(self) -> list[Line]:
        """One line: the last one of what is said."""
        return self.said()[-1:]

    def said(self) -> list[Line]:
        """What is said, with the lines above this one for its beginning."""
        return list(_in_pens(tuple(self.texts()), self._pen(), self.look.plain, self.wide))

    def texts(self) -> list[str]:
        """The lines of what is said."""
        if self.message:
            return self._wrapped(self.message, self.lines_above)
        words = self.session.here.cursor.row.words
        hint = words.hint if words is not None and words.hint else self.HINT
        above = int(self.hand_above) if self.finding else 0
        ways = self.finding or (hint,)
        if self.to_mend:
            ways = (f"{self.to_mend} to fix   {ways[0]}", *self.finding)
        lines = (self._wrapped(way, above) for way in ways)
        return next((each for each in lines if not each[-1].endswith(MORE)), self._wrapped(ways[-1], above))

    def _pen(self) -> Pen:
        if self.message:
            return self.look.trouble if self.trouble else self.look.chosen
        return self.look.trouble if self.finding else self.look.faint

    def _wrapped(self, text: str, above: int) -> list[str]:
        room = max(self.wide - 2 - (self.kept_free if self.message else 0), 1)
        return list(_wrapped(text, room, 1 + above))


@lru_cache(maxsize=64)
def _wrapped(text: str, room: int, most: int) -> tuple[str, ...]:
    """A text in lines; remembered, as it is asked for several times a key."""
    return tuple(wrap(text, room, max_lines=most, break_on_hyphens=False, placeholder=MORE))


@lru_cache(maxsize=64)
def _in_pens(texts: tuple[str, ...], pen: Pen, ground: Pen, width: int) -> tuple[Line, ...]:
    """Texts as lines; remembered likewise."""
    canvases = [Canvas(width, ground) for _ in texts]
    for canvas, text in zip(canvases, texts, strict=True):
        canvas.put(1, text, pen)
    return tuple(canvas.line() for canvas in canvases)


def finding_line(score: Score, finding: Finding) -> str:
    """A finding as one line: sign, place, severity, words."""
    number = display_number(score, finding.place.measure)
    where = f"m{number} {count_name(score, finding.place)}"
    severity = finding.severity.value
    return f"{SIGNS[severity]} {where:<8} {severity}: {finding.message}"


class Findings(Part):
    """The findings nearest to the cursor in score order, the next one bright: under the score on a tall screen.

    On a wide one they stand beside it, in full, with remedies for the next one.
    """

    SHARE, LOWEST = 18, 36
    """The part of a screen's lines that it takes, and the lines that the screen must have."""

    BESIDE, WIDE_FROM = 48, 150
    """Cells that it takes beside the score, and those of a screen that is wide enough."""

    beside = False

    def paint(self) -> list[Line]:
        """As many as there is room for; those at and behind the cursor, and one that lies before it."""
        session, room = self.session, self.high
        advice = session.hand.advice
        if advice is None or advice.findings is None or session.hand.needs_advice:
            return self.lines
        found = advice.findings
        following = sum(finding.place < session.here.cursor.place for finding in found)
        first = max(min(following - 1, len(found) - room), 0)
        texts = [] if found or not self.beside else [("nothing to fix", self.look.faint)]
        for number, finding in enumerate(found[first : first + room], first):
            pen = self.look.chosen if number == following else self.look.faint
            texts += [(text, pen) for text in self._texts(finding, remedies=number == following)]
        texts += [("", self.look.faint)] * (room - len(texts) if self.beside else 0)
        return [self._line(text, pen) for text, pen in texts[:room]]

    def _texts(self, finding: Finding, *, remedies: bool) -> list[str]:
        """The lines of a finding; beside the score with all its words, and the remedies that are known."""
        line = finding_line(self.session.score, finding)
        if not self.beside:
            return [line]
        ways = (self.session.hand.remedies_known(finding) or ()) if remedies else ()
        first = next((way for way in ways if way.is_unasked), None)
        words = [line, *(f"{'&' if way is first else ' '} {way.label}" for way in ways)]
        indents = ["  ", *["    "] * len(ways)]
        return [
            text
            for words_of, indent in zip(words, indents, strict=True)
            for text in wrap(
                words_of,
                max(self.wide - 3, 20),
                initial_indent=indent[2:],
                subsequent_indent=indent,
                break_on_hyphens=False,
            )
        ]

    def _line(self, text: str, pen: Pen) -> Line:
        canvas = Canvas(self.wide, self.look.plain)
        if self.beside:
            canvas.put(0, "│", self.look.faint)
        room = self.wide - 2 * self.beside
        canvas.put(2 * self.beside, text if len(text) <= room else text[: max(room - 1, 0)] + "…", pen)
        return canvas.line()
