"""`tabterm FILE`: the editor."""

from __future__ import annotations

import os
import signal
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import collector
from tabterm.cli.output import tell
from tabterm.cli.scores import add_choice, choice_of
from tabterm.errors import TabtermError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable
    from types import FrameType

    from tabterm.score.model import Score
    from tabterm.tui.app import TabtermApp
    from tabterm.tui.terminal.first import First


TOOLKIT = {"TEXTUAL_ANIMATIONS": "none", "TEXTUAL_FPS": "250"}
"""What the toolkit reads of the environment: nothing moves of itself, and what is painted right after something
else, as a key is after a step of the playhead, comes 4 ms later at most (its own pace is 17 ms)."""

SWITCH_S = 0.0002
"""How long the thread that works the hand out may hold the interpreter while a key waits."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "file", type=Path, nargs="?", help="a score to open or create (without one: choose from a list)"
    )
    parser.add_argument("--look", choices=("dark", "light", "terminal"), help="colours of the screen")
    parser.add_argument(
        "--plain", action="store_true", help="for a screen reader: no drawn lines, the cursor position in words"
    )
    add_choice(parser)


def run(arguments: argparse.Namespace) -> int:
    """Open the editor; 0 when it was left, 1 when it ended by a fault."""
    if any(stream is None or not stream.isatty() for stream in (sys.stdin, sys.stdout)):
        raise TabtermError("the editor needs a terminal", hint="`tabterm show FILE` prints without one")
    from tabterm.tui.terminal import abilities

    if abilities.is_dumb(os.environ):
        name = os.environ.get("TERM", "")
        raise TabtermError(f"this terminal cannot position text (TERM={name})", hint="`tabterm show FILE` prints")
    if arguments.file is None:
        return _offer()
    with collector.at_rest():
        first = _first(arguments)
        try:
            app, mouse = loaded(arguments, first)
        except BaseException:
            if first is not None:
                first.give_back()
            raise
        collector.keep_all()
        collector.look_rarely()
    session, document = app.session, app.session.document
    sys.setswitchinterval(SWITCH_S)
    from tabterm.piece.recent import remember

    end_by_signals(document.flush, session.transport.silence_now, app.give_terminal_back)
    try:
        app.run(mouse=mouse)
    finally:
        session.transport.close()
        session.rehearsal.close(discarded=document.unsaved and not app.keep_draft)
        document.close(keep_draft=app.keep_draft)
        remember(document.path)
    for notice in document.notices:
        tell(f"tabterm: {notice}")
    return _fault(app.fault, document.path) if app.fault else 0


def _offer() -> int:
    """Offer what can be opened, and do what was chosen."""
    from tabterm.cli.main import main
    from tabterm.cli.start import chosen

    words = chosen()
    return main(words) if words else 0


def _environment(arguments: argparse.Namespace) -> dict[str, str]:
    """The environment, with what the command says about colours."""
    colours = getattr(arguments, "color", "auto")
    if colours == "auto":
        return dict(os.environ)
    rest = {name: value for name, value in os.environ.items() if name not in {"NO_COLOR", "FORCE_COLOR"}}
    return rest | {"NO_COLOR" if colours == "never" else "FORCE_COLOR": "1"}


def _first(arguments: argparse.Namespace) -> First | None:
    """The document's first picture, on the screen where one is known; the rest is loaded behind it."""
    from tabterm.tui.terminal import abilities
    from tabterm.tui.terminal.first import First

    asked = [arguments.look, arguments.plain, *choice_of(arguments).values()]
    first = First.of(arguments.file, abilities.detect(_environment(arguments)), asked)
    if first is not None:
        end_by_signals(first.give_back)
        first.show()
    return first


def loaded(arguments: argparse.Namespace, first: First | None = None) -> tuple[TabtermApp, bool]:
    """The application with the document open, and whether it watches the mouse."""
    for name, value in TOOLKIT.items():
        os.environ.setdefault(name, value)
    from tabterm.piece import configuration
    from tabterm.piece.player import Player
    from tabterm.piece.practice import Practice
    from tabterm.tui.terminal import abilities
    from tabterm.workspace.document import Document
    from tabterm.workspace.transport import Transport

    settings, faults = configuration.tolerated()
    names = settings.chords.names

    def begun() -> Score:
        from tabterm.piece.piece import blank

        return blank(chord_names=names)

    document = Document.open(
        arguments.file,
        Player.of(settings),
        blank=begun,
        choice=choice_of(arguments),
        chord_names=names,
    )
    document.notices += [f"{fault}; the default is used" for fault in faults]
    sound = settings.sound
    practice = Practice(
        count_in=sound.count_in, click=sound.click, parts=sound.parts, style=sound.style, groove=sound.groove
    ).with_tone(sound.tone)
    transport = Transport(output=settings.sound.output, practice=practice, manners=settings.manners)
    look, plain = arguments.look or settings.screen.theme, arguments.plain or settings.screen.plain
    terminal = abilities.detect(_environment(arguments), settings.screen.characters)
    if first is not None and first.picture is None and not document.notices:
        from tabterm.tui.opening import picture

        first.draw(picture(document, transport, look, terminal, plain=plain), terminal)
    from tabterm.tui.app import TabtermApp
    from tabterm.workspace.keymap import Keymap

    keymap = Keymap(settings.keys, configuration.place_of)
    document.notices += [f"{fault}; the default is used" for fault in keymap.faults]
    app = TabtermApp(document, transport, keymap, look=look, abilities=terminal)
    app.take_over(first)
    app.session.sheets.settings, app.session.sheets.output = settings.sheet, settings.sound.output
    app.session.shown.plain = plain
    return app, settings.screen.mouse


def _fault(trace: str, path: Path) -> int:
    """Keep the trace of a fault for a report, and say in a line that nothing is lost."""
    import platformdirs

    from tabterm.errors import StorageError
    from tabterm.storage.opening import make_own_folder
    from tabterm.storage.whole import atomic_write

    log = platformdirs.user_log_path("tabterm") / "fault.txt"
    try:
        make_own_folder(log.parent)
        atomic_write(log, trace.encode())
        where = f"details are in {log}"
    except (OSError, StorageError):
        where = trace.strip().splitlines()[-1]
    tell(f"tabterm: the editor has crashed; your work is kept: open {path.name} again ({where})")
    return 1


def end_by_signals(*last: Callable[[], None]) -> None:
    """Handle SIGHUP, SIGTERM and SIGQUIT: carry out what is to be done last, in this order, and end.

    The handlers run in the main thread even while the event loop is blocked on a terminal that does not drain, so
    they do the least that loses nothing: append and fsync, silence, give the terminal back if it takes that at
    once, exit.

    The exit status is 128 + the signal; by SIGQUIT the process dies, so that whoever wants a core dump gets it.
    Must be called from the main thread. Each callback must return within a tenth of a second; what it raises is
    dropped, so that the others still run.
    """

    def end(number: int, _frame: FrameType | None) -> None:
        for act in last:
            with suppress(Exception):
                act()
        if number == signal.SIGQUIT:
            signal.signal(number, signal.SIG_DFL)
            os.kill(os.getpid(), number)
        os._exit(128 + number)

    for number in (signal.SIGHUP, signal.SIGTERM, signal.SIGQUIT):
        signal.signal(number, end)
