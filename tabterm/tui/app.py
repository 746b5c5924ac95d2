"""The editor's application: puts the widgets together and carries keys to commands."""

from __future__ import annotations

import importlib
import traceback
from typing import TYPE_CHECKING, ClassVar

from textual.events import Key
from textual.geometry import Region
from textual.screen import ModalScreen
from textual.widgets import Input

from tabterm.tui.entry import Entry
from tabterm.tui.keys import key_name
from tabterm.tui.lines import MessageLine, StatusLine
from tabterm.tui.neck import NeckStrip
from tabterm.tui.outlook import Outlook, finding_line
from tabterm.tui.painter import MARGIN
from tabterm.tui.score_view import ScoreView
from tabterm.tui.terminal import Terminal
from tabterm.tui.theme import LOOKS
from tabterm.tui.wired import WiredApp
from tabterm.workspace import emergency
from tabterm.workspace.adviser import Adviser
from tabterm.workspace.commands.trouble import finding_here
from tabterm.workspace.cursor import Row
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Event, Resize
    from textual.timer import Timer

    from tabterm.hand.finding import Finding, Remedy
    from tabterm.score.model import Score
    from tabterm.score.place import Place
    from tabterm.workspace.adviser import Advice
    from tabterm.workspace.document import Document
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.transport import Transport

IDLE_S = 0.25
"""How long the keys must rest before the journal is forced to disk and remedies are tried."""

LATER = (
    "tabterm.performance",
    "tabterm.sound.player",
    *(f"tabterm.workspace.practice_{name}" for name in ("file", "log")),
    *(f"tabterm.tui.screens.{name}" for name in ("palette", "findings", "help", "practice", "leave")),
)
"""Modules that the first screen does without."""

PLAYHEAD_S = 0.1
"""How often the playhead is looked at while something sounds."""

LOWEST_WITH_NECK = 16
"""Lines of a screen that has room for the neck."""

CHORD_STARTS = frozenset("ABCDEFGN")
"""Letters that begin a chord symbol on the chord row; other keys keep their commands there."""


