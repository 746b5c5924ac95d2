"""Random work on a document, the same for the same seed."""

from __future__ import annotations

import os
import random
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError, StorageError
from tabterm.score import operations as do
from tabterm.score.duration import EIGHTH
from tabterm.score.model import Note
from tabterm.score.place import Place
from tabterm.workspace.document import Document
from tests.build import PLAYER, score

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tabterm.score.model import Score


def blank() -> Score:
    return score("1", "1", "1")


def opened(path: Path) -> Document:
    return Document.open(path, PLAYER, blank=blank)


def steps(document: Document, seed: int) -> Iterator[str]:
    """Edits, undos and saves without end; each has been acknowledged when its name is given."""
    draw = random.Random(seed)
    while True:
        kind, place = draw.random(), Place(draw.randrange(len(document.score.measures)))
        name = "note"
        try:
            if kind < 0.1:
                name = "undo"
                document.undo()
            elif kind < 0.15:
                name = "redo"
                document.redo()
            elif kind < 0.2:
                name = "save"
                document.save()
            elif kind < 0.25:
                name = "insert"
                document.apply(do.insert_measures(document.score, place.measure), name)
            elif kind < 0.3 and len(document.score.measures) > 2:
                name = "delete"
                document.apply(do.delete_measures(document.score, place.measure, place.measure), name)
            elif kind < 0.33:
                name = "title"
                document.apply(do.set_title(document.score, f"Kiln Lane {draw.randrange(99)}"), name)
            else:
                note = Note(course=draw.randint(1, 4), fret=draw.randint(0, 20))
                document.apply(do.put_note(document.score, place, note, EIGHTH), name)
        except (ScoreError, StorageError):
            name = "refused"
        yield name


def let_go(document: Document) -> None:
    """What the death of a process does: locks and files are let go, and nothing is tidied."""
    if document._lock is not None:
        os.close(document._lock._descriptor)
        document._lock = None
    keeper = document._keeper
    for file in (*([keeper.journal.file] if keeper.journal else []), *keeper._left):
        file.close()
    keeper.journal, keeper._keeps = None, False
    keeper._left.clear()
