"""Commands that hand music to other programs: the clipboard where the player sits, and the printed sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.score.place import display_number
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.workspace.session import Session


@command("copy-out", "Copy this measure or the selection as text to your terminal's clipboard", Group.SELECT)
def copy_out(session: Session) -> None:
    """Hand the terminal a clean text tab of the measures; the selection stays."""
    from tabterm.formats.text.excerpt import excerpt

    first, last = session.here.measures()
    text = excerpt(session.score, first, last)
    session.host.to_clipboard(text)
    low, high = (display_number(session.score, index) for index in (first, last))
    where = f"m{low}" if low == high else f"m{low}-{high}"
    session.host.say(f"{where} sent to your terminal's clipboard: {len(text):,} characters")


@command("sheet", "Print a sheet and open it on the machine you sit at", Group.FILE)
def sheet(session: Session) -> None:
    """Write the score as it stands beside its file; ask before a file is replaced that was not written here."""
    if not session.sheets.would_replace():
        write_sheet(session, opens=True)
        return
    question = f"{session.sheets.path.name} already exists: overwrite it?"
    session.host.ask(question, "no", lambda answer: _answered(session, answer), ("no", "yes"))


def _answered(session: Session, answer: str) -> None:
    if answer.strip().lower() in {"y", "yes"}:
        write_sheet(session, opens=True)
    else:
        session.host.say("sheet not written; save-as lets you choose another name")


@command("live-sheet", "Update the sheet on each save, or stop updating it", Group.FILE)
def live_sheet(session: Session) -> None:
    """Begin or end it; a viewer that follows its file shows each save."""
    session.sheets.live = not session.sheets.live
    name = session.sheets.path.name
    session.host.say(f"each save updates {name}" if session.sheets.live else f"saves no longer update {name}")


def write_sheet(session: Session, *, opens: bool) -> None:
    """Write the sheet beside the keys."""
    session.host.work(session.sheets.job(session.score, opens=opens))


def follow_save(session: Session) -> None:
    """Write the sheet after a save, where that is asked for; a file that was not written here stays."""
    if not session.sheets.live:
        return
    if session.sheets.would_replace():
        name = session.sheets.path.name
        session.host.say(
            f"{name} is not from this editor and was not changed; the command 'sheet' replaces it", trouble=True
        )
    else:
        write_sheet(session, opens=False)
