"""The widgets round the score: their lines are painted by the parts of `lines` and `neck`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from textual.geometry import Size

from tabterm.tui.canvas import Canvas, blank_line
from tabterm.tui.lines import Findings, Message, Part, Status
from tabterm.tui.neck import Neck
from tabterm.tui.terminal.painted import Painted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.tui.canvas import Line
    from tabterm.tui.theme import Look
    from tabterm.workspace.session import Session


class TextLine(Part, Painted):
    """A widget of one or more lines that is painted only when its text has changed."""

    def __init__(self, session: Session, look: Look) -> None:
        Painted.__init__(self)
        Part.__init__(self, session, look, lambda: self.outer_size)
        self._painted_for = Size(0, 0)

    def sync(self) -> None:
        """Repaint what has changed."""
        before = self._fitting()
        self.lines = self.paint()
        if len(before) != len(self.lines):
            self.refresh()
            return
        self.repaint(y for y, (old, new) in enumerate(zip(before, self.lines, strict=True)) if old != new)

    def _fitting(self) -> list[Line]:
        """The lines, if they were painted for the size that the widget has now."""
        if self._painted_for != self.outer_size:
            self._painted_for, self.lines = self.outer_size, []
        return self.lines

    def on_resize(self) -> None:
        """Paint for the new size what has not been asked for since."""
        self.sync()

    def line(self, y: int) -> Line:
        """One line of the widget; for the new size at once, before the widget is told of it."""
        if not self._fitting():
            self.lines = self.paint()
        return self.lines[y] if y < len(self.lines) else blank_line(self.size.width, self.look.plain)


class StatusLine(Status, TextLine):
    """The status line."""

    DEFAULT_CSS = "StatusLine { height: 1; }"


class MessageLine(Message, TextLine):
    """The message line."""

    DEFAULT_CSS = "MessageLine { height: 1; }"


class NeckStrip(Neck, TextLine):
    """The neck."""

    DEFAULT_CSS = "NeckStrip { height: 2; }"


class Outlook(Findings, TextLine):
    """The findings under the score."""

    DEFAULT_CSS = "Outlook { display: none; }"


class Beside(Findings, TextLine):
    """The findings beside the score."""

    DEFAULT_CSS = "Beside { display: none; height: 100%; }"
    beside = True


class Answers(TextLine):
    """The answers that a question can have, over its lines; those that fit what is typed, the one chosen marked.

    The list and the lines above the last of the question take no more than MOST lines together.
    """

    DEFAULT_CSS = "Answers { display: none; layer: over; position: absolute; }"
    MOST = 8
    NOTHING = "no match in the list; enter uses what you typed"

    def __init__(self, session: Session, look: Look) -> None:
        super().__init__(session, look)
        self._all: tuple[str, ...] = ()
        self._found: tuple[str, ...] = ()
        self._chosen: int | None = None
        self._question = 1

    @property
    def is_open(self) -> bool:
        """Whether any are listed."""
        return bool(self._all)

    def open(self, answers: Sequence[str], question: int = 1) -> None:
        """List these over a question of so many lines; none, and nothing is shown."""
        self._all, self._chosen, self._question = tuple(answers), None, question
        self._list(self._all)

    def narrow(self, typed: str) -> None:
        """List those that have every word typed, or one that begins so; those that begin so themselves first."""
        words = [re.compile(rf"(?<!\w){re.escape(word)}") for word in typed.lower().split()]
        fitting = [answer for answer in self._all if all(word.search(answer.lower()) for word in words)]
        start = typed.strip().lower()
        self._chosen = None
        self._list(tuple(sorted(fitting, key=lambda answer: not answer.lower().startswith(start))))

    def move(self, by: int) -> bool:
        """Choose the next or the previous one; False where there is none."""
        if self._found:
            first = 0 if by > 0 else len(self._found) - 1
            self._chosen = first if self._chosen is None else (self._chosen + by) % len(self._found)
            self.sync()
        return self.is_open

    def taken(self, typed: str) -> str:
        """What Enter takes: the one chosen, what was typed if it is one or nothing fits, the first that fits."""
        if self._chosen is not None:
            return self._found[self._chosen]
        if not typed.strip() or typed in self._all or not self._found:
            return typed
        return self._found[0]

    def _list(self, fitting: tuple[str, ...]) -> None:
        self._found = fitting
        height = self._height()
        self.display = self.is_open
        self.styles.height = height
        self.styles.offset = (0, self.app.size.height - self._question - height)
        self.sync()

    def _height(self) -> int:
        """Lines of the list, between the status line and the question."""
        most = min(self.MOST + 1, self.app.size.height - 1) - self._question
        return min(max(len(self._found), 1), max(most, 1))

    def paint(self) -> list[Line]:
        """As many as there is room for, with the one chosen among them."""
        height = self._height()
        first = max((self._chosen or 0) - height + 1, 0)
        lines = []
        for index, answer in enumerate(self._found[first : first + height], first):
            more, last = len(self._found) - first - height, index == first + height - 1
            text = f"{answer}{f'   … {more} more' if last and more > 0 else ''}"
            lines.append(self._line(text, chosen=index == self._chosen))
        return lines or [self._line(self.NOTHING)]

    def _line(self, text: str, *, chosen: bool = False) -> Line:
        edge = " " if self.session.shown.plain else "│"
        return answer_line(text, self.size.width, self.look, chosen=chosen, edge=edge)


def answer_line(text: str, width: int, look: Look, *, chosen: bool = False, edge: str = "") -> Line:
    """An answer as a line of a list; the one that is chosen is seen to be also without colour."""
    canvas = Canvas(width, look.bar if chosen else look.plain)
    canvas.put(0, ">" if chosen else edge, look.bar if chosen else look.faint)
    canvas.put(2, text, look.bar if chosen else look.plain)
    return canvas.line()
