"""The single lines round the score: status above, message below, and the neck drawn to scale."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING

from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tabterm.instrument import fret_distance_mm
from tabterm.score.place import count_name, display_number
from tabterm.tui.canvas import Canvas
from tabterm.workspace.cursor import Row

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.style import Style

    from tabterm.hand.effort import Stop
    from tabterm.hand.state import HandState
    from tabterm.score.duration import Duration
    from tabterm.score.model import Score
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session

STEP_NAMES = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd", 64: "64th"}


class Line(Widget):
    """A widget of one or more lines that is painted only when its text has changed."""

    def __init__(self, session: Session, look: Look) -> None:
        super().__init__()
        self.session = session
        self.look = look
        self.lines: list[Strip] = []

    def paint(self) -> list[Strip]:
        """The lines as they should be now."""
        raise NotImplementedError

    def sync(self) -> None:
        """Repaint what has changed."""
        before, self.lines = self.lines, self.paint()
        if len(before) != len(self.lines):
            self.refresh()
            return
        for y, (old, new) in enumerate(zip(before, self.lines, strict=True)):
            if old != new:
                self.refresh(Region(0, y, self.size.width, 1))

    def on_resize(self) -> None:
        """Paint for the new width."""
        self.lines = []
        self.sync()

    def render_line(self, y: int) -> Strip:
        """One line of the widget."""
        if y < len(self.lines):
            return self.lines[y]
        return Strip.blank(self.size.width, self.look.plain)


def step_name(step: Duration) -> str:
    """A step in words: `eighth`, `dotted quarter`, `eighth 3:2`."""
    dots = ("", "dotted ", "double-dotted ")[step.dots]
    return f"{dots}{STEP_NAMES.get(step.value, step.value)}{f' {step.tuplet}' if step.tuplet else ''}"


class StatusLine(Line):
    """Title, key, metre and tempo; where the cursor is; what the next key writes."""

    DEFAULT_CSS = "StatusLine { height: 1; }"

    def paint(self) -> list[Strip]:
        """One line: what is open at the left, where the cursor is at the right."""
        width = self.size.width
        canvas = Canvas(width, self.look.bar)
        right = self._where()
        left = self._what()
        room = width - len(right) - 3
        canvas.put(1, left if len(left) <= room else left[: max(room - 1, 0)] + "…", self.look.bar)
        canvas.put(width - len(right) - 1, right, self.look.bar)
        return [canvas.strip()]

    def _what(self) -> str:
        session = self.session
        score, document = session.score, session.document
        index = min(session.cursor.place.measure, len(score.measures) - 1)
        name = score.head.title or document.path.name
        flag = " (read-only)" if document.read_only else " *" if document.unsaved else ""
        return f"{name}{flag}  {score.keys[index]}  {score.metres[index]}  {score.tempos[index]}"

    def _where(self) -> str:
        session = self.session
        cursor, score = session.cursor, session.score
        if cursor.place.measure < len(score.measures):
            place = f"m{display_number(score, cursor.place.measure)} {count_name(score, cursor.place)}"
        else:
            place = "after the end"
        letters = score.head.instrument.course_letters()
        row = f"course {letters[cursor.course - 1]}" if cursor.row is Row.COURSE else cursor.row.value
        return f"{self._hearing()}{place}  {row}  step {step_name(session.step)}"

    def _hearing(self) -> str:
        transport = self.session.transport
        parts = [f"{transport.tempo_percent}%"] if transport.tempo_percent != 100 else []
        parts += [word for word, on in (("loop", transport.loop), ("click", transport.click)) if on]
        parts += [f"count-in {transport.count_in}"] if transport.count_in else []
        parts += ["selecting"] if self.session.anchor is not None else []
        return " ".join(parts) + "  " if parts else ""


class MessageLine(Line):
    """What there is to say: an answer to the last key, else the finding here, else the nearest help.

    A long answer begins on the lines of the neck above.
    """

    DEFAULT_CSS = "MessageLine { height: 1; }"
    HINT = "? keys   ctrl+p commands   space play   ctrl+s save   ctrl+q quit"

    def __init__(self, session: Session, look: Look) -> None:
        super().__init__(session, look)
        self.message = ""
        self.trouble = False
        self.finding = ""
        self.to_mend = 0

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a message until the next key."""
        self.message, self.trouble = text, trouble

    def paint(self) -> list[Strip]:
        """One line: the last one of an answer."""
        if self.message:
            return self.answer()[-1:]
        text, style = (self.finding, self.look.trouble) if self.finding else (self.HINT, self.look.faint)
        if self.to_mend:
            text = f"{self.to_mend} to mend   {text}"
        room = self.size.width - 2
        return [self._line(text if len(text) <= room else text[: room - 1] + "…", style)]

    def answer(self) -> list[Strip]:
        """The answer to the last key, at most three lines."""
        style = self.look.trouble if self.trouble else self.look.chosen
        texts = wrap(self.message, max(self.size.width - 2, 1), max_lines=3, placeholder=" …")
        return [self._line(text, style) for text in texts]

    def _line(self, text: str, style: Style) -> Strip:
        canvas = Canvas(self.size.width, self.look.plain)
        canvas.put(1, text, style)
        return canvas.strip()


