"""Keys: their names in key bindings, and how one is carried out on the score."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.tui.entry import Entry
from tabterm.tui.painter import MARGIN
from tabterm.workspace.registry import REGISTRY

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.events import Key

    from tabterm.page.rows import Row, Words
    from tabterm.tui.front import Front
    from tabterm.tui.hand_watch import HandWatch
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.session import Session

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
        self.entry = Entry(front.score_view, self.press, self._say_what_waited)

    async def take(self, event: Key) -> None:
        """Carry a key out, or type it where words are being typed."""
        if self.entry.is_open:
            await self.entry.take_key(event)
        else:
            self.press(key_name(event))

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
        x, y = self._front.cursor_cell() or (MARGIN, self._front.score_view.region.y)
        x = MARGIN if words.whole_measure else x
        width = min(words.width, self._front.score_view.app.size.width - x)
        self.entry.open(value, lambda answer: self.run(command, answer), (x, y, width))

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a line until the next key; while words are typed it waits, so that their question stays."""
        if self.entry.is_open:
            self._waiting.append(text)
        else:
            self._front.message_line.say(text, trouble=trouble)

    def _say_what_waited(self) -> None:
        """Take the question off the bottom line, and say what came meanwhile."""
        self._front.message_line.say("; ".join(self._waiting), trouble=True)
        self._waiting.clear()
        self._watch.sync_lines()

    def ask(self, question: str, suggestion: str, answer: Callable[[str], None]) -> None:
        """Put a question on the bottom line."""
        size, line = self._front.score_view.app.size, self._front.message_line
        line.say(f"{question}:", keep_free=min(ROOM_FOR_ANSWER, size.width // 3))
        line.sync()
        x = len(line.texts()[-1]) + 2

        def answered(text: str) -> None:
            answer(text)
            self._sync()

        self.entry.open(suggestion, answered, (x, size.height - 1, size.width - x), offered=True)
