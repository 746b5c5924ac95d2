"""The line that words are typed on: at the bottom for a question, or in place over a row of the score."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.message import Message
from textual.widgets import Input

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.binding import BindingType


class Entry(Input):
    """An input of one line that is shown only while it is used; Escape calls it off."""

    DEFAULT_CSS = """
    Entry { display: none; layer: over; height: 1; border: none; padding: 0; }
    Entry.open { display: block; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "call_off", "call off"),
        ("tab", "leave('tab')", "next measure"),
        ("up", "leave('up')", "up"),
        ("down", "leave('down')", "down"),
    ]

    class Left(Message):
        """The entry is closed.

        Attributes:
            key: The key that closed it, to be carried out on the score; "" for Enter and Escape.
        """

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    def __init__(self) -> None:
        super().__init__(compact=True, select_on_focus=False)
        self._answer: Callable[[str], None] | None = None

    def open(self, value: str, answer: Callable[[str], None], at: tuple[int, int, int]) -> None:
        """Show the line at (x, y) with a width in cells, with a value to change; `answer` gets the result."""
        x, y, width = at
        self._answer = answer
        self.value = value
        self.cursor_position = len(value)
        self.styles.offset = (x, y)
        self.styles.width = width
        self.add_class("open")
        self.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter: take the answer."""
        event.stop()
        self._close("", take=True)

    def action_call_off(self) -> None:
        """Escape: forget it."""
        self._close("", take=False)

    def action_leave(self, key: str) -> None:
        """A key that leads away: take the answer and go."""
        self._close(key, take=True)

    def _close(self, key: str, *, take: bool) -> None:
        answer, value = self._answer, self.value
        self._answer = None
        self.remove_class("open")
        if take and answer is not None:
            answer(value)
        self.post_message(self.Left(key))
