"""The scores that were open last, for who begins without naming one."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from tabterm import printable
from tabterm.errors import TabtermError
from tabterm.parsing import json_of
from tabterm.storage.names import own_folder
from tabterm.storage.opening import make_own_folder, read
from tabterm.storage.whole import atomic_write

MOST = 9
"""So many are remembered: as many as there are digits to choose one by."""

MOST_BYTES = 100_000


def recent() -> list[Path]:
    """Those that are still there, the last one first."""
    try:
        found = json_of(read(_file(), most=MOST_BYTES))
    except (OSError, TabtermError):
        return []
    names = found if isinstance(found, list) else []
    return [Path(name) for name in names[:MOST] if isinstance(name, str) and Path(name).is_file()]


def remember(path: Path) -> None:
    """Put a score first; a disk that refuses costs no more than this list."""
    place = path.absolute()
    kept = [place, *(each for each in recent() if each != place)][:MOST]
    with suppress(OSError, TabtermError):
        make_own_folder(_file().parent)
        atomic_write(_file(), printable.as_json([str(each) for each in kept]).encode())


def _file() -> Path:
    return own_folder("recent") / "scores.json"