class NeckStrip(Line):
    """The neck with its real fret distances, the fingers of the moment on it, and the reach in words."""

    DEFAULT_CSS = "NeckStrip { height: 2; }"

    def __init__(self, session: Session, look: Look, below: MessageLine) -> None:
        super().__init__(session, look)
        self._below = below
        self._hand: list[Strip] = []

    def paint(self) -> list[Strip]:
        """Two lines: the neck and what the hand does, or the beginning of an answer too long for one line."""
        if not (self.session.needs_advice and self._hand):
            self._hand = self._neck_and_hand()
        over = self._below.answer()[:-1]
        return self._hand[: 2 - len(over)] + over

    def on_resize(self) -> None:
        """Paint for the new width."""
        self._hand = []
        super().on_resize()

    def _neck_and_hand(self) -> list[Strip]:
        from tabterm.hand.state import HandState, hand_at

        score, place = self.session.score, self.session.cursor.place
        inside = place.measure < len(score.measures) and not self.session.needs_advice
        state = hand_at(score, self.session.hand(), place) if inside else HandState()
        return [self._neck(state), self._words(state)]

    def _neck(self, state: HandState) -> Strip:
        canvas = Canvas(self.size.width, self.look.faint)
        canvas.put(0, "neck", self.look.faint)
        score = self.session.score
        wires = fret_cells(score, self.size.width - 10)
        if state.frame is not None and 0 < state.frame < len(wires):
            canvas.put(8 + wires[state.frame - 1] + 1, FRAME_SIGN, self.look.plain)
        for fret, x in enumerate(wires):
            canvas.put(8 + x, "‖" if fret == 0 else "|", self.look.faint)
            if fret and x - wires[fret - 1] > len(str(fret)) + 1:
                middle = (wires[fret - 1] + x + 1 - len(str(fret)) + 1) // 2
                canvas.put(8 + middle, str(fret), self.look.faint)
        for fret, text, style in neck_marks(score, state, self.look):
            if fret < len(wires):
                canvas.put(8 + max(wires[fret] - len(text), -4 if fret == 0 else wires[fret - 1] + 1), text, style)
        return canvas.strip()

    def _words(self, state: HandState) -> Strip:
        canvas = Canvas(self.size.width, self.look.plain)
        canvas.put(0, "hand", self.look.faint)
        words = hand_in_words(state, self.session.score.head.instrument.course_letters())
        canvas.put(8, words, self.look.plain)
        return canvas.strip()


FRAME_SIGN = "["
"""Where the index finger has its own place."""


def fret_cells(score: Score, room: int) -> tuple[int, ...]:
    """Cell of the nut and of each fret, to scale; the last fret is at the end of the room."""
    instrument = score.head.instrument
    whole = fret_distance_mm(instrument.scale_length_mm, instrument.frets)
    return tuple(
        round(fret_distance_mm(instrument.scale_length_mm, fret) / whole * (room - 1))
        for fret in range(instrument.frets + 1)
    )


def neck_marks(score: Score, state: HandState, look: Look) -> list[tuple[int, str, Style]]:
    """What is drawn at which fret: finger and course of what is stopped now, rings on or stands ready."""
    letters = score.head.instrument.course_letters()
    groups = ((state.held + state.ready, look.faint), (state.notes, look.cursor))
    marks: list[tuple[int, str, Style]] = []
    for stops, style in groups:
        texts: dict[int, str] = {}
        for course, fret, finger in stops:
            texts[fret] = texts.get(fret, "") + (str(finger) if finger else "") + letters[course - 1]
        marks.extend((fret, text, style) for fret, text in texts.items())
    return marks


def hand_in_words(state: HandState, letters: tuple[str, ...]) -> str:
    """Fingers, frets, reach, what stays down and the next shift as one phrase."""
    if state.frame is None:
        return "nothing stopped"
    parts = [_stopped_in_words(state, letters)]
    if state.reach_mm > 0:
        parts.append(f"reach {state.reach_mm:.0f} mm of {state.limit_mm:.0f}: {state.verdict}")
    if state.stays:
        parts.append(f"stays {_stops_in_words(state.stays, letters)}")
    if state.shift is not None:
        shift = state.shift
        direction = "up" if shift.mm > 0 else "down"
        parts.append(f"then {direction} {abs(shift.mm):.0f} mm to fret {shift.to_fret} in {shift.free_ms:.0f} ms")
    return ", ".join(parts)


def _stopped_in_words(state: HandState, letters: tuple[str, ...]) -> str:
    stopped = [stop for stop in state.notes if stop.fret]
    if not stopped:
        return f"open, hand at fret {state.frame}"
    return _stops_in_words(stopped, letters)


def _stops_in_words(stops: Iterable[Stop], letters: tuple[str, ...]) -> str:
    """Course, finger and fret of each stop: `A: 2@3`."""
    return " ".join(f"{letters[course - 1]}: {finger}@{fret}" for course, fret, finger in stops)
