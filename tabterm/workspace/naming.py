"""Names of files as the player types them."""

from __future__ import annotations

from pathlib import Path

from tabterm.errors import StorageError


def file_named(text: str) -> Path:
    """The file of a name, `~` standing for a home folder; raises StorageError for what can be no file."""
    name = text.strip()
    try:
        path = Path(name).expanduser()
    except RuntimeError:
        hint = f"./{name} is a file of that name"
        raise StorageError(f"there is no such home folder as in '{name}'", hint=hint) from None
    if not path.name:
        raise StorageError("no file name given", hint="name a file")
    return path


def free_file(folder: Path, text: str) -> Path:
    """A file that is not there yet, in a folder where the name has none; raises StorageError."""
    path = folder / file_named(text)
    if path.exists():
        raise StorageError(f"{path.name} is there already", hint="choose another name")
    return path
