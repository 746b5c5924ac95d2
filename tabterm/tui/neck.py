"""The neck drawn to scale, with the hand of the moment on it."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from tabterm.instrument import fret_distance_mm
from tabterm.tui.canvas import Canvas
from tabterm.tui.lines import Message, Part

if TYPE_CHECKING:
    from tabterm.hand.state import HandState
    from tabterm.score.model import Score
    from tabterm.score.place import Place
    from tabterm.tui.canvas import Line
    from tabterm.tui.terminal.brush import Pen
    from tabterm.tui.theme import Look


class Neck(Part):
    """The neck with its real fret distances, the fingers of the moment on it, and the reach in words.

    On a tall screen every course has a line of its own, with the notes of the chord as degrees, the frame of the
    hand, what stays down and where the hand goes next.
    """

    TALL_FROM = 36
    """Lines of a screen that has room for all courses."""

    MOST_KEPT = 256
    """Places of which the lines are kept for when the cursor comes back."""

    below: Message
    tall = False
    _hand: list[Line] | None = None
    _kept: tuple[tuple[object, ...], dict[tuple[Place, int], list[Line]]] | None = None

    def paint(self) -> list[Line]:
        """The neck and what the hand does, or the beginning of what is too long for the line below."""
        if not (self.session.hand.needs_advice and self._hand and self._hand[0].width == self.wide):
            self._hand = self._lines_here()
        over = self.below.said()[:-1][-2:]
        return self._hand[: len(self._hand) - len(over)] + over

    def _lines_here(self) -> list[Line]:
        """The lines of the cursor's place, drawn once for what they are drawn from."""
        session, cursor = self.session, self.session.here.cursor
        drawn_from = (session.score, session.player, session.hand.advice, self.wide, self.tall)
        if self._kept is None or any(
            one is not other for one, other in zip(drawn_from, self._kept[0], strict=True)
        ):
            self._kept = drawn_from, {}
        lines, asked = self._kept[1], (cursor.place, cursor.course * self.tall)
        if asked not in lines:
            if len(lines) >= self.MOST_KEPT:
                lines.clear()
            lines[asked] = self._neck_and_hand()
        return lines[asked]

    def _neck_and_hand(self) -> list[Line]:
        score, place = self.session.score, self.session.here.cursor.place
        state = None
        if place.measure < len(score.measures) and not self.session.hand.needs_advice:
            from tabterm.hand.state import hand_at

            state = hand_at(score, self.session.hand.fingering(), place)
        neck = self._courses(state) if self.tall else [self._neck(state)]
        return [*neck, self._words(state)]

    def _courses(self, known: HandState | None) -> list[Line]:
        """A line of fret numbers with the frame of the hand and its next one, and one for each course."""
        from tabterm.hand.state import HandState

        state = known or HandState()
        instrument = self.session.score.head.instrument
        wires = fret_cells(self.session.score, self.wide - 10)
        courses = range(1, instrument.course_count + 1)
        return [
            self._frets(wires, state),
            *(self._course(wires, state, course, instrument.course_letters()[course - 1]) for course in courses),
        ]

    def _frets(self, wires: tuple[int, ...], state: HandState) -> Line:
        canvas = Canvas(self.wide, self.look.faint)
        canvas.put(0, "neck", self.look.faint)
        first, last = state.frame or 0, state.last or 0
        for fret in range(1, len(wires)):
            inside = 0 < first <= fret <= last
            if wires[fret] - wires[fret - 1] > len(str(fret)):
                x = 8 + _middle(wires, fret, len(str(fret)))
                canvas.put(x, str(fret), self.look.chosen if inside else self.look.faint)
                if state.shift is not None and fret == state.shift.to_fret:
                    canvas.put(x - 1, SHIFT_SIGN, self.look.trouble)
        if 0 < first < len(wires):
            canvas.put(8 + wires[first - 1] + 1, FRAME_SIGN, self.look.plain)
            canvas.put(8 + wires[last], FRAME_END, self.look.plain)
        return canvas.line()

    def _course(self, wires: tuple[int, ...], state: HandState, course: int, letter: str) -> Line:
        canvas = Canvas(self.wide, self.look.faint)
        here = self.session.here.cursor.course == course
        canvas.put(4, letter, self.look.chosen if here else self.look.faint)
        canvas.put(8, "-" * wires[-1], self.look.faint)
        for fret, x in enumerate(wires):
            canvas.put(8 + x, "‖" if fret == 0 else "|", self.look.faint)
        for fret, degree in self._chord(course).items():
            if fret < len(wires) and (not fret or wires[fret] - wires[fret - 1] > len(degree)):
                canvas.put(_x_on(wires, fret, len(degree)), degree, self.look.degree)
        for stops, pen in ((state.held + state.ready, self.look.chosen), (state.notes, self.look.stopped)):
            for stop in stops:
                if stop[0] == course and stop[1] < len(wires):
                    text = str(stop[2] or 0) + (STAYS_SIGN if stop in state.stays else "")
                    canvas.put(_x_on(wires, stop[1], len(text)), text, pen)
        return canvas.line()

    def _chord(self, course: int) -> dict[int, str]:
        """The notes of the chord in force on a course, as degrees by fret."""
        from tabterm.harmony.spelling import chord_degree, harmony_in_force

        score = self.session.score
        chord, instrument = harmony_in_force(score, self.session.here.cursor.place), score.head.instrument
        if chord is None or chord.root is None:
            return {}
        tones = {chord.tone(interval) for interval in (0, *chord.intervals)}
        pitches = {fret: instrument.pitch(course, fret) for fret in range(instrument.frets + 1)}
        return {
            fret: chord_degree((pitch - chord.root) % 12, chord)
            for fret, pitch in pitches.items()
            if pitch % 12 in tones
        }

    def _neck(self, state: HandState | None) -> Line:
        score = self.session.score
        wires = fret_cells(score, self.wide - 10)
        marks = [] if state is None else neck_marks(score, state, self.look)
        taken = frozenset((fret, len(text) + 1) for fret, text, _ in marks)
        canvas = _bare_neck(wires, self.wide, self.look.faint, taken).copy()
        if state is not None and state.frame is not None and 0 < state.frame < len(wires):
            canvas.put(8 + wires[state.frame - 1] + 1, FRAME_SIGN, self.look.plain)
        for fret, text, pen in marks:
            if fret < len(wires):
                canvas.put(8 + max(wires[fret] - len(text), -4 if fret == 0 else wires[fret - 1] + 1), text, pen)
        return canvas.line()

    def _words(self, state: HandState | None) -> Line:
        canvas = Canvas(self.wide, self.look.plain)
        canvas.put(0, "hand", self.look.faint)
        words = hand_in_words(state, self.session.score.head.instrument.course_letters())
        canvas.put(8, words, self.look.plain)
        return canvas.line()


