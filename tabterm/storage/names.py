"""Names of files: as the player types them, those of documents, and those beside a document."""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from pathlib import Path

import platformdirs

from tabterm.errors import StorageError

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


NATIVE = ".tabterm"


def file_named(text: str) -> Path:
    """The file of a name, `~` standing for a home folder; raises StorageError for what can be no file."""
    name = text.strip()
    try:
        path = Path(name).expanduser()
    except RuntimeError:
        hint = f"write ./{name} for a file of that name"
        raise StorageError(f"no such home folder: '{name}'", hint=hint) from None
    if not path.name:
        raise StorageError("no file name given", hint="name a file")
    return path


def free_file(folder: Path, text: str) -> Path:
    """A file that is not there yet, in a folder where the name has none; raises StorageError."""
    path = folder / file_named(text)
    if path.exists():
        raise StorageError(f"{path.name} already exists", hint="choose another name")
    return path


def check_free(path: Path, *, force: bool) -> None:
    """Raise StorageError where a file would be written over by mistake."""
    if path.exists() and not force:
        raise StorageError("the file already exists", place=str(path), hint="--force overwrites it")


def existing_or_new(path: Path) -> Path:
    """The path of a file that is there, or of a document to be made: a name without an ending gets the native one.

    Raises:
        StorageError: No file is there, and the ending is that of no document.
    """
    if path.suffix.lower() == NATIVE or os.path.exists(path):  # noqa: PTH110 - Path.exists fails in a closed folder
        return path
    if path.suffix:
        raise StorageError("no such file", place=str(path), hint=f"a new document has the extension {NATIVE}")
    return path.with_suffix(NATIVE)


def free_name(path: Path) -> Path:
    """The path itself, or the first of `NAME-2`, `NAME-3` ... that is not taken."""
    candidate, number = path, 2
    while candidate.exists():
        candidate = path.with_name(f"{path.stem}-{number}{path.suffix}")
        number += 1
    return candidate


LONGEST_STEM = 60
"""Bytes of a file's name made of a title, before what is put round it; tuned here."""

RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}
)
"""Names that mean devices on Windows, whatever their ending (Microsoft, "Naming Files, Paths, and Namespaces")."""


def named_after(title: str, more: str = "") -> str:
    """A name for a file made of a title, which every system takes: letters and digits of any script, and hyphens.

    So it holds no separator, no dot and no sign that is not seen. `more` stays whole at its end, however long the
    title is.
    """
    end = f"-{_plain(more)}" if _plain(more) else ""
    room, stem = LONGEST_STEM - len(end.encode()), ""
    for letter in _plain(title):
        room -= len(letter.encode())
        if room < 0:
            break
        stem += letter
    name = (stem.strip("-") or "untitled") + end
    return f"{name}-" if name in RESERVED else name


ENDING = re.compile(r"(?<=\w)['\u2019\u02bc](?=(?:s|t|d|m|ll|re|ve)\b)")
"""An apostrophe before an ending that English writes on to a word: `ferrymans-jig`, but `l-île`."""


def _plain(text: str) -> str:
    """Small letters, marks and digits that the file system can write, in words with hyphens between."""
    kept, small = "", unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).lower())
    for sign in ENDING.sub("", small):
        kind = unicodedata.category(sign)
        if kind != "Cf":  # not seen, and some of it turns the direction of what is
            kept += sign if kind[0] in "LMN" and _writable(sign) else "-"
    return "-".join(filter(None, kept.split("-")))


def _writable(sign: str) -> bool:
    """Whether the encoding of the file system has a sign."""
    try:
        os.fsencode(sign)
    except UnicodeEncodeError:
        return False
    return True
