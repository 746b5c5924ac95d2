"""Making a folder of files so that either all of them come to be there, or none."""

from __future__ import annotations

import contextlib
import os
import shutil
from typing import TYPE_CHECKING

from tabterm.errors import StorageError
from tabterm.storage.refusals import refusal
from tabterm.storage.temporaries import clear_stale, hold, temporary

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@contextlib.contextmanager
def filling(folder: Path) -> Iterator[Path]:
    """A new folder beside `folder`, whose files go there when the block ends well, and are gone when it does not.

    Raises:
        StorageError: The disk refused; it names the folder, not the new one.
    """
    beside = folder.absolute()
    clear_stale(beside)
    try:
        new, descriptor = _made(beside)
        try:
            yield new
            _put(new, folder)
        except BaseException:
            shutil.rmtree(new, ignore_errors=True)
            raise
        finally:
            os.close(descriptor)
    except StorageError as error:
        place = error.place.replace(str(new), str(folder))
        raise StorageError(error.message, place=place, hint=error.hint) from error
    except OSError as error:
        raise refusal(error, folder) from error


def _made(beside: Path) -> tuple[Path, int]:
    """A new folder and a descriptor that holds it."""
    while True:
        new = temporary(beside)
        new.mkdir()
        descriptor = os.open(new, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC)
        if hold(descriptor, new):
            return new, descriptor
        os.close(descriptor)


def _put(new: Path, folder: Path) -> None:
    """Let a new folder take its place, or its files theirs in the folder that is there."""
    if not folder.is_dir():
        new.replace(folder)
        return
    for path in sorted(new.iterdir()):
        path.replace(folder / path.name)
    new.rmdir()
