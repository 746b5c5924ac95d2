"""The cheat sheet: keys of the editor and commands of the shell on two printed pages, in the fonts of a sheet."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tabterm.cli.examples import EXAMPLES
from tabterm.cli.subcommands import COMMANDS
from tabterm.sheet import fonts, typesetter
from tabterm.workspace import commands  # noqa: F401 - importing it fills the registry
from tabterm.workspace.keymap import ANYWHERE, Keymap
from tabterm.workspace.registry import REGISTRY, Group

if TYPE_CHECKING:
    from collections.abc import Iterator

TITLE = "tabterm: keys and commands"
HEAD = f"""#set document(title: "{TITLE}", author: "The tabterm authors", date: none)
#set page(paper: "a4", flipped: true, margin: (x: 10mm, y: 9mm), columns: 3)
#set columns(gutter: 6mm)
#set text(lang: "en", font: "{fonts.TEXT}", size: 8pt)
#set par(leading: 0.42em)
#show heading.where(level: 1): set text(size: 13pt)
#show heading.where(level: 2): set text(size: 9.5pt)
#show heading: set block(above: 0.9em, below: 0.5em)
#let rows(..cells) = grid(columns: (26mm, 1fr), column-gutter: 2mm, row-gutter: 0.42em, ..cells)
= {TITLE}
"""


def _words(text: str, *, strong: bool = False) -> str:
    """A text as a cell."""
    written = json.dumps(text, ensure_ascii=False)
    return f"strong({written})" if strong else f"text({written})"


def _rows(title: str, rows: list[tuple[str, str]]) -> str:
    cells = ", ".join(f"{_words(keys, strong=True)}, {_words(told)}" for keys, told in rows)
    return f"== {title}\n#rows({cells})\n"


def _keys() -> Iterator[str]:
    """A block for each group of commands, with those that have a key."""
    keymap = Keymap()
    for group in Group:
        found = [
            (
                "   ".join(
                    f"{key} {word}".rstrip() + ("" if context == ANYWHERE else f" ({context})")
                    for context, key, word in keymap.keys_of(command.name)
                ),
                command.title,
            )
            for command in REGISTRY.values()
            if command.group is group and keymap.keys_of(command.name)
        ]
        if found:
            yield _rows(group.value, found)


def source() -> str:
    """The document, as the typesetter reads it."""
    shell = [(f"tabterm {name}", entry.help) for name, entry in COMMANDS.items()]
    first = [
        next(iter(EXAMPLES[name].items())) for name in ("show", "check", "play", "render", "handout", "sheet")
    ]
    typed = "\n\n".join(f"#{_words(line, strong=True)} #linebreak() #{_words(told)}" for line, told in first)
    return HEAD + "".join(_keys()) + _rows("In a shell", shell) + f"== For example\n{typed}\n"


def cheat_sheet() -> bytes:
    """It as a tagged PDF."""
    return typesetter.pdf(source(), {}).files[0]
