"""Names of files beside a document, and in the user's own folder where nothing can stand beside it."""

from __future__ import annotations

import hashlib
import os
from typing import TYPE_CHECKING

import platformdirs

if TYPE_CHECKING:
    from pathlib import Path

LONGEST = 255
"""Bytes of a name on usual file systems (POSIX NAME_MAX of ext4, XFS, APFS); `limit` asks the folder itself."""

_KEY = 16


def beside(path: Path, kind: str) -> Path:
    """The hidden file of a kind beside a document, `.NAME.KIND`; see `fitted` for a long name."""
    return path.with_name(fitted(f".{path.name}", f".{kind}", path.parent))


def away(path: Path, kind: str, mark: str = "") -> Path:
    """The file of a kind in the user's own state folder; a mark tells several from each other."""
    folder = own_folder(kind)
    return folder / fitted(f"{_key(path)}-{path.name}", f".{mark}.{kind}" if mark else f".{kind}", folder)


def own_folder(kind: str) -> Path:
    """The folder of a kind of file in the user's own state folder."""
    return platformdirs.user_state_path("tabterm") / f"{kind}s"


def fitted(stem: str, ending: str, folder: Path) -> str:
    """A name of a stem and an ending; a stem too long for the folder is cut and told from others by a digest."""
    room = limit(folder) - len(os.fsencode(ending))
    whole = os.fsencode(stem)
    if len(whole) <= room:
        return stem + ending
    mark = "~" + hashlib.sha256(whole).hexdigest()[:_KEY]
    return whole[: room - len(mark)].decode(errors="ignore") + mark + ending


def limit(folder: Path) -> int:
    """The bytes of the longest name in a folder."""
    try:
        return os.pathconf(folder, "PC_NAME_MAX")
    except (OSError, ValueError):
        return LONGEST


def _key(path: Path) -> str:
    return hashlib.sha256(os.fsencode(path)).hexdigest()[:_KEY]
