"""The editor's application: puts the widgets together and carries keys to commands."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.events import Key
from textual.geometry import Region
from textual.screen import ModalScreen
from textual.widgets import Input

from tabterm.page.rows import COURSE
from tabterm.tui.advised import AdvisedApp
from tabterm.tui.entry import Entry
from tabterm.tui.keys import key_name
from tabterm.tui.lines import MessageLine, StatusLine
from tabterm.tui.neck import NeckStrip
from tabterm.tui.outlook import Outlook, finding_line
from tabterm.tui.painter import MARGIN
from tabterm.tui.score_view import ScoreView
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.theme import LOOKS
from tabterm.workspace.outside import words
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Event, Resize
    from textual.geometry import Size
    from textual.timer import Timer

    from tabterm.hand.finding import Finding
    from tabterm.page.rows import Row, Words
    from tabterm.workspace.document import Document
    from tabterm.workspace.drafts import Draft
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.transport import Transport

IDLE_S = 0.25
"""How long the keys must rest before the journal is forced to disk and remedies are tried."""

PLAYHEAD_S = 0.1
"""How often the playhead is looked at while something sounds."""

LOWEST_WITH_NECK = 16
"""Lines of a screen that has room for the neck."""

NARROWEST = 60
"""Cells of a line from which a sheet over the score need not take all of the screen."""

LINES_OVER_SCORE = 3
"""Lines of the score that a long answer may cover until the next key."""

ROOM_FOR_ANSWER = 18
"""Cells that are kept for the answer behind a question."""


def later() -> tuple[ModuleType, ...]:
    """Load what the first screen does without."""
    from tabterm import performance
    from tabterm.piece import practice_log
    from tabterm.sound import player
    from tabterm.tui.screens import doubt, findings, leave, palette, practice, recover
    from tabterm.tui.screens import help as keys
    from tabterm.workspace import practice_file

    return (
        performance,
        player,
        practice_file,
        practice_log,
        palette,
        findings,
        keys,
        practice,
        leave,
        doubt,
        recover,
    )


class TabtermApp(AdvisedApp, inherit_bindings=False):
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
        abilities: Abilities | None = None,
    ) -> None:
        super().__init__(abilities or Abilities(), ansi_color=look == "terminal")
        self.theme = {"dark": "textual-dark", "light": "textual-light"}.get(look, "ansi-dark")
        self.session = Session(document, self, transport)
        self.keymap = keymap
        style = LOOKS[look]
        self.score_view = ScoreView(self.session, style)
        self.status_line = StatusLine(self.session, style)
        self.message_line = MessageLine(self.session, style)
        self.neck_strip = NeckStrip(self.session, style, self.message_line)
        self.outlook = Outlook(self.session, style)
        self.entry = Entry(self.score_view, self.press, self._say_what_waited)
        self._waiting: list[str] = []
        self.keep_draft = True
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
        self.set_class(self.session.shown.plain, "plain")
        self._fit(self.size)
        self._playhead = self.set_interval(PLAYHEAD_S, self._follow, pause=True)
        self.score_view.focus()
        self.app_suspend_signal.subscribe(self, lambda _: self.session.transport.stop())
        self.app_resume_signal.subscribe(self, lambda _: self._look_outside(ask=True))
        self._tell_notices()
        self.call_after_refresh(self._when_shown)

    def on_resize(self, event: Resize) -> None:
        """Leave out what the screen has no room for."""
        self._fit(event.size)

    def _fit(self, size: Size) -> None:
        neck = self.session.shown.neck and not self.session.shown.plain and size.height >= LOWEST_WITH_NECK
        self.set_class(size.height < LOWEST_WITH_NECK or size.width < NARROWEST, "tight")
        self.neck_strip.display = neck
        self.outlook.fit(size.height)
        self.message_line.lines_above = 2 * neck + (0 if self.outlook.display else LINES_OVER_SCORE)
        self.message_line.hand_above = neck

    def _when_shown(self) -> None:
        self.session.begin_proposing()
        self.score_view.sync()
        self.start_adviser()
        if self.session.document.put_aside:
            self.open_panel("recover")
        self._rest()
        self.run_worker(self._warm_up, thread=True, exit_on_error=False)

    def _warm_up(self) -> None:
        """Load beside the keys what will be wanted; the engine of the sound is started between two of them."""
        later()
        self.call_from_thread(self.session.transport.warm_up)

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
        elif self.entry.is_open:
            await self.entry.take_key(event)
        else:
            self.press(key_name(event))

    def press(self, key: str) -> None:
        """Carry a key out on the row where the cursor is."""
        self.hold_adviser()
        self.session.begin_proposing()
        row = self.session.here.cursor.row
        binding = self.keymap.find(row.name, key)
        if self._types_words(row, key) or binding is None:
            return
        name, _, word = binding.partition(" ")
        self.message_line.say("")
        self.session.run(REGISTRY[name], word or None)
        self.sync()

    def _types_words(self, row: Row, key: str) -> bool:
        """On the rows of words a letter begins the word; True when it did."""
        typed = " " if key == "space" else key
        if row.words is None or not row.words.starts(typed):
            return False
        self._open_in_place(
            row.name, row.words, row.words.begun(self.session.score, self.session.here.cursor.place) + typed
        )
        return True

    def _open_in_place(self, command: str, words: Words, value: str) -> None:
        """Type the word of a command over the cell where the cursor is."""
        region = self.score_view.region_of(self.session.here.cursor) or Region(MARGIN, 0, 1, 1)
        x = MARGIN if words.whole_measure else region.x
        self.entry.open(
            value,
            lambda answer: self._answer(command, answer),
            (x, region.y + self.score_view.region.y, min(words.width, self.size.width - x)),
        )

    def _answer(self, command: str, answer: str) -> None:
        self.session.run(REGISTRY[command], answer)
        self.sync()

    def on_score_view_pointed(self, event: ScoreView.Pointed) -> None:
        """Put the cursor where the mouse has pointed."""
        if not self.entry.is_open:
            self.session.here.cursor = event.cursor
            self.sync()

    # The host of the session

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a line until the next key; while words are typed it waits, so that their question stays."""
        if self.entry.is_open:
            self._waiting.append(text)
        else:
            self.message_line.say(text, trouble=trouble)

    def _say_what_waited(self) -> None:
        """Take the question off the bottom line, and say what came meanwhile."""
        self.message_line.say("; ".join(self._waiting), trouble=True)
        self._waiting.clear()
        self.sync_lines()

    def ask(self, question: str, suggestion: str, answer: Callable[[str], None]) -> None:
        """Put a question on the bottom line."""
        self.message_line.say(f"{question}:", keep_free=min(ROOM_FOR_ANSWER, self.size.width // 3))
        self.message_line.sync()
        x = len(self.message_line.texts()[-1]) + 2

        def answered(text: str) -> None:
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

            self.push_screen(FindingsScreen(self.session, self.sync, self.wonder), self._go_to_finding)
        elif name == "doubt" and self.session.doubt is not None:
            from tabterm.tui.screens.doubt import DoubtScreen

            self.push_screen(DoubtScreen(self.session.doubt, self.session.document.path), self._run_by_name)
        elif name == "recover":
            from tabterm.tui.screens.recover import RecoverScreen
            from tabterm.workspace import drafts

            self.push_screen(RecoverScreen(drafts.kept_aside(self.session.document.path)), self._recover)
        else:
            from tabterm.tui.screens.leave import LeaveScreen

            self.push_screen(LeaveScreen(self.session.document.path.name), self._leave_by)

    def redraw(self) -> None:
        """Paint everything anew."""
        self._fit(self.size)
        self.score_view.lay_out()
        self.score_view.refresh()
        self.refresh(layout=True, repaint=True)
        self.draw_all()

    def leave(self) -> None:
        """End the program."""
        self.keep_draft = False
        self.exit()

    def _recover(self, draft: Draft | None) -> None:
        if draft is not None:
            self.session.take_in(draft)
            self.sync()

    def _look_outside(self, *, ask: bool) -> None:
        """Say what another program has done to the file, or ask at once what to do."""
        doubt = self.session.document.doubt()
        if doubt is self.session.doubt:
            return
        self.session.doubt = doubt
        if doubt is None:
            return
        if ask and not isinstance(self.screen, ModalScreen) and not self.entry.is_open:
            self.open_panel("doubt")
        else:
            self.session.document.notices.append(
                f"{words(doubt, self.session.document.path)}: save asks what to do"
            )

    def _run_by_name(self, name: str | None) -> None:
        if name is not None:
            self.session.run(REGISTRY[name])
            self.sync()

    def _go_to_finding(self, finding: Finding | None) -> None:
        if finding is None:
            return
        found = self.session.hand.findings()
        self.session.hand.finding_index = found.index(finding) if finding in found else None
        self.session.here.cursor = self.session.here.cursor.at(finding.place)
        if finding.course:
            self.session.here.cursor = self.session.here.cursor.on(COURSE, finding.course)
        self.sync()

    def _leave_by(self, way: str | None) -> None:
        if way == "save":
            self.session.run(REGISTRY["save"])
            self.sync()
            if self.session.document.unsaved:
                return
        if way == "draft" and not self._keeps_draft():
            return
        if way is not None:
            self.keep_draft = way == "draft"
            self.exit()

    def _keeps_draft(self) -> bool:
        """Whether all changes would be there the next time; says what hinders that."""
        document = self.session.document
        document.flush()
        if document.keeps_draft:
            return True
        if self._idle is not None:
            self._idle.stop()  # what it would say is said here
        document.notices.append("the changes cannot be kept: save-as elsewhere, or make room")
        self._tell_notices()
        self.sync_lines()
        return False

    # Keeping the screen up to date

    def cursor_cell(self) -> tuple[int, int] | None:
        """Where words are typed; else where the next key writes, unless something lies over the score."""
        if isinstance(self.focused, Input):
            return self.focused.cursor_screen_offset
        region = self.score_view.region_of(self.session.here.cursor)
        if region is None or isinstance(self.screen, ModalScreen):
            return None
        return region.x, region.y + self.score_view.region.y

    def sync(self) -> None:
        """Repaint what a command has changed, and put off what can wait until the keys rest."""
        self.score_view.sync()
        self.ask_adviser()
        self.sync_lines()
        self.draw()
        if self._playhead is not None and self.session.transport.playing:
            self._playhead.resume()
        if self._idle is not None:
            self._idle.stop()
        self._idle = self.set_timer(IDLE_S, self._rest)

    def sync_lines(self) -> None:
        """Repaint the lines round the score, and what a long answer covers of it."""
        finding = self.finding_at_cursor()
        self.message_line.finding = finding_line(self.session.score, finding) if finding else ""
        remedies = self.session.hand.remedies_known(finding) if finding else None
        if remedies:
            self.message_line.finding += f"   & {remedies[0].label}"
        for line in (self.status_line, self.message_line, self.neck_strip, self.outlook):
            line.sync()
        above = self.message_line.said()[:-1]
        self.score_view.lay_over(above[: -2 if self.neck_strip.display else None])

    def _rest(self) -> None:
        """The keys rest: force the journal to disk, try the remedies of the finding at the cursor."""
        document = self.session.document
        document.flush()
        self._look_outside(ask=False)
        self.session.rehearsal.settle()
        self._tell_notices()
        if fault := self.fault_of_adviser():
            self.say(fault, trouble=True)
        self.wonder_here()
        self.sync_lines()

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
            self.sync_lines()
