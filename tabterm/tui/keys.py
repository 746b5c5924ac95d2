"""Keys: their names in key bindings, how one is carried out on the score, and the line that words are typed on."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.widgets.input import Selection

from tabterm.tui.terminal.typed import Typing
from tabterm.tui.widgets import Answers
from tabterm.workspace.keymap import ANYWHERE
from tabterm.workspace.registry import REGISTRY

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.binding import BindingType
    from textual.events import Key
    from textual.widget import Widget

    from tabterm.page.rows import Row, Words
    from tabterm.tui.front import Front
    from tabterm.tui.hand_watch import HandWatch
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.session import Session


LEADING = frozenset({"find-command", "help", "save", "quit"})
"""Commands whose keys do the same wherever something lies over the score, or a word is typed."""

LONGEST = 4000
"""Characters of an answer at most: Python reads no number of more than 4300 digits."""


class Entry(Typing):
    """An input of one line that is shown only while it is used; Escape calls it off."""

    DEFAULT_CSS = """
    Entry { display: none; layer: over; height: 1; border: none; padding: 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        ("enter", "leave('')", "accept"),
        ("escape", "call_off", "cancel"),
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

    def leave(self, *, take: bool) -> None:
        """Take the answer, or forget it."""
        self._close("", take=take)

    def action_call_off(self) -> None:
        """Escape: forget it."""
        self.leave(take=False)

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


ROOM_FOR_ANSWER = 18
"""Cells that are kept for the answer behind a question."""


def key_name(event: Key) -> str:
    """The character a key types, or its name (`left`, `ctrl+s`)."""
    if event.character == " ":
        return "space"
    if event.is_printable and event.character is not None:
        return event.character
    return event.key


class Keys:
    """Carries keys out on the row where the cursor is; words are typed on a line of their own."""

    def __init__(
        self, session: Session, keymap: Keymap, front: Front, watch: HandWatch, sync: Callable[[], None]
    ) -> None:
        """Hold `watch` before a key, and call `sync` when one may have changed something."""
        self._session = session
        self._keymap = keymap
        self._front = front
        self._watch = watch
        self._sync = sync
        self._waiting: list[str] = []
        self._in_place: Words | None = None
        self.entry = Entry(front.score_view, self.press, self._when_closed)
        self.answers = Answers(session, front.score_view.painter.look)

    async def take(self, event: Key) -> None:
        """Carry a key out, or type it where words are being typed."""
        if not self.entry.is_open:
            self.press(key_name(event))
        elif not event.is_printable and self._keymap.find(ANYWHERE, event.key) in LEADING:
            self.entry.leave(take=self._in_place is not None)
            self.press(event.key)
        elif leads := self._leads_on(event.character or ""):
            self.entry.action_leave(leads)
            if event.character != " ":
                self.press(key_name(event))
        elif event.key not in {"up", "down"} or not self.answers.move(1 if event.key == "down" else -1):
            before = self.entry.value
            if event.key == "enter":
                self.entry.value = self.answers.taken(before)
            await self.entry.take_key(event)
            if self.entry.is_open and self.entry.value != before:
                self.answers.narrow(self.entry.value)

    def _leads_on(self, typed: str) -> str:
        """The key that leads on to the next word of a row, where a character cannot belong to this one."""
        words = self._in_place
        at_end = self.entry.cursor_position == len(self.entry.value)
        return words.goes_on(self.entry.value, typed) if words is not None and typed and at_end else ""

    def press(self, key: str) -> None:
        """Carry a key out on the row where the cursor is."""
        self._watch.hold()
        self._session.begin_proposing()
        row = self._session.here.cursor.row
        binding = self._keymap.find(row.name, key)
        if self._types_words(row, key) or binding is None:
            return
        name, _, word = binding.partition(" ")
        self._front.message_line.say("")
        self.run(name, word or None)

    def run(self, name: str, word: str | None = None) -> None:
        """Carry a command out, by its name."""
        self._session.run(REGISTRY[name], word)
        self._sync()

    def _types_words(self, row: Row, key: str) -> bool:
        """On the rows of words a letter begins the word; True when it did."""
        typed = " " if key == "space" else key
        if row.words is None or not row.words.starts(typed):
            return False
        begun = row.words.begun(self._session.score, self._session.here.cursor.place)
        self._open_in_place(row.name, row.words, begun + typed)
        return True

    def _open_in_place(self, command: str, words: Words, value: str) -> None:
        """Type the word of a command over the cell where the cursor is."""
        margin = self._front.score_view.painter.margin
        x, y = self._front.cursor_cell() or (margin, self._front.score_view.region.y)
        x = margin if words.whole_measure else x
        width = min(words.width, self._front.score_view.app.size.width - x)
        self._in_place = words
        self.entry.open(value, lambda answer: self.run(command, answer), (x, y, width))

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a line until the next key; while words are typed it waits, so that their question stays."""
        if self.entry.is_open:
            self._waiting.append(text)
        else:
            self._front.message_line.say(text, trouble=trouble)

    def _when_closed(self) -> None:
        self.answers.open(())
        self._say_what_waited()

    def _say_what_waited(self) -> None:
        """Take the question off the bottom line, and say what came meanwhile."""
        self._front.message_line.say("; ".join(self._waiting), trouble=True)
        self._waiting.clear()
        self._watch.sync_lines()

    def ask(
        self, question: str, suggestion: str, answer: Callable[[str], None], choices: Sequence[str] = ()
    ) -> None:
        """Put a question on the bottom line, and list the choices over it."""
        size, line = self._front.score_view.app.size, self._front.message_line
        self._in_place = None
        line.say(f"{question}:", keep_free=min(ROOM_FOR_ANSWER, size.width // 3))
        line.sync()
        x = len(line.texts()[-1]) + 2

        def answered(text: str) -> None:
            answer(text)
            self._sync()

        self.entry.open(suggestion, answered, (x, size.height - 1, size.width - x), offered=True)
        self.answers.open(choices, len(line.texts()))
