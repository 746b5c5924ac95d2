"""The editor's application: puts its parts together, hands keys to them, and is the host of the session."""

from __future__ import annotations

import asyncio
import os
from contextvars import copy_context
from dataclasses import replace
from functools import partial
from time import sleep
from typing import TYPE_CHECKING, ClassVar

from textual.events import Key
from textual.theme import BUILTIN_THEMES, Theme
from textual.widgets import Input

from tabterm.errors import TabtermError, lacking
from tabterm.storage.refusals import refusal
from tabterm.tui import panels
from tabterm.tui.front import Front
from tabterm.tui.hand_watch import HandWatch
from tabterm.tui.keys import Keys, key_name
from tabterm.tui.terminal.abilities import Abilities
from tabterm.tui.terminal.application import TerminalApp
from tabterm.tui.terminal.clipboard import sequence
from tabterm.tui.terminal.first import Picture
from tabterm.tui.theme import LOOKS
from tabterm.tui.upkeep import Playhead, Upkeep
from tabterm.workspace.session import Session

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from contextvars import Context
    from types import ModuleType

    from textual.app import ComposeResult
    from textual.binding import BindingType
    from textual.events import Event, Resize
    from textual.geometry import Size

    from tabterm.tui.score_view import ScoreView
    from tabterm.tui.terminal.first import First
    from tabterm.workspace.document import Document
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.transport import Transport


PROGRESS_PERCENT = 5
"""How much further long work must be before that is said again."""

GIVE_WAY_S = 0.002
"""How long long work rests after each of its steps, so that a key never waits for it."""


def later() -> tuple[ModuleType, ...]:
    """Load what the first screen does without, beside the panels."""
    from tabterm import performance
    from tabterm.piece import practice_log, recorded
    from tabterm.sound import playback
    from tabterm.workspace import practice_file

    return performance, playback, practice_file, practice_log, recorded


def _sheets(name: str, ink: str, ground: str, primary: str, surface: str) -> Theme:
    chosen = {
        "block-cursor-foreground": surface,
        "block-cursor-background": ink,
        "block-cursor-text-style": "bold",
    }
    return Theme(
        name,
        primary=primary,
        foreground=ink,
        background=ground,
        surface=surface,
        dark=name == "dark",
        variables=chosen,
    )


_SIXTEEN = BUILTIN_THEMES["ansi-dark"]
SHEETS = {
    "dark": _sheets("dark", "#d8d4c8", "#16181c", "#e0b050", "#202329"),
    "light": _sheets("light", "#2a2825", "#faf8f2", "#7a4a00", "#f1eee4"),
    "terminal": replace(
        _SIXTEEN, name="terminal", variables=_SIXTEEN.variables | {"block-cursor-text-style": "bold underline"}
    ),
}
"""Colours of what lies over the score, by look; what is chosen in a list is seen without colour, too."""


