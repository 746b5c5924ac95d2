"""The playhead: looked at while something sounds, and asleep while nothing does."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.timer import Timer

    from tabterm.tui.app import TabtermApp

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
        """Follow what has begun to sound."""
        if self._timer is not None and self._app.session.transport.playing:
            self._timer.resume()

    def _follow(self) -> None:
        """Move; fall asleep when the sound has ended."""
        app, transport = self._app, self._app.session.transport
        transport.look()
        app.front.score_view.show_sound()
        app.front.status_line.sync()
        if not transport.playing:
            if self._timer is not None:
                self._timer.pause()
            if transport.trouble:
                app.say(transport.trouble, trouble=True)
            app.upkeep.tell_notices()
            app.hand_watch.sync_lines()
