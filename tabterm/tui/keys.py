"""Names of keys: from the terminal toolkit's events to the names that key bindings use."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.events import Key


def key_name(event: Key) -> str:
    """The character a key types, or its name (`left`, `ctrl+s`)."""
    if event.character == " ":
        return "space"
    if event.is_printable and event.character is not None:
        return event.character
    return event.key
