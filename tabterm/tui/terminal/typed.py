"""What is handed its keys one by one, in the order they were typed, instead of through a queue of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.screen import ModalScreen, ScreenResultType
from textual.widgets import Input

if TYPE_CHECKING:
    from textual.events import Key
    from textual.widget import Widget


async def carried_out(event: Key, *owners: Widget) -> bool:
    """Carry out what the first owner with a binding of a key binds it to; False where none has one."""
    for owner in owners:
        bindings = owner._bindings.key_to_bindings.get(event.key)  # noqa: SLF001 - no public way to look one up
        if bindings:
            await owner.run_action(bindings[0].action)
            return True
    return False


class Panel(ModalScreen[ScreenResultType]):
    """A screen over the score on which nothing is typed: a key does what it or its focused widget binds it to."""

    async def take_key(self, event: Key) -> None:
        """Carry a key out; one that is bound to nothing does nothing."""
        await carried_out(event, self, *([] if self.focused is None else [self.focused]))


class Awaited(ModalScreen[ScreenResultType]):
    """A screen over the score that carries no key out before it is there: what is typed ahead waits."""

    awaited = True
    """Whether it is not there yet."""

    def __init__(self) -> None:
        super().__init__()
        self._ahead: list[Key] = []

    def begin(self) -> None:
        """Fill it, once it is there."""

    async def carry_out(self, event: Key) -> None:
        """Carry a key out, once it is there."""
        raise NotImplementedError

    async def on_mount(self) -> None:
        """Begin, and carry out what was typed ahead; a key that closes it leads on to the score."""
        self.begin()
        self.awaited = False
        for event in self._ahead:
            await self.app.on_event(event)

    async def take_key(self, event: Key) -> None:
        """Carry a key out, or let it wait."""
        if self.awaited:
            self._ahead.append(event)
        else:
            await self.carry_out(event)


class Typing(Input):
    """A line to type on.

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
        if not await carried_out(event, *owners):
            await self._on_key(event)
