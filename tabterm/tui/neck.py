"""The neck drawn to scale, with the hand of the moment on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.instrument import fret_distance_mm
from tabterm.tui.canvas import Canvas
from tabterm.tui.lines import MessageLine, TextLine

if TYPE_CHECKING:
    from rich.style import Style
    from textual.strip import Strip

    from tabterm.hand.state import HandState
    from tabterm.score.model import Score
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session


class NeckStrip(TextLine):
    """The neck with its real fret distances, the fingers of the moment on it, and the reach in words."""

    DEFAULT_CSS = "NeckStrip { height: 2; }"

    def __init__(self, session: Session, look: Look, below: MessageLine) -> None:
        super().__init__(session, look)
        self._below = below
        self._hand: list[Strip] = []

    def paint(self) -> list[Strip]:
        """Two lines: the neck and what the hand does, or the beginning of what is too long for the line below."""
        if not (self.session.hand.needs_advice and self._hand and self._hand[0].cell_length == self.size.width):
            self._hand = self._neck_and_hand()
        over = self._below.said()[:-1][-2:]
        return self._hand[: 2 - len(over)] + over

    def _neck_and_hand(self) -> list[Strip]:
        score, place = self.session.score, self.session.here.cursor.place
        state = None
        if place.measure < len(score.measures) and not self.session.hand.needs_advice:
            from tabterm.hand.state import hand_at

            state = hand_at(score, self.session.hand.fingering(), place)
        return [self._neck(state), self._words(state)]

    def _neck(self, state: HandState | None) -> Strip:
        canvas = Canvas(self.size.width, self.look.faint)
        canvas.put(0, "neck", self.look.faint)
        score = self.session.score
        wires = fret_cells(score, self.size.width - 10)
        if state is not None and state.frame is not None and 0 < state.frame < len(wires):
            canvas.put(8 + wires[state.frame - 1] + 1, FRAME_SIGN, self.look.plain)
        marks = [] if state is None else neck_marks(score, state, self.look)
        taken = {fret: len(text) + 1 for fret, text, _ in marks}
        for fret, x in enumerate(wires):
            canvas.put(8 + x, "‖" if fret == 0 else "|", self.look.faint)
            number = str(fret)
            middle = (wires[fret - 1] + x + 1 - len(number) + 1) // 2
            if fret and x - wires[fret - 1] > len(number) + 1 and middle + len(number) <= x - taken.get(fret, 0):
                canvas.put(8 + middle, number, self.look.faint)
        for fret, text, style in marks:
            if fret < len(wires):
                canvas.put(8 + max(wires[fret] - len(text), -4 if fret == 0 else wires[fret - 1] + 1), text, style)
        return canvas.strip()

    def _words(self, state: HandState | None) -> Strip:
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
    groups = ((state.held + state.ready, look.faint), (state.notes, look.stopped))
    marks: list[tuple[int, str, Style]] = []
    for stops, style in groups:
        texts: dict[int, str] = {}
        for course, fret, finger in stops:
            texts[fret] = texts.get(fret, "") + (str(finger) if finger else "") + letters[course - 1]
        marks.extend((fret, text, style) for fret, text in texts.items())
    return marks


def hand_in_words(state: HandState | None, letters: tuple[str, ...]) -> str:
    """Where the hand is, its reach (and what it asks beyond the comfortable), what stays down, the next shift."""
    if state is None or state.frame is None:
        return "nothing stopped"
    parts = [f"at fret {state.frame}"]
    if state.reach_mm > 0:
        beyond = f": {state.verdict}" if state.reach_mm > state.limit_mm else ""
        parts.append(f"reach {state.reach_mm:.0f} mm of {state.limit_mm:.0f}{beyond}")
    if state.stays:
        stays = " ".join(f"{letters[course - 1]}: {finger}@{fret}" for course, fret, finger in state.stays)
        parts.append(f"stays {stays}")
    if state.shift is not None:
        shift = state.shift
        direction = "up" if shift.mm > 0 else "down"
        parts.append(f"then {direction} {abs(shift.mm):.0f} mm to fret {shift.to_fret} in {shift.free_ms:.0f} ms")
    return ", ".join(parts)
