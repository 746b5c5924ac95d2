"""tabterm: a terminal tab editor with playback for four-course instruments tuned in fifths.

The library, in five lines:

    import tabterm

    piece = tabterm.open("solo.musicxml", player=tabterm.Player.mine())
    for finding in piece.findings():
        print(finding.message)
    piece.fingered().write("solo.txt")

What is named here is public and kept stable by semantic versioning; all other modules may change.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tabterm.errors import TabtermError
from tabterm.version import __version__

if TYPE_CHECKING:
    import os

    from tabterm.piece.phrase_book.library import PhraseBook
    from tabterm.piece.piece import Piece
    from tabterm.piece.player import Player

__all__ = ["PhraseBook", "Piece", "Player", "TabtermError", "__version__", "new", "open"]


def open(  # noqa: A001 - reads as a verb: tabterm.open
    path: str | os.PathLike[str], *, player: Player, chord_names: str | None = None, **choice: Any
) -> Piece:
    """Open a file in any format that can be read, as a piece; see `tabterm.piece.piece.opened`."""
    from tabterm.piece.piece import opened

    return opened(path, player, chord_names=chord_names, **choice)


def new(*, player: Player, **wishes: Any) -> Piece:
    """A new piece of empty measures; see `tabterm.piece.piece.new`."""
    from tabterm.piece.piece import new

    return new(player, **wishes)


def __getattr__(name: str) -> Any:
    """Load the rest of the library when it is first asked for: `tabterm --help` does without."""
    if name == "Piece":
        from tabterm.piece.piece import Piece

        return Piece
    if name == "PhraseBook":
        from tabterm.piece.phrase_book.library import PhraseBook

        return PhraseBook
    if name == "Player":
        from tabterm.piece.player import Player

        return Player
    raise AttributeError(f"module 'tabterm' has no attribute '{name}'")
