"""New phrases: five of them as tab, each heard in its place with a key, taken or left."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tabterm.errors import TabtermError
from tabterm.piece.inventing import found_for, in_words, tab_of
from tabterm.tui.keys import key_name
from tabterm.tui.terminal.typed import Awaited
from tabterm.workspace.invention import hear, phrase_meant, take

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.events import Key, Resize

    from tabterm.hand.candidates import Candidate
    from tabterm.workspace.invention import Invention
    from tabterm.workspace.session import Session

NARROWEST = 24
"""Characters of a tab at least."""

LISTED, LISTED_TIGHT = 5, 3
"""Lines of the list that are seen, also where the screen is small; they stand in the style sheet, too."""

LEAST, ALL_ROWS = 5, 9
"""Lines for the courses with their numbers, and for a system with all its rows."""


class InventScreen(Awaited[None]):
    """Up and down choose, space plays, Enter takes; n shows others, left and right another way, Escape closes."""

    KEYS: ClassVar[dict[str, tuple[str, int]]] = {
        "escape": ("leave", 0),
        "ctrl+w": ("leave", 0),
        "enter": ("accept", 0),
        "space": ("hear", 0),
        "n": ("others", 0),
        "down": ("move", 1),
        "up": ("move", -1),
        "right": ("change_way", 1),
        "left": ("change_way", -1),
        "pagedown": ("page", 1),
        "pageup": ("page", -1),
    }
    """What a key does: the name of a method, and its number (0: it takes none)."""

    def __init__(self, session: Session, changed: Callable[[], None]) -> None:
        """Show new phrases of the selection or the phrase at the cursor; `changed` is called when one is taken."""
        super().__init__()
        self._session, self._changed = session, changed
        self._found: tuple[Candidate, ...] = ()
        self._trouble, self._sought, self._page = "", 0, 0

    def compose(self) -> ComposeResult:
        """A title, the list, and the one that is chosen as tab."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = "New phrases (space plays, Enter inserts, n: more, left/right: other ways)"
            yield Static(id="title", markup=False)
            yield OptionList(compact=True)
            yield Static(id="ways", markup=False)

    def begin(self) -> None:
        """Begin to look for phrases."""
        self.query_one(OptionList).can_focus = False
        self._seek(self._session.invention)

    def on_resize(self, _event: Resize) -> None:
        """Draw the tab for the width."""
        self.call_after_refresh(self._draw)

    async def carry_out(self, event: Key) -> None:
        """Carry a key out."""
        name, number = self.KEYS.get(key_name(event), ("", 0))
        if name:
            action = getattr(self, name)
            action(number) if number else action()

    # Finding

    def _seek(self, wish: Invention) -> None:
        """Look for the phrases of a wish beside the keys; what is found for an older one is dropped."""
        self._session.invention = wish
        self._found, self._trouble, self._sought = (), "", self._sought + 1
        self._fill()
        try:
            span = phrase_meant(self._session)
        except TabtermError as error:
            self._take((), str(error), self._sought)
            return
        score, player, number = self._session.score, self._session.player, self._sought

        def work() -> None:
            try:
                found, trouble = found_for(score, player, span, wish.words, seed=wish.seed), ""
            except TabtermError as error:
                found, trouble = (), str(error)
            if self.is_attached:
                self.app.call_from_thread(self._take, found, trouble, number)

        self.run_worker(work, thread=True, exit_on_error=False)

    def _take(self, found: tuple[Candidate, ...], trouble: str, number: int) -> None:
        if number == self._sought:
            self._found, self._trouble = found, trouble
            self._fill()

    # Showing

    def _fill(self) -> None:
        options, self._page = self.query_one(OptionList), 0
        options.clear_options()
        told = f"{self._told()}; "
        lines = (f"{number} {in_words(each).removeprefix(told)}" for number, each in enumerate(self._found, 1))
        options.add_options([Option(Text(line, no_wrap=True)) for line in lines])
        options.highlighted = 0 if self._found else None
        self._draw()

    def _told(self) -> str:
        """What was done to make all of them, where that is the same."""
        told = {each.told for each in self._found}
        return told.pop() if len(told) == 1 else ""

    def _title(self, pages: int) -> str:
        wish = self._session.invention
        waits = "" if self._found or self._trouble else ", looking ..."
        turns = f", part {self._page + 1} of {pages} (page keys)" if pages > 1 else ""
        return f"{wish.words} (seed {wish.seed}){waits}{turns}: {self._told()}".removesuffix(": ")

    def _chosen(self) -> Candidate | None:
        number = self.query_one(OptionList).highlighted
        return None if number is None or number >= len(self._found) else self._found[number]

    def on_option_list_option_highlighted(self) -> None:
        """Show the one that is chosen, from its beginning."""
        self._page = 0
        self._draw()

    def _draw(self) -> None:
        chosen, pages = self._chosen(), [self._trouble]
        if chosen is not None:
            pages = self._pages(chosen)
        self._page = min(max(self._page, 0), len(pages) - 1)
        self.query_one("#ways", Static).update(
            Text(pages[self._page], no_wrap=chosen is not None, overflow="crop")
        )
        self.query_one("#title", Static).update(
            Text(self._title(len(pages)), style="bold", no_wrap=True, overflow="ellipsis")
        )

    def _pages(self, chosen: Candidate) -> list[str]:
        """The tab of a phrase in parts for which there is room under the list: whole systems, one at least."""
        box = self.query_one(Vertical).content_size
        listed = min(len(self._found), LISTED_TIGHT if self.app.has_class("tight") else LISTED)
        room = max(box.height - 2 - listed, LEAST)
        rows = {"rows": ()} if room < ALL_ROWS else {}
        tab = tab_of(chosen, self._session.player, width=max(box.width, NARROWEST), **rows)
        pages: list[str] = []
        for system in (part for part in tab.strip("\n").split("\n\n") if "\n" in part):
            longer = f"{pages[-1]}\n\n{system}" if pages else system
            if pages and longer.count("\n") < room:
                pages[-1] = longer
            else:
                pages.append(system)
        return pages

    # What keys do

    def move(self, by: int) -> None:
        """Choose another; what sounds is the old one."""
        if self._found:
            self._session.transport.stop()
            options = self.query_one(OptionList)
            options.highlighted = min(max((options.highlighted or 0) + by, 0), len(self._found) - 1)

    def page(self, by: int) -> None:
        """Show another part of a phrase that is longer than there is room for."""
        self._page += by
        self._draw()

    def hear(self) -> None:
        """Play the one that is chosen in its place, or stop."""
        chosen = self._chosen()
        if chosen is not None:
            try:
                hear(self._session, chosen)
            except TabtermError as error:
                self._trouble = str(error)
                self.query_one("#title", Static).update(Text(self._trouble, style="bold"))

    def accept(self) -> None:
        """Put the one that is chosen into the score, and close."""
        chosen = self._chosen()
        if chosen is not None:
            take(self._session, chosen)
            self._changed()
            self.dismiss(None)

    def on_option_list_option_selected(self) -> None:
        """Take what was pointed at."""
        self.accept()

    def others(self) -> None:
        """The next five of the same way."""
        self._session.transport.stop()
        self._seek(self._session.invention.others())

    def change_way(self, step: int) -> None:
        """Phrases made in another way."""
        self._session.transport.stop()
        self._seek(self._session.invention.by(step))

    def leave(self) -> None:
        """Close; nothing is changed."""
        self._session.transport.stop()
        self.dismiss(None)
