"""Commands that hand music to other programs: the clipboard of the machine that the player sits at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.place import display_number
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("copy-out", "Copy the measures of the selection, as text, to your terminal's clipboard", Group.SELECT)
def copy_out(session: Session) -> None:
    """Hand the terminal a clean text tab of the measures; the selection stays."""
    from tabterm.formats.text.excerpt import excerpt

    first, last = session.here.measures()
    text = excerpt(session.score, first, last)
    session.host.to_clipboard(text)
    low, high = (display_number(session.score, index) for index in (first, last))
    where = f"m{low}" if low == high else f"m{low}-{high}"
    session.host.say(f"{where} sent to your terminal's clipboard: {len(text):,} characters")
