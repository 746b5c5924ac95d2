"""Showing a sheet: the program that opens it, and the folder for those that come from another machine."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from tabterm.errors import ConfigurationError, StorageError
from tabterm.storage.names import named_after
from tabterm.storage.opening import make_own_folder
from tabterm.storage.whole import atomic_write

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tabterm.piece.sheet_page import SheetPage

AUTOMATIC, NONE = "auto", "none"

MOST_SHEETS = 100
"""Files in the folder for sheets from another machine; tuned here."""

OPEN_EVERY_S = 1.0
"""So much time lies between two sheets from another machine that are opened; tuned here."""

Viewer = tuple[str, ...]
"""A command; the file is its last word."""


def viewer(setting: str, environment: Mapping[str, str]) -> Viewer | None:
    """The command that opens a sheet, by the word for it in the configuration; None where nothing does.

    Args:
        setting: A command; `auto`: what the desktop has for it; `none`.
        environment: Of this process; without a display there is no desktop (X(7): DISPLAY).

    Raises:
        ConfigurationError: The quotation marks of the command do not match.
    """
    if setting == NONE:
        return None
    if setting != AUTOMATIC:
        try:
            return tuple(shlex.split(setting)) or None
        except ValueError:
            raise ConfigurationError(f"not a command: {setting}", hint="check its quotation marks") from None
    if sys.platform == "darwin":
        return ("open",)
    has_screen = environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")
    return ("xdg-open",) if has_screen and shutil.which("xdg-open") else None


def view(command: Viewer, what: Path | str) -> None:
    """Open a file, or the address of a page, with a command in a process of its own that nobody waits for.

    Raises:
        StorageError: No such program.
    """
    try:
        process = subprocess.Popen(
            [*command, what if isinstance(what, str) else str(what.absolute())],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        hint = "set `opener` under [sheet] in the configuration"
        raise StorageError(
            f"cannot open it with {command[0]}: {error.strerror}", place=str(what), hint=hint
        ) from None
    threading.Thread(target=process.wait, daemon=True).start()  # so that no ended process is left


class Desk:
    """Keeps sheets that come from another machine, and opens them."""

    def __init__(self, folder: Path | None, command: Viewer | None, page: SheetPage | None = None) -> None:
        """Begin.

        Args:
            folder: Where they are kept; None for the user's own folder for what can be made anew.
            command: What opens them; None: they are kept alone.
            page: Shows the newest; then it is the page that is opened.
        """
        self.folder = folder or platformdirs.user_cache_path("tabterm") / "sheets"
        self._command = command
        self._page = page
        self._opened_s = -OPEN_EVERY_S

    def take(self, name: str, data: bytes, *, opens: bool) -> str:
        """Keep a sheet under its name, in place of the one before, and open it if asked to; says what was done.

        Raises:
            StorageError: The disk refused, too many are kept, or it cannot be opened.
        """
        path = self.folder / f"{named_after(Path(name).stem)}{Path(name).suffix.lower()}"
        try:
            make_own_folder(self.folder)
        except OSError as error:
            raise StorageError(f"cannot be made: {error.strerror}", place=str(self.folder)) from error
        if not path.exists() and sum(1 for _ in self.folder.iterdir()) >= MOST_SHEETS:
            raise StorageError(f"{MOST_SHEETS} sheets are kept", place=str(self.folder), hint="remove some")
        atomic_write(path, data)
        if self._page is not None:
            self._page.show(path.name, data)
        now_s = time.monotonic()
        if not opens or self._command is None or now_s - self._opened_s < OPEN_EVERY_S:
            return f"kept as {path}"
        self._opened_s = now_s
        view(self._command, path if self._page is None else self._page.url)
        return f"opened {path}"
