"""What is offered when the editor is started without a file: samples, a new score, those here, those open last."""

from __future__ import annotations

from pathlib import Path

from tabterm.errors import TabtermError
from tabterm.storage.names import NATIVE

UNTITLED = Path(f"untitled{NATIVE}")
MOST_HERE = 9


def chosen() -> list[str]:
    """The words of the command that was chosen from the list; [] for none.

    Raises:
        TabtermError: What was typed is not on it.
    """
    offers = offered()
    width = max(len(words) for words, _ in offers)
    print("tabterm: no file named. Choose one by its number, or name a file:\n")
    for number, (words, what) in enumerate(offers, 1):
        print(f"  {number:2}  {words:{width}}  {what}".rstrip())
    print()
    try:
        answer = input("number or file (Enter: a new score, Ctrl-C: none): ").strip()
    except EOFError:
        return []
    return taken(answer, [words for words, _ in offers])


def offered() -> list[tuple[str, str]]:
    """What can be chosen: as it would be typed, and what it is."""
    from tabterm import formats
    from tabterm.piece.recent import recent

    offers = [("demo", "copy the samples into a folder, and open one")]
    offers.append((f"edit {UNTITLED}", "continue it" if UNTITLED.exists() else "a new score"))
    offers += [
        (f"edit {path}", "opened last" if not number else "opened earlier") for number, path in enumerate(recent())
    ]
    known = {words for words, _ in offers}
    here = sorted(each for each in Path().iterdir() if each.suffix.lower() in formats.FORMATS and each.is_file())
    offers += [(f"edit {path}", "in this folder") for path in here[:MOST_HERE] if f"edit {path}" not in known]
    return offers


def taken(answer: str, offers: list[str]) -> list[str]:
    """The words of the command that an answer means: a number, a file, nothing for a new score.

    Raises:
        TabtermError: No such number.
    """
    if not answer:
        return ["edit", str(UNTITLED)]
    if answer.isdecimal() and not Path(answer).exists():
        if not 1 <= int(answer[:4]) <= len(offers):
            raise TabtermError(f"no number {answer:.9}", hint=f"1 to {len(offers)}, or the name of a file")
        return offers[int(answer) - 1].split(" ", 1)
    return ["edit", answer]
