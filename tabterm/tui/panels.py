"""Panels: what can be laid over the score, as one table."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from textual.screen import ModalScreen
from textual.widgets import Input

from tabterm.dataclass import dataclass
from tabterm.page.rows import COURSE
from tabterm.tui.keys import LEADING, key_name
from tabterm.workspace import drafts
from tabterm.workspace.keymap import ANYWHERE

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.events import Key
    from textual.screen import Screen

    from tabterm.hand.finding import Finding
    from tabterm.tui.app import TabtermApp
    from tabterm.workspace.drafts import Draft


@dataclass(frozen=True, slots=True)
class PanelEntry:
    """A panel as it is laid over the score.

    Attributes:
        load: Gives its class, which is loaded when it is first wanted, or behind the first screen.
        shows: What the class is made with; None where there is nothing to show or to ask.
        then: What its answer leads to; None where it asks nothing.
    """

    load: Callable[[], Callable[..., Screen[Any]]]
    shows: Callable[[TabtermApp], tuple[object, ...] | None]
    then: Callable[[TabtermApp, Any], None] | None = None


def lay(app: TabtermApp, name: str) -> None:
    """Lay a panel over the score, by its name in the table."""
    panel = PANELS[name]
    shown = panel.shows(app)
    if shown is not None:
        app.push_screen(panel.load()(*shown), None if panel.then is None else partial(panel.then, app))


# Keys that lead on from them


def leading(app: TabtermApp, event: Key) -> str:
    """The command of `LEADING` that a key runs here; "" where it is typed, or answers a question."""
    screen, key = app.screen, key_name(event)
    name = app.keymap.find(ANYWHERE, key) or ""
    types = name == opener(screen) or any(line.display for line in screen.query(Input))
    typed = event.is_printable and (key != "?" or types)
    waits = getattr(screen, "awaited", False) or getattr(screen, "ASKS", False)
    return "" if typed or waits or name not in LEADING else name


def opener(screen: Screen[Any]) -> str:
    """The command that has opened a panel, where its key closes it."""
    return getattr(screen, "OPENER", "")


def lead_on(app: TabtermApp, name: str) -> None:
    """Carry a command of `LEADING` out over a panel, or close the panel that it has opened."""
    if name == opener(app.screen):
        app.screen.dismiss(None)
        return
    if name == "quit":
        close(app)
    app.keys.run(name)


def close(app: TabtermApp) -> None:
    """Close all panels, without an answer."""
    while isinstance(app.screen, ModalScreen):
        getattr(app.screen, "leave", partial(app.screen.dismiss, None))()


# Their classes


def _help() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.commands import HelpScreen

    return HelpScreen


def _palette() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.commands import PaletteScreen

    return PaletteScreen


def _findings() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.findings import FindingsScreen

    return FindingsScreen


def _practice() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.practice import PracticeScreen

    return PracticeScreen


def _record() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.record import RecordScreen

    return RecordScreen


def _neck() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.neck import NeckScreen

    return NeckScreen


def _invent() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.invent import InventScreen

    return InventScreen


def _neck_heard() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.neck_heard import NeckHeardScreen

    return NeckHeardScreen


def _phrase_book() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.phrase_book import PhraseBookScreen

    return PhraseBookScreen


def _leave() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.questions import LeaveScreen

    return LeaveScreen


def _doubt() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.questions import DoubtScreen

    return DoubtScreen


def _recover() -> Callable[..., Screen[Any]]:
    from tabterm.tui.screens.questions import RecoverScreen

    return RecoverScreen


# What they are made with, and what their answers lead to


def _what_doubt(app: TabtermApp) -> tuple[object, ...] | None:
    doubt = app.session.doubt
    return None if doubt is None else (doubt, app.session.document.path)


def _heard_shown(app: TabtermApp) -> tuple[object, ...]:
    from tabterm.recording.audio import Recording

    return app.session, Recording.opened(app.session.recording.path), app.keys.run


def _recording_shown(app: TabtermApp) -> tuple[object, ...]:
    return *_heard_shown(app), lambda: app.front.message_line.message


def _run_by_name(app: TabtermApp, name: str | None) -> None:
    if name is not None:
        close(app)
        app.keys.run(name)


def _insert_phrase(app: TabtermApp, number: str | None) -> None:
    from tabterm.tui.screens.phrase_book import NEW

    if number == NEW:
        app.open_panel("invent")
    elif number is not None:
        app.keys.run("insert-phrase", number)


def _go_to_finding(app: TabtermApp, finding: Finding | None) -> None:
    if finding is None:
        return
    hand, here = app.session.hand, app.session.here
    found = hand.findings()
    hand.finding_index = found.index(finding) if finding in found else None
    here.cursor = here.cursor.at(finding.place)
    if finding.course:
        here.cursor = here.cursor.on(COURSE, finding.course)
    app.sync()


def _leave_by(app: TabtermApp, way: str | None) -> None:
    if way == "save":
        app.keys.run("save")
        if app.session.document.unsaved:
            return
    if way == "draft" and not app.upkeep.keeps_draft():
        return
    if way is not None:
        app.leave(keep_draft=way == "draft")


def _take_in(app: TabtermApp, draft: Draft | None) -> None:
    if draft is not None:
        app.session.take_in(draft)
        app.sync()


PANELS: dict[str, PanelEntry] = {
    "help": PanelEntry(_help, lambda app: (app.keymap,)),
    "palette": PanelEntry(_palette, lambda app: (app.keymap,), _run_by_name),
    "findings": PanelEntry(_findings, lambda app: (app.session, app.sync, app.hand_watch.wonder), _go_to_finding),
    "practice": PanelEntry(_practice, lambda app: (app.session,)),
    "recording": PanelEntry(_record, _recording_shown),
    "neck": PanelEntry(_neck, lambda app: (app.session,)),
    "invent": PanelEntry(_invent, lambda app: (app.session, app.sync)),
    "neck-heard": PanelEntry(_neck_heard, _heard_shown),
    "phrase-book": PanelEntry(_phrase_book, lambda app: (app.session,), _insert_phrase),
    "leave": PanelEntry(_leave, lambda app: (app.session.document.path.name,), _leave_by),
    "doubt": PanelEntry(_doubt, _what_doubt, _run_by_name),
    "recover": PanelEntry(_recover, lambda app: (drafts.kept_aside(app.session.document.path),), _take_in),
}
"""Every panel by the name that commands open it by."""
