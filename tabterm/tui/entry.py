"""The line that words are typed on: at the bottom for a question, or in place over a row of the score."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.widgets.input import Selection

from tabterm.tui.terminal.typed import Typing

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.binding import BindingType
    from textual.widget import Widget

LONGEST = 4000
"""Characters of an answer at most: Python reads no number of more than 4300 digits."""


class Entry(Typing):
    """An input of one line that is shown only while it is used; Escape calls it off."""

    DEFAULT_CSS = """
    Entry { display: none; layer: over; height: 1; border: none; padding: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        ("enter", "leave('')", "take it"),
        ("escape", "call_off", "call off"),
        ("tab", "leave('tab')", "next measure"),
        ("up", "leave('up')", "up"),
        ("down", "leave('down')", "down"),
    ]

    def __init__(self, owner: Widget, press: Callable[[str], None], closed: Callable[[], None]) -> None:
        """When it is closed, give the focus back to `owner`, a key that led away to `press`, and call `closed`."""
        super().__init__(compact=True, max_length=LONGEST)
        self._owner = owner
        self._press = press
        self._when_closed = closed
        self._answer: Callable[[str], None] | None = None

    @property
    def is_open(self) -> bool:
        """Whether something is being typed on it."""
        return self._answer is not None

    def open(
        self, value: str, answer: Callable[[str], None], at: tuple[int, int, int], *, offered: bool = False
    ) -> None:
        """Show the line at (x, y) with a width in cells, with a value to change; `answer` gets the result.

        A value that is only `offered` gives way to the first character typed; an arrow, Home or End keeps it.
        """
        x, y, width = at
        self._answer = answer
        self.value = value
        self.selection = Selection(0 if offered else len(value), len(value))
        self.styles.offset = (x, y)
        self.styles.width = width
        self.display = True
        self.screen.set_focus(self)

    def action_call_off(self) -> None:
        """Escape: forget it."""
        self._close("", take=False)

    def action_leave(self, key: str) -> None:
        """A key that leads away: take the answer and go."""
        self._close(key, take=True)

    def _close(self, key: str, *, take: bool) -> None:
        answer, value = self._answer, self.value
        self._answer = None
        self.display = False
        self.screen.set_focus(self._owner)
        self._when_closed()
        if take and answer is not None:
            answer(value)
        if key:
            self._press(key)
