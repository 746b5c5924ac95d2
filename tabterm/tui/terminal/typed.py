"""A line to type on whose keys come one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.screen import ModalScreen
from textual.widgets import Input

if TYPE_CHECKING:
    from textual.events import Key


class Typing(Input):
    """An input that is handed its keys one by one, instead of finding them in a queue of its own.

    Its cursor is the terminal's, which does not blink over the line; and the focus, which may come late, selects
    nothing of what was typed ahead.
    """

    def on_mount(self) -> None:
        """Send nothing while nothing is typed, and keep all that is."""
        self.cursor_blink = False
        self.select_on_focus = False

    async def take_key(self, event: Key) -> None:
        """Carry a key out: a binding of the modal screen round this line, or of the line, or a character."""
        owners = (self.screen, self) if isinstance(self.screen, ModalScreen) else (self,)
        for owner in owners:
            bindings = owner._bindings.key_to_bindings.get(event.key)  # noqa: SLF001 - no public way to look one up
            if bindings:
                await owner.run_action(bindings[0].action)
                return
        await self._on_key(event)
