"""The sheet of an open document: written beside it, shown where the player sits, written anew on each save."""

from __future__ import annotations

import os
from threading import Lock
from typing import TYPE_CHECKING

from tabterm.errors import TabtermError
from tabterm.piece.configuration import SheetSettings
from tabterm.sound.outputs import over_ssh

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tabterm.score.model import Score
    from tabterm.workspace.document import Document

    Progress = Callable[[float], None]

WRITTEN = 0.5
"""The part of the work that is done when a sheet is written and is still to be sent."""


class Sheets:
    """Writes the sheet of a document.

    Attributes:
        settings: What kind of file it is, and what opens it.
        output: The output that is configured for the sound; a listener that it names takes sheets, too.
        live: It is written anew on each save.
    """

    def __init__(self, document: Document) -> None:
        self._document = document
        self.settings, self.output, self.live = SheetSettings(), "auto", False
        self._writing = Lock()
        self._wanted = 0
        self._marks: dict[Path, tuple[int, int]] = {}

    @property
    def path(self) -> Path:
        """Where it is written: beside the document, under its name."""
        return self._document.path.with_suffix(f".{self.settings.format}")

    def would_replace(self) -> bool:
        """Whether a file is there that was not written here, or has been changed since."""
        path = _first_page(self.path)
        found = _mark(path)
        return found is not None and found != self._marks.get(path)

    def job(self, score: Score, *, opens: bool) -> Callable[[Progress], str]:
        """Long work that writes a score's sheet and shows it; one that was asked for later goes before it."""
        self._wanted += 1
        number, path = self._wanted, self.path

        def write(progress: Progress) -> str:
            from tabterm.piece.sheet import paper_of
            from tabterm.piece.targets import target_of

            with self._writing:
                if number < self._wanted:
                    return f"written: {path.name}"  # by the one that was asked for later
                target = target_of(path)
                told = {"paper": paper_of(self.settings.paper)} if target.printed else {}
                report = target.write(path, score, **told)
                page = _first_page(path)
                if (mark := _mark(page)) is not None:
                    self._marks[page] = mark
                progress(WRITTEN)
                return "; ".join((self._shown(page, progress, opens=opens), *report.lines(score)))

        return write

    def _shown(self, path: Path, progress: Progress, *, opens: bool) -> str:
        """Show a sheet that is written, and say where it is."""
        from tabterm.piece import viewing
        from tabterm.sound.remote import delivery

        is_far = over_ssh() and self.settings.opener == viewing.AUTOMATIC
        if is_far and delivery.can_travel(path.name) and (line := delivery.line_of(self.output)) is not None:
            return f"written: {path.name}; {self._sent(line, path, progress, opens=opens)}"
        command = None if is_far or not opens else viewing.viewer(self.settings.opener, os.environ)
        if command is None:
            return f"written: {path.absolute() if opens else path.name}"
        viewing.view(command, path)
        return f"written and opened: {path.name}"

    def _sent(self, line: str, path: Path, progress: Progress, *, opens: bool) -> str:
        """Send a sheet to the machine of a listener, and say what became of it; it is written all the same."""
        from tabterm.sound.remote import delivery
        from tabterm.sound.remote.inspection import MOST_SHEET_BYTES
        from tabterm.storage import opening

        def arrived(part: float) -> None:
            progress(WRITTEN + part * (1 - WRITTEN))

        try:
            data = opening.read(path, most=MOST_SHEET_BYTES)
            return f"at the listener: {delivery.send(line, path.name, data, opens=opens, progress=arrived)}"
        except (TabtermError, OSError) as error:
            return f"not sent: {error}"


def _first_page(path: Path) -> Path:
    """The file itself or, of pictures with one a page, the first of them."""
    first = path.with_name(f"{path.stem}-1{path.suffix}")
    return first if first.exists() and not path.exists() else path


def _mark(path: Path) -> tuple[int, int] | None:
    """What tells a file from another that is put there; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns
