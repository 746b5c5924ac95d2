"""The first picture of a document that is new here: painted from its score before the toolkit is loaded."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from tabterm.tui.canvas import blank_line
from tabterm.tui.lines import Message, Status
from tabterm.tui.neck import Neck
from tabterm.tui.score_lines import ScoreLines
from tabterm.tui.shares import Shares
from tabterm.tui.terminal.abilities import size_of
from tabterm.tui.terminal.first import Picture
from tabterm.tui.terminal.modes import SCREEN
from tabterm.tui.terminal.wire import Wire
from tabterm.tui.theme import LOOKS
from tabterm.workspace.session import Session

if TYPE_CHECKING:
    from tabterm.tui.terminal.abilities import Abilities
    from tabterm.workspace.document import Document
    from tabterm.workspace.session import Host
    from tabterm.workspace.transport import Transport


def picture(
    document: Document,
    transport: Transport,
    look: str,
    abilities: Abilities,
    *,
    size: tuple[int, int] | None = None,
    plain: bool = False,
) -> Picture:
    """The screen that the editor will begin with, on this terminal or on one of another size."""
    columns, lines = size_of(SCREEN) if size is None else size
    session = Session(document, cast("Host", None), transport)  # nothing is asked of a screen yet
    session.shown.plain = plain
    pens, shares, wire = LOOKS[look], Shares.of(columns, lines, session), Wire(abilities, columns, lines)
    status = Status(session, pens, lambda: (columns, 1))
    score = ScoreLines(session, pens, lambda: shares.score)
    message, neck = (
        Message(session, pens, lambda: (columns, 1)),
        Neck(session, pens, lambda: (columns, shares.neck)),
    )
    neck.below, neck.tall = message, shares.tall
    message.lines_above, message.hand_above = shares.over, bool(shares.neck)
    score.pack()
    score.scroll()
    painted = [*status.paint(), *map(score.line, range(shares.score[1]))]
    painted += [blank_line(columns, pens.plain)] * shares.below
    painted += [*(neck.paint() if shares.neck else ()), *message.paint()]
    for y, line in enumerate(painted):
        wire.lay(0, y, line)
    region = score.region_of(session.here.cursor)
    return Picture(wire.wanted(), None if region is None else (region[0], 1 + region[1]))