@lru_cache(maxsize=256)
def _bare_neck(wires: tuple[int, ...], width: int, pen: Pen, taken: frozenset[tuple[int, int]]) -> Canvas:
    """The neck with its frets, and the numbers of those that have room beside the cells taken by fingers."""
    canvas, taken_of = Canvas(width, pen), dict(taken)
    canvas.put(0, "neck", pen)
    for fret, x in enumerate(wires):
        canvas.put(8 + x, "‖" if fret == 0 else "|", pen)
        number = str(fret)
        middle = (wires[fret - 1] + x + 1 - len(number) + 1) // 2
        if fret and x - wires[fret - 1] > len(number) + 1 and middle + len(number) <= x - taken_of.get(fret, 0):
            canvas.put(8 + middle, number, pen)
    return canvas


FRAME_SIGN, FRAME_END = "[", "]"
"""Where the index finger has its own place, and how far the little finger reaches in comfort."""

SHIFT_SIGN = ">"
"""Before the fret of the next frame."""

STAYS_SIGN = "="
"""Behind a finger that is down at the next note, too."""


def _middle(wires: tuple[int, ...], fret: int, wide: int) -> int:
    """Where something so wide stands in the middle of a fret."""
    return (wires[fret - 1] + wires[fret] + 2 - wide) // 2


def _x_on(wires: tuple[int, ...], fret: int, wide: int) -> int:
    """The cell of a mark on a course: in the middle of its fret, or left of the nut."""
    return 8 + _middle(wires, fret, wide) if fret else 8 - wide


def fret_cells(score: Score, room: int) -> tuple[int, ...]:
    """Cell of the nut and of each fret, to scale; the last fret is at the end of the room."""
    return _to_scale(score.head.instrument.scale_length_mm, score.head.instrument.frets, room)


@lru_cache(maxsize=32)
def _to_scale(scale_length_mm: float, frets: int, room: int) -> tuple[int, ...]:
    whole = fret_distance_mm(scale_length_mm, frets)
    return tuple(round(fret_distance_mm(scale_length_mm, fret) / whole * (room - 1)) for fret in range(frets + 1))


def neck_marks(score: Score, state: HandState, look: Look) -> list[tuple[int, str, Pen]]:
    """What is drawn at which fret: finger and course of what is stopped now, rings on or stands ready."""
    letters = score.head.instrument.course_letters()
    groups = ((state.held + state.ready, look.faint), (state.notes, look.stopped))
    marks: list[tuple[int, str, Pen]] = []
    for stops, pen in groups:
        texts: dict[int, str] = {}
        for course, fret, finger in stops:
            texts[fret] = texts.get(fret, "") + (str(finger) if finger else "") + letters[course - 1]
        marks.extend((fret, text, pen) for fret, text in texts.items())
    return marks


def hand_in_words(state: HandState | None, letters: tuple[str, ...]) -> str:
    """Where the hand is, its reach (and what it asks beyond the comfortable), what stays down, the next shift."""
    if state is None or state.frame is None:
        return "no finger down"
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
