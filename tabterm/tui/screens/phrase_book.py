"""The phrase book: a line that narrows the list, the tab of the phrase chosen, heard where it would stand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tabterm.errors import TabtermError
from tabterm.formats.text.excerpt import excerpt
from tabterm.hand.proposals import with_hands
from tabterm.harmony.figures import figure_of
from tabterm.piece.phrase_book.book import LIMIT, Book
from tabterm.piece.phrase_book.inserting import bar_at, inserted
from tabterm.piece.phrase_book.wish import setting_at, wish_of
from tabterm.piece.takes import Take
from tabterm.score.place import Place, Span
from tabterm.tui.terminal.typed import Awaited, Typing
from tabterm.workspace.commands.phrase_book import target

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Key

    from tabterm.piece.phrase_book.book import Found
    from tabterm.piece.phrase_book.wish import Wish
    from tabterm.workspace.session import Session

VIEWS = ("all phrases", "phrases that fit the chords here", "phrases like this one")
EMPTY = "your phrase book is empty; the command fill-phrase-book adds phrases"
HELP = "Tab plays it here, Ctrl+T all / fitting / similar, Ctrl+W new ones, Enter inserts, Escape closes"

NEW = "new"
"""The answer that asks for new phrases in place of one of the book."""


class PhraseBookScreen(Awaited["str | None"]):
    """Words narrow the list, arrows choose, Enter inserts; gives the number of the phrase, `NEW`, or None."""

    BINDINGS: ClassVar[list[BindingType]] = [
        ("enter", "choose", "insert"),
        ("escape", "dismiss", "close"),
        ("tab", "hear", "hear"),
        ("ctrl+t", "view", "fits"),
        ("ctrl+w", "choose_new", "new ones"),
        ("down", "move(1)", "next"),
        ("up", "move(-1)", "previous"),
        ("pagedown", "move(8)", "next"),
        ("pageup", "move(-8)", "previous"),
    ]

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self._book = Book()
        self._view = 0
        self._found: list[Found] = []
        self._asked: tuple[str, int] | None = None

    def compose(self) -> ComposeResult:
        """A line to type on, the list, and the phrase that is chosen."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = "Phrase book"
            yield Typing(placeholder="words, #tag, ii-V-I, 6/8, easy, 1,b3,3", compact=True)
            yield Static(id="title", markup=False)
            yield OptionList(compact=True)
            yield Static(id="ways", markup=False)

    def begin(self) -> None:
        """Start with every phrase."""
        self.query_one(OptionList).can_focus = False
        self._fill()

    async def carry_out(self, event: Key) -> None:
        """Type it, or carry out what it is bound to."""
        await self.query_one(Typing).take_key(event)

    def on_input_changed(self) -> None:
        """Narrow the list."""
        self._fill()

    # The list

    def _fill(self) -> None:
        line = self.query_one(Typing).value
        if self._asked == (line, self._view):
            return
        self._asked = line, self._view
        trouble = ""
        try:
            self._found = self._book.find(self._wish(line), LIMIT)
        except TabtermError as error:
            self._found, trouble = [], str(error)
        options = self.query_one(OptionList)
        options.clear_options()
        options.add_options([Option(Text(line_of(each), no_wrap=True)) for each in self._found])
        options.highlighted = 0 if self._found else None
        notes = [trouble, *self._book.notes]
        self._book.notes.clear()
        self.query_one("#title", Static).update("; ".join(filter(None, [self._count(), *notes, HELP])))
        self._show()

    def _count(self) -> str:
        count = f"{VIEWS[self._view]}: {len(self._found)}{'+' * (len(self._found) == LIMIT)}"
        if self._found:
            return count
        empty = self._book.count() == 0
        return EMPTY if empty else f"{VIEWS[self._view]}: none; type less, or press Ctrl+T"

    def _wish(self, line: str) -> Wish:
        wish, score, place = wish_of(line), self._session.score, self._session.here.cursor.place
        if self._view == 1:
            return replace(wish, fits=setting_at(score, bar_at(score, place)))
        return replace(wish, like=figure_of(score, target(self._session))) if self._view == 2 else wish

    def _chosen(self) -> Found | None:
        number = self.query_one(OptionList).highlighted
        return None if number is None or number >= len(self._found) else self._found[number]

    def on_option_list_option_highlighted(self) -> None:
        """Show the phrase."""
        self._show()

    def _show(self) -> None:
        """The phrase as it was kept, with the player's fingers, and what is said of it."""
        sheet, found = self.query_one("#ways", Static), self._chosen()
        if found is None:
            sheet.update("")
            return
        entry = found.entry
        lines = [f"{entry.degrees}   {entry.contour}, {entry.percent:g}% of your hand at {entry.tempo}"]
        lines += [entry.label.remark] if entry.label.remark else []
        try:
            if not self._session.shown.plain:
                score = with_hands(self._book.score(entry.number), self._session.player)
                width = max(sheet.content_size.width, 40)
                tab = excerpt(score, 0, len(score.measures) - 1, width=width, rows=("chord", "finger"))
                lines += tab.rstrip().splitlines()
        except TabtermError as error:
            lines.append(str(error))
        sheet.update("\n".join(lines))

    # What can be done with it

    def action_choose_new(self) -> None:
        """Go on to new phrases."""
        self.dismiss(NEW)

    def action_hear(self) -> None:
        """Play it where it would stand, from the measure before; again: stop."""
        session, found = self._session, self._chosen()
        if session.transport.playing:
            session.transport.stop()
            return
        if found is None:
            return
        try:
            phrase = self._book.score(found.entry.number)
            there = inserted(session.score, session.here.cursor.place, phrase, session.player)
            start = Place(max(there.span.start.measure - 1, 0))
            session.transport.play([Take(there.score, Span(start, there.span.end))], turns=1)
        except TabtermError as error:
            self.query_one("#title", Static).update(str(error))

    def action_view(self) -> None:
        """All of them, those that fit the chords from here on, those like the phrase that is selected."""
        self._view = (self._view + 1) % len(VIEWS)
        self._fill()

    def action_choose(self) -> None:
        """Insert the one that is chosen."""
        self._fill()
        found = self._chosen()
        if found is not None:
            self.dismiss(str(found.entry.number))

    def on_option_list_option_selected(self) -> None:
        """Insert the one that was pointed at."""
        self.action_choose()

    def action_move(self, by: int) -> None:
        """Choose another."""
        options = self.query_one(OptionList)
        if self._found:
            options.highlighted = min(max((options.highlighted or 0) + by, 0), len(self._found) - 1)


def line_of(found: Found) -> str:
    """A phrase in a line of the list."""
    one = found.entry
    near = "" if found.apart is None else f"{found.apart:4.1f}  "
    tags = " ".join(f"#{tag}" for tag in one.label.tags)
    return (
        f"{near}{one.number:>4} {one.label.name:<24.24} {one.chords:<12.12} {one.metre:<4} {one.level:<8} {tags}"
    )
