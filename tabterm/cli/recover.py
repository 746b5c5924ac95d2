"""`tabterm recover`: unsaved work that was put aside, or left by an editor that has ended."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import STDIN, add_json, check_one_answer
from tabterm.cli.output import to_pipe
from tabterm.cli.scores import check_out, tell_files
from tabterm.errors import StorageError
from tabterm.formats import native
from tabterm.storage.names import NATIVE, free_name
from tabterm.storage.refusals import refusal
from tabterm.storage.whole import atomic_write
from tabterm.workspace import drafts

if TYPE_CHECKING:
    import argparse

    from tabterm.workspace.drafts import Draft


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "file", type=Path, nargs="?", help="a score (without it: all in this folder and in your state folder)"
    )
    add_json(parser)
    chosen = parser.add_mutually_exclusive_group()
    chosen.add_argument("--take", type=int, metavar="N", help="save number N of the list to a new file")
    chosen.add_argument("--remove", type=int, metavar="N", help="delete number N of the list")
    parser.add_argument(
        "-o", "--out", type=Path, metavar="OUT", help="with --take: the file to write; - for standard output"
    )
    parser.add_argument("--force", action="store_true", help="with -o: overwrite an existing file")


def run(arguments: argparse.Namespace) -> int:
    """List what there is, or take or throw away one of it."""
    path = None if arguments.file is None else Path(os.path.realpath(arguments.file))
    found = drafts.kept(path)
    check_one_answer(arguments.out, as_data=arguments.json)
    if arguments.take is not None:
        target = _take(_numbered(found, arguments.take), arguments.out, force=arguments.force)
        if target != STDIN:
            tell_files([target], as_data=arguments.json)
    elif arguments.remove is not None:
        gone = _numbered(found, arguments.remove)
        _remove(gone)
        answer = {"removed": str(gone.place)}
        print(printable.as_json(answer, indent=2) if arguments.json else f"{gone.place}: removed")
    elif arguments.json:
        print(printable.as_json([_as_data(number, draft) for number, draft in enumerate(found, 1)], indent=2))
        return 0
    elif not found:
        print(f"no unsaved work was put aside{'' if path is None else f' of {arguments.file}'}")
    for number, draft in enumerate(found, 1):
        if arguments.take is None and arguments.remove is None:
            print(f"{number}  {draft.said}: {draft.document or draft.place}")
    return 0


def _as_data(number: int, draft: Draft) -> dict[str, object]:
    document = None if draft.document is None else str(draft.document)
    return {"number": number, "document": document, "journal": str(draft.place), "written": draft.written}


def _numbered(found: list[Draft], number: int) -> Draft:
    if not 1 <= number <= len(found):
        raise StorageError(f"no number {number}", hint="`tabterm recover` lists the numbers")
    return found[number - 1]


def _take(draft: Draft, out: Path | None, *, force: bool) -> Path:
    score = draft.rebuilt()
    if score is None:
        hint = "restore that file, then try again"
        raise StorageError("the file it was based on is missing or has changed", place=str(draft.place), hint=hint)
    if out == STDIN:
        to_pipe(native.write(score), is_text=True)
        return out
    if out is not None:
        check_out(out, force=force)
    document = draft.document or Path(draft.place.name)
    target = out or free_name(document.with_name(f"{document.stem}-recovered{NATIVE}"))
    atomic_write(target, native.write(score), like=document if document.exists() else None)
    return target


def _remove(draft: Draft) -> None:
    try:
        draft.remove()
    except OSError as error:
        raise refusal(error, draft.place) from error
