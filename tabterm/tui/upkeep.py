"""What goes on by the clock: what waits until the keys rest, and what moves with the sound."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.screen import ModalScreen

from tabterm.workspace.outside import words

if TYPE_CHECKING:
    from asyncio import TimerHandle

    from textual.timer import Timer

    from tabterm.tui.app import TabtermApp


IDLE_S = 0.25
"""How long the keys must rest before the journal is forced to disk and remedies are tried."""


class Upkeep:
    """Runs once after each burst of keys."""

    def __init__(self, app: TabtermApp) -> None:
        self._app = app
        self._waiting: TimerHandle | None = None

    def put_off(self) -> None:
        """A key has come: wait until they rest."""
        self.call_off()
        self._waiting = self._app.after(IDLE_S, self.run)

    def call_off(self) -> None:
        """What would be seen to has been seen to."""
        if self._waiting is not None:
            self._waiting.cancel()

    def run(self) -> None:
        """The keys rest: force the journal to disk, try the remedies of the finding at the cursor."""
        app = self._app
        app.session.document.flush()
        self.look_outside(ask=False)
        app.session.rehearsal.settle()
        app.session.recording.settle()
        if app.session.shown.proposals:
            app.session.proposals.wonder(app.soon)
        self.tell_notices()
        if fault := app.hand_watch.fault():
            app.say(fault, trouble=True)
        app.hand_watch.wonder_here()
        app.hand_watch.sync_lines()

    def look_outside(self, *, ask: bool) -> None:
        """Say what another program has done to the file, or ask at once what to do."""
        app, session = self._app, self._app.session
        doubt = session.document.doubt()
        if doubt is session.doubt:
            return
        session.doubt = doubt
        if doubt is None:
            return
        if ask and not isinstance(app.screen, ModalScreen) and not app.keys.entry.is_open:
            app.open_panel("doubt")
        else:
            session.document.notices.append(f"{words(doubt, session.document.path)}: save asks what to do")

    def tell_notices(self) -> None:
        """Say what the document has to tell, until the next key."""
        notices = self._app.session.document.notices
        if notices:
            self._app.say("; ".join(notices), trouble=True)
            notices.clear()

    def keeps_draft(self) -> bool:
        """Whether all changes would be there the next time; says what hinders that."""
        document = self._app.session.document
        document.flush()
        if document.keeps_draft:
            return True
        self.call_off()
        document.notices.append("the changes cannot be kept: save-as elsewhere, or make room")
        self.tell_notices()
        self._app.hand_watch.sync_lines()
        return False


PLAYHEAD_S = 0.1
"""How often the playhead is looked at while something sounds."""


class Playhead:
    """Moves with the sound, whose transport does nothing by itself."""

    def __init__(self, app: TabtermApp) -> None:
        self._app = app
        self._timer: Timer | None = None

    def begin(self) -> None:
        """Be ready; asleep at first."""
        self._timer = self._app.set_interval(PLAYHEAD_S, self._follow, pause=True)

    def wake(self) -> None:
        """Follow what has been asked to sound, also where that has failed already: it is still to be told."""
        if self._timer is not None and self._app.session.transport.asked:
            self._timer.resume()
            self._app.fit()

    def _follow(self) -> None:
        """Move; fall asleep when the sound has ended."""
        app, transport = self._app, self._app.session.transport
        transport.look()
        app.front.score_view.show_sound()
        app.front.status_line.sync()
        if not transport.playing:
            transport.asked = False
            if self._timer is not None:
                self._timer.pause()
            app.fit()
            if transport.trouble:
                app.say(transport.trouble, trouble=True)
            app.upkeep.tell_notices()
            app.hand_watch.sync_lines()
