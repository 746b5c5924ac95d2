"""The list of findings: jump to one, see what a remedy would do, apply it, and go on to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tabterm.hand.finding import Severity
from tabterm.piece.preview import preview
from tabterm.tui.keys import key_name
from tabterm.tui.lines import finding_line
from tabterm.tui.terminal.typed import Awaited, Typing
from tabterm.workspace.commands.trouble import mend
from tabterm.workspace.registry import REGISTRY

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Key

    from tabterm.hand.finding import Finding
    from tabterm.workspace.session import Session

SEVERITIES = tuple(Severity)
DOWN_TO = (Severity.REMARK, Severity.HARD, Severity.IMPOSSIBLE)
"""What the filter goes through: everything, hard and worse, impossible only."""

PREVIEW_WIDTH = 76


class WordFilter(Typing):
    """The line for a word that findings must have; Escape takes what it says as well."""

    BINDINGS: ClassVar[list[BindingType]] = [("enter", "take", "accept"), ("escape", "take", "accept")]

    def __init__(self, taken: Callable[[str], None]) -> None:
        """Give what is typed to `taken`."""
        super().__init__(placeholder="only findings with this word", compact=True)
        self._taken = taken

    def action_take(self) -> None:
        """Done."""
        self._taken(self.value)


class FindingsScreen(Awaited["Finding | None"]):
    """Arrows choose, Enter goes there, a digit applies a remedy; gives the finding to go to, or None."""

    KEYS: ClassVar[dict[str, tuple[str, int]]] = {
        "escape": ("leave", 0),
        "enter": ("go", 0),
        "down": ("move", 1),
        "up": ("move", -1),
        "pagedown": ("move", 8),
        "pageup": ("move", -8),
        "s": ("sort", 0),
        "f": ("filter", 0),
        "/": ("words", 0),
        "p": ("preview", 0),
        "u": ("undo", 0),
        "ctrl+z": ("undo", 0),
        "ctrl+y": ("redo", 0),
        **{str(number): ("mend", number) for number in range(1, 10)},
    }
    """What a key does: the name of a method, and its number (0: it takes none)."""

    def __init__(self, session: Session, mended: Callable[[], None], wonder: Callable[[Finding], None]) -> None:
        """Show the findings of a session; `mended` is called after a remedy, `wonder` asks which ones help."""
        super().__init__()
        self._session = session
        self._mended = mended
        self._wonder = wonder
        self._shown: list[Finding] = []
        self._by_severity = False
        self._down_to = 0
        self._words = ""
        self._previewed: int | None = None

    def compose(self) -> ComposeResult:
        """A title, the list, and what can be done about the one that is chosen."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = "Findings (Enter goes there, u undoes)"
            yield Static(id="title")
            yield OptionList(compact=True)
            yield Static(id="ways")
            yield WordFilter(self._take_words)

    def begin(self) -> None:
        """Start at the finding nearest to the cursor."""
        self.query_one(OptionList).can_focus = False
        self.query_one(WordFilter).display = False
        self._fill()
        here = [n for n, each in enumerate(self._shown) if each.place <= self._session.here.cursor.place]
        self._choose(here[-1] if here else 0)

    async def carry_out(self, event: Key) -> None:
        """Carry a key out."""
        words = self.query_one(WordFilter)
        if words.display:
            await words.take_key(event)
            return
        name, number = self.KEYS.get(key_name(event), ("", 0))
        if name:
            action = getattr(self, name)
            action(number) if number else action()

    # The list

    def _fill(self) -> None:
        found = [each for each in self._session.hand.findings() if self._passes(each)]
        if self._by_severity:
            found.sort(key=lambda each: (SEVERITIES.index(each.severity), each.place))
        self._shown = found
        options = self.query_one(OptionList)
        options.clear_options()
        lines = (Text(finding_line(self._session.score, each), no_wrap=True) for each in found)
        options.add_options([Option(line) for line in lines])
        self.query_one("#title", Static).update(Text(self._title(), style="bold"))

    def _title(self) -> str:
        order = "by severity" if self._by_severity else "by place"
        kinds = ("all", "hard and worse", "impossible only")[self._down_to]
        words = f', "{self._words}"' if self._words else ""
        number = f"{len(self._shown)} finding{'' if len(self._shown) == 1 else 's'}"
        return f"{number}, {order} (s), {kinds} (f){words or ', any words'} (/)"

    def _passes(self, finding: Finding) -> bool:
        bad_enough = SEVERITIES.index(finding.severity) <= SEVERITIES.index(DOWN_TO[self._down_to])
        return bad_enough and self._words.lower() in finding_line(self._session.score, finding).lower()

    def _choose(self, number: int) -> None:
        options = self.query_one(OptionList)
        options.highlighted = min(max(number, 0), len(self._shown) - 1) if self._shown else None
        self._show_ways()

    def _chosen(self) -> Finding | None:
        number = self.query_one(OptionList).highlighted
        return None if number is None or number >= len(self._shown) else self._shown[number]

    def on_option_list_option_highlighted(self) -> None:
        """Show what can be done about the one chosen."""
        self._previewed = None
        self._show_ways()

    # Remedies

    def _show_ways(self) -> None:
        finding = self._chosen()
        ways = self.query_one("#ways", Static)
        ways.set_class(self._previewed is not None, "compared")
        if finding is None:
            ways.update(Text("nothing to fix"))
            return
        remedies = self._session.hand.remedies_known(finding)
        if remedies is None:
            self._wonder(finding)
            ways.update(Text("trying remedies"))
            return
        lines = [f"{number} {remedy.label}" for number, remedy in enumerate(remedies[:9], 1)]
        text = (
            "   ".join(lines) + "   (a digit applies, p previews)" if lines else "no remedy helps: fix it by hand"
        )
        if self._previewed is not None and remedies:
            number = self._previewed % len(remedies)
            changed = preview(self._session.score, self._session.player, finding, remedies[number], PREVIEW_WIDTH)
            text += f"\n{number + 1} {remedies[number].label}\n" + "\n".join(changed)
        ways.update(Text(text))

    def take_remedies(self, finding: Finding) -> None:
        """The remedies of a finding that help are known now."""
        if finding is self._chosen():
            self._show_ways()

    def mend(self, number: int) -> None:
        """Apply a remedy of the finding chosen, and go on to what is left."""
        finding = self._chosen()
        remedies = self._session.hand.remedies(finding) if finding is not None else ()
        if finding is None or number > len(remedies):
            return
        mend(self._session, finding, remedies[number - 1])
        self._changed()

    def undo(self) -> None:
        """Undo the last change, and list what is found then."""
        self._run("undo")

    def redo(self) -> None:
        """Redo it."""
        self._run("redo")

    def _run(self, name: str) -> None:
        self._session.run(REGISTRY[name])
        self._changed()

    def _changed(self) -> None:
        """List what is found now, from where the last one was."""
        index = self.query_one(OptionList).highlighted or 0
        self._mended()
        self._previewed = None
        self._fill()
        self._choose(index)

    def preview(self) -> None:
        """What the first remedy would do; again, the next."""
        finding = self._chosen()
        if finding is not None and self._session.hand.remedies(finding):
            self._previewed = 0 if self._previewed is None else self._previewed + 1
            self._show_ways()

    # Order and filters

    def _refill(self) -> None:
        chosen = self._chosen()
        self._previewed = None
        self._fill()
        self._choose(next((n for n, each in enumerate(self._shown) if each is chosen), 0))

    def sort(self) -> None:
        """By place, or by severity."""
        self._by_severity = not self._by_severity
        self._refill()

    def filter(self) -> None:
        """All, hard and worse, impossible only."""
        self._down_to = (self._down_to + 1) % len(DOWN_TO)
        self._refill()

    def words(self) -> None:
        """Type a word that the findings must have."""
        line = self.query_one(WordFilter)
        line.value, line.display = "", True
        self.set_focus(line)

    def _take_words(self, words: str) -> None:
        """Only those with the word; none typed, all."""
        self.query_one(WordFilter).display = False
        self._words = words.strip()
        self._refill()

    def move(self, by: int) -> None:
        """Choose another finding."""
        self._choose((self.query_one(OptionList).highlighted or 0) + by)

    def go(self) -> None:
        """Go there."""
        self.dismiss(self._chosen())

    def on_option_list_option_selected(self) -> None:
        """Go to what was pointed at."""
        self.go()

    def leave(self) -> None:
        """Close the list."""
        self.dismiss(None)