class TabtermApp(WiredApp, inherit_bindings=False):
    """Shows one document; everything it knows of music is in the session."""

    CSS_PATH = "editor.tcss"
    BINDINGS: ClassVar[list[BindingType]] = []
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self,
        document: Document,
        transport: Transport,
        keymap: Keymap,
        *,
        look: str = "dark",
        terminal: Terminal | None = None,
    ) -> None:
        super().__init__(terminal or Terminal(), ansi_color=look == "terminal")
        self.theme = {"dark": "textual-dark", "light": "textual-light"}.get(look, "ansi-dark")
        self.session = Session(document, self, transport)
        self.keymap = keymap
        style = LOOKS[look]
        self.score_view = ScoreView(self.session, style)
        self.status_line = StatusLine(self.session, style)
        self.message_line = MessageLine(self.session, style)
        self.neck_strip = NeckStrip(self.session, style, self.message_line)
        self.outlook = Outlook(self.session, style)
        self.entry = Entry(self.score_view, self.press)
        self.fault = ""
        self.keep_draft = True
        self.adviser: Adviser | None = None
        self._puzzle: Finding | None = None
        self._idle: Timer | None = None
        self._playhead: Timer | None = None

    def compose(self) -> ComposeResult:
        """From top to bottom."""
        yield self.status_line
        yield self.score_view
        yield self.outlook
        yield self.neck_strip
        yield self.message_line
        yield self.entry

    def on_mount(self) -> None:
        """Take the keys, tell what was recovered, and get the rest ready when the first screen is out."""
        document, transport = self.session.document, self.session.transport
        self.set_class(self.session.plain, "plain")
        self._fit(self.size.height)
        emergency.install(document.flush, transport.silence_now, self.give_terminal_back)
        self._playhead = self.set_interval(PLAYHEAD_S, self._follow, pause=True)
        self.score_view.focus()
        self.app_suspend_signal.subscribe(self, lambda _: transport.stop())
        self._tell_notices()
        self.call_after_refresh(self._when_shown)

    def on_resize(self, event: Resize) -> None:
        """Leave out what the screen has no room for."""
        self._fit(event.size.height)

    def _fit(self, lines: int) -> None:
        neck = self.session.neck_shown and not self.session.plain and lines >= LOWEST_WITH_NECK
        self.neck_strip.display = neck
        self.message_line.lines_above = 2 if neck else 0
        self.outlook.fit(lines)

    def _when_shown(self) -> None:
        self.session.begin_proposing()
        self.score_view.sync()
        self._start_adviser()
        self._rest()
        self.run_worker(self._warm_up, thread=True, exit_on_error=False)

    def _warm_up(self) -> None:
        """Load beside the keys what will be wanted; the engine of the sound is started between two of them."""
        for name in LATER:
            importlib.import_module(name)
        self.call_from_thread(self.session.transport.warm_up)

    # Advice

    def _start_adviser(self) -> None:
        """Have the hand worked out beside the keys; answers come back between two of them."""

        def answer(advice: Advice) -> None:
            self.call_from_thread(self._take_advice, advice)

        def offer(score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
            self.call_from_thread(self._take_remedies, score, finding, remedies)

        self.adviser = Adviser(answer, offer, self.session.weights)
        self.adviser.ask(self.session.score)

    def _take_advice(self, advice: Advice) -> None:
        """Show proposed fingers, the hand and the findings, if they are still about the score that stands."""
        if not self.session.take_advice(advice):
            return
        self.score_view.sync()
        if advice.findings is not None:
            places: dict[Place, tuple[Finding, ...]] = {}
            for finding in advice.findings:
                places[finding.place] = (*places.get(finding.place, ()), finding)
            self.message_line.to_mend = len(advice.findings)
            self.score_view.show_findings(places)
        self._sync_lines()

    def _take_remedies(self, score: Score, finding: Finding, remedies: tuple[Remedy, ...]) -> None:
        self.session.take_remedies(score, finding, remedies)
        if takes := getattr(self.screen, "take_remedies", None):
            takes(finding)
        self._sync_lines()

    # Keys

    async def on_event(self, event: Event) -> None:
        """Carry keys out here, in the order they came, whatever they open or close.

        The toolkit would put each into the queue of the widget that has the focus when it comes, so that keys
        typed ahead over a slow line could overtake each other, or reach what has been closed.
        """
        if not isinstance(event, Key) or event.is_forwarded:
            await super().on_event(event)
        elif takes := getattr(self.screen, "take_key", None):
            await takes(event)
        elif isinstance(self.screen, ModalScreen):
            await super().on_event(event)
        elif self.entry.is_open:
            await self.entry.take_key(event)
        else:
            self.press(key_name(event))

    def press(self, key: str) -> None:
        """Carry a key out on the row where the cursor is."""
        self.session.begin_proposing()
        row = self.session.cursor.row
        binding = self.keymap.find(row.value, key)
        if self._types_words(row, key) or binding is None:
            return
        name, _, word = binding.partition(" ")
        self.message_line.say("")
        self.session.run(REGISTRY[name], word or None)
        self.sync()

    def _types_words(self, row: Row, key: str) -> bool:
        """On the rows of words a letter begins the word; True when it did."""
        typed = " " if key == "space" else key
        if row is Row.CHORD and typed in CHORD_STARTS:
            self._open_in_place("chord", typed)
        elif row is Row.REMARK and len(typed) == 1:
            index = self.session.measures()[0]
            self._open_in_place("remark", self.session.score.measures[index].remark + typed)
        else:
            return False
        return True

    def _open_in_place(self, command: str, value: str) -> None:
        """Type the word of a command over the cell where the cursor is."""
        region = self.score_view.region_of(self.session.cursor) or Region(MARGIN, 0, 1, 1)
        x = region.x if command == "chord" else MARGIN
        width = min(14 if command == "chord" else 60, self.size.width - x)
        self.entry.open(
            value,
            lambda answer: self._answer(command, answer),
            (x, region.y + self.score_view.region.y, width),
        )

    def _answer(self, command: str, answer: str) -> None:
        self.session.run(REGISTRY[command], answer)
        self.sync()

    def on_score_view_pointed(self, event: ScoreView.Pointed) -> None:
        """Put the cursor where the mouse has pointed."""
        if not self.entry.is_open:
            self.session.cursor = event.cursor
            self.sync()

    # The host of the session

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a line until the next key."""
        self.message_line.say(text, trouble=trouble)

    def ask(self, question: str, suggestion: str, answer: Callable[[str], None]) -> None:
        """Put a question on the bottom line."""
        self.message_line.say(f"{question}: ")
        self.message_line.sync()
        x = min(len(question) + 3, self.size.width - 20)

        def answered(text: str) -> None:
            self.message_line.say("")
            answer(text)
            self.sync()

        at = (x, self.size.height - 1, self.size.width - x)
        self.entry.open(suggestion, answered, at, offered=True)

    def open_panel(self, name: str) -> None:
        """Lay a screen over the score; each is loaded when it is first wanted, or while the keys rest."""
        if name == "help":
            from tabterm.tui.screens.help import HelpScreen

            self.push_screen(HelpScreen(self.keymap))
        elif name == "palette":
            from tabterm.tui.screens.palette import PaletteScreen

            self.push_screen(PaletteScreen(self.keymap), self._run_by_name)
        elif name == "practice":
            from tabterm.tui.screens.practice import PracticeScreen

            self.push_screen(PracticeScreen(self.session))
        elif name == "findings":
            from tabterm.tui.screens.findings import FindingsScreen

            self.push_screen(FindingsScreen(self.session, self.sync, self._wonder), self._go_to_finding)
        else:
            from tabterm.tui.screens.leave import LeaveScreen

            self.push_screen(LeaveScreen(self.session.document.path.name), self._leave_by)

    def redraw(self) -> None:
        """Paint everything anew."""
        self._fit(self.size.height)
        self.score_view.lay_out()
        self.score_view.refresh()
        self.refresh(layout=True, repaint=True)
        self.draw_all()

    def leave(self) -> None:
        """End the program."""
        self.keep_draft = False
        self.exit()

    def _run_by_name(self, name: str | None) -> None:
        if name is not None:
            self.session.run(REGISTRY[name])
            self.sync()

    def _wonder(self, finding: Finding) -> None:
        """Have the remedies of a finding tried."""
        if self.adviser is not None:
            self.adviser.ask_remedies(self.session.score, finding)

    def _go_to_finding(self, finding: Finding | None) -> None:
        if finding is None:
            return
        found = self.session.findings()
        self.session.finding_index = found.index(finding) if finding in found else None
        self.session.cursor = self.session.cursor.at(finding.place)
        if finding.course:
            self.session.cursor = self.session.cursor.on(Row.COURSE, finding.course)
        self.sync()

    def _leave_by(self, way: str | None) -> None:
        if way == "save":
            self.session.run(REGISTRY["save"])
            self.sync()
            if self.session.document.unsaved:
                return
        if way is not None:
            self.keep_draft = way == "draft"
            self.exit()

    # Keeping the screen up to date

    def cursor_cell(self) -> tuple[int, int] | None:
        """Where words are typed; else where the next key writes, unless something lies over the score."""
        if isinstance(self.focused, Input):
            return self.focused.cursor_screen_offset
        region = self.score_view.region_of(self.session.cursor)
        if region is None or isinstance(self.screen, ModalScreen):
            return None
        return region.x, region.y + self.score_view.region.y

    def sync(self) -> None:
        """Repaint what a command has changed, and put off what can wait until the keys rest."""
        self.score_view.sync()
        if self.adviser is not None and self.session.needs_advice:
            self.adviser.weights = self.session.weights
            self.adviser.ask(self.session.score)
        self._sync_lines()
        self.draw()
        if self._playhead is not None and self.session.transport.playing:
            self._playhead.resume()
        if self._idle is not None:
            self._idle.stop()
        self._idle = self.set_timer(IDLE_S, self._rest)

    def _sync_lines(self) -> None:
        finding = self._finding_at_cursor()
        self.message_line.finding = finding_line(self.session.score, finding) if finding else ""
        remedies = self.session.remedies_known(finding) if finding else None
        if remedies:
            self.message_line.finding += f"   & {remedies[0].label}"
        for line in (self.status_line, self.message_line, self.neck_strip, self.outlook):
            line.sync()

    def _finding_at_cursor(self) -> Finding | None:
        """From what was found for the score that stands; None while that is being worked out."""
        advice = self.session.advice
        if advice is None or advice.findings is None or advice.score is not self.session.score:
            return None
        return finding_here(self.session)

    def _rest(self) -> None:
        """The keys rest: force the journal to disk, try the remedies of the finding at the cursor."""
        document = self.session.document
        document.flush()
        self._tell_notices()
        finding = self._finding_at_cursor()
        if finding is not None and finding is not self._puzzle:
            self._wonder(finding)
        self._puzzle = finding
        self._sync_lines()

    def _tell_notices(self) -> None:
        notices = self.session.document.notices
        if notices:
            self.say("; ".join(notices), trouble=True)
            notices.clear()

    def _follow(self) -> None:
        """Move the playhead; fall asleep when the sound has ended."""
        transport = self.session.transport
        transport.look()
        self.score_view.show_sound()
        self.status_line.sync()
        if not transport.playing:
            if self._playhead is not None:
                self._playhead.pause()
            if transport.trouble:
                self.say(transport.trouble, trouble=True)
            self._tell_notices()
            self._sync_lines()

    def _fatal_error(self) -> None:
        """A fault in the program: keep its trace for the log, and end; the work is in the journal."""
        self.fault = traceback.format_exc()
        self._close_messages_no_wait()