class TabtermApp(TerminalApp, inherit_bindings=False):
    """Shows one document; everything it knows of music is in the session."""

    CSS_PATH = "editor.tcss"
    BINDINGS: ClassVar[list[BindingType]] = []
    ENABLE_COMMAND_PALETTE = False
    keymap: Keymap
    session: Session
    hand_watch: HandWatch

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
        self.register_theme(SHEETS[look])
        self.theme = look
        self.keymap = keymap
        self.keep_draft = True
        self._leaving = False
        self._loop_here: tuple[asyncio.AbstractEventLoop, Context] | None = None
        self.session = Session(document, self, transport)
        self.front = Front(self.session, LOOKS[look])
        self.upkeep = Upkeep(self)
        self.hand_watch = HandWatch(self.session, self.front, self, self.upkeep.put_off)
        self.keys = Keys(self.session, keymap, self.front, self.hand_watch, self.sync)
        self.playhead = Playhead(self)
        self.first: First | None = None

    def compose(self) -> ComposeResult:
        """From top to bottom, and what lies over it."""
        yield from self.front.widgets
        yield self.keys.entry
        yield self.keys.answers

    def on_mount(self) -> None:
        """Take the keys, tell what was recovered, and get the rest ready when the first screen is out."""
        self.set_class(self.session.shown.plain, "plain")
        self.fit()
        self._loop_here = asyncio.get_running_loop(), copy_context()
        self.playhead.begin()
        self.front.score_view.focus()
        self.app_suspend_signal.subscribe(self, lambda _: self.session.transport.stop())
        self.app_resume_signal.subscribe(self, lambda _: self.upkeep.look_outside(ask=True))
        self.upkeep.tell_notices()
        self.call_after_refresh(self._when_shown)

    def on_unmount(self) -> None:
        """The screen is going."""
        self.hand_watch.stop()

    def on_resize(self, event: Resize) -> None:
        """Leave out what the screen has no room for."""
        self.fit(event.size)

    def fit(self, size: Size | None = None) -> None:
        """Share the screen, or one of another size, out among its parts as they are wanted now."""
        self.set_class(self.front.fit(size or self.size), "tight")

    def take_over(self, first: First | None) -> None:
        """Go on from a document's first picture, and keep the one of this time for the next."""
        self.first = first
        if first is not None and first.wire is not None:
            self.modes_before = first.modes_before
            if first.abilities == self.wire.abilities:
                self.wire, self.holds = first.wire, True

    def give_terminal_back(self) -> None:
        """Leave the terminal as it was, also while only the first picture has taken it."""
        if self.first is not None and self.modes_before is not None:
            self.first.give_back()
        else:
            super().give_terminal_back()

    def _begun_with(self) -> Picture | None:
        """The screen as it has begun, where it shows the document as it is on disk and nothing else."""
        if self.first is None or self.session.document.unsaved or self.front.message_line.message:
            return None
        return Picture(self.wire.wanted(), self.cursor_cell())

    def _when_shown(self) -> None:
        begun, self.holds = self._begun_with(), False
        self.draw()
        self.session.begin_proposing()
        self.front.score_view.sync()
        self.hand_watch.start()
        if self.session.document.put_aside:
            self.open_panel("recover")
        self.upkeep.run()
        self.run_worker(partial(self._warm_up, begun), thread=True, exit_on_error=False)

    def _warm_up(self, begun: Picture | None) -> None:
        """Load beside the keys what will be wanted; the engine of the sound is started between two of them."""
        if self.first is not None and begun is not None:
            self.first.keep(begun)
        later()
        for panel in panels.PANELS.values():
            panel.load()
        self.call_from_thread(self.session.transport.warm_up)

    async def on_event(self, event: Event) -> None:
        """Carry keys out here, in the order they came, whatever they open or close.

        The toolkit would put each into the queue of the widget that has the focus when it comes, so that keys
        typed ahead over a slow line could overtake each other, or reach what has been closed.
        """
        if not isinstance(event, Key) or event.is_forwarded:
            await super().on_event(event)
        elif (takes := getattr(self.screen, "take_key", None)) and (leads := panels.leading(self, event)):
            panels.lead_on(self, leads)
        elif takes:
            await takes(event)
        else:
            await self.keys.take(event)

    def action_of(self, key: Key) -> Callable[[], None] | None:
        """A command on the score is carried out at once; what is typed into lines and panels waits its turn."""
        waits = self._leaving or self.keys.entry.is_open or hasattr(self.screen, "take_key")
        if self._loop_here is None or waits:
            return None
        return partial(self._loop_here[1].run, self.keys.press, key_name(key))

    def on_score_view_pointed(self, event: ScoreView.Pointed) -> None:
        """Put the cursor where the mouse has pointed."""
        if not self.keys.entry.is_open:
            self.session.here.cursor = event.cursor
            self.sync()

    # The host of the session

    def say(self, text: str, *, trouble: bool = False) -> None:
        """Show a line until the next key, or until words have been typed."""
        self.keys.say(text, trouble=trouble)

    def ask(
        self, question: str, suggestion: str, answer: Callable[[str], None], choices: Sequence[str] = ()
    ) -> None:
        """Put a question on the bottom line, with a list over it that narrows while typing."""
        self.keys.ask(question, suggestion, answer, choices)

    def open_panel(self, name: str) -> None:
        """Lay a screen over the score."""
        panels.lay(self, name)

    def soon(self, action: Callable[[], None]) -> None:
        """Carry something out on the loop, as a key would be; the thread that asks for it does not wait."""
        if self._loop_here is not None and not self._leaving:
            loop, context = self._loop_here
            loop.call_soon_threadsafe(self.do, partial(self._between_keys, action), context=context)

    def _between_keys(self, action: Callable[[], None]) -> None:
        self.session.begin_proposing()
        action()
        self.sync()

    def work(self, job: Callable[[Callable[[float], None]], str]) -> None:
        """Do long work in a thread that gives way to the keys; its progress is said, and what it gives."""
        said = -1

        def progress(part: float) -> None:
            nonlocal said
            if self._leaving:
                raise TabtermError("cancelled: the editor was closed")
            percent = int(part * 100)
            if percent >= said + PROGRESS_PERCENT:
                said = percent
                self.call_from_thread(self._say_beside, f"working: {percent}%")
            sleep(GIVE_WAY_S)

        def run() -> None:
            try:
                words, trouble = job(progress), False
            except TabtermError as error:
                words, trouble = str(error), True
            except ModuleNotFoundError as error:
                words, trouble = str(lacking(error)), True
            except OSError as error:
                words, trouble = str(refusal(error, self.session.document.path)), True
            if not self._leaving:
                self.call_from_thread(self._say_beside, words, trouble=trouble)

        self.run_worker(run, thread=True, exit_on_error=False)

    def _say_beside(self, words: str, *, trouble: bool = False) -> None:
        self.say(words, trouble=trouble)
        self.hand_watch.sync_lines()

    def to_clipboard(self, text: str) -> None:
        """Hand a text to the terminal for its clipboard."""
        self.send(sequence(text, os.environ))

    def redraw(self) -> None:
        """Paint everything anew."""
        self.fit()
        self.front.score_view.lay_out()
        self.front.score_view.refresh()
        self.refresh(layout=True, repaint=True)
        self.draw_all()

    def leave(self, *, keep_draft: bool = False) -> None:
        """End the program; what is not saved is there the next time, or not."""
        self.keep_draft, self._leaving = keep_draft, True
        self.exit()

    # Keeping the screen up to date

    @property
    def covered(self) -> bool:
        """Something lies over the score, be it a line that is typed on."""
        return super().covered or self.keys.entry.is_open or self.keys.answers.is_open

    def cursor_cell(self) -> tuple[int, int] | None:
        """Where words are typed; else where the next key writes, unless something lies over the score."""
        if not self.covered:
            return self.front.cursor_cell()
        return self.focused.cursor_screen_offset if isinstance(self.focused, Input) else None

    def sync(self) -> None:
        """Repaint what a command has changed, and put off what can wait until the keys rest."""
        self.front.score_view.sync()
        self.hand_watch.ask()
        self.hand_watch.sync_lines()
        self.draw()
        self.playhead.wake()
        self.upkeep.put_off()
