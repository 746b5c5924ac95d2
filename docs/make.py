"""Make the documents that are drawn from the program: the key table, the JSON Schema, the picture of the editor.

python docs/make.py            writes them
python docs/make.py keys       writes one of: keys, schema, picture
"""

from __future__ import annotations

import asyncio
import json
import re
import sys
import tempfile
from pathlib import Path
from shutil import copy

DOCS = Path(__file__).parent
SAMPLE = DOCS.parent / "samples" / "quarry-road-breakdown.tabterm"
KEYS_HEAD = """# Keys

The keys as they are without a configuration of your own; `tabterm keys` prints yours. A key on a row of its own
goes before the same key elsewhere. On the chord row a capital letter begins a chord symbol; on the remark row
every character is text.

To change keys, write a `config.toml` in the folder that your system keeps configurations in (Linux:
`~/.config/tabterm`), or name a file in the variable `TABTERM_CONFIG`:

```toml
[keys.anywhere]
"ctrl+e" = "export"     # a key, a command
"w" = "step 2"          # a command with its word
"x" = ""                # nothing
[keys.stroke]           # only on the stroke row
"b" = "stroke-down"

[hand]                  # `tabterm hand` writes this for you
span_mm = 150           # flat span from index to little finger
weak = [4]              # weak fingers
[hand.speeds]           # notes per second
strokes = 9.3

[sound]
port = "synth"          # part of a MIDI port's name
count_in = 1

[screen]
theme = "light"         # dark, light, terminal (its own 16 colours)
mouse = false
```

"""


def keys() -> str:
    """The key table."""
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.keytable import key_table

    return KEYS_HEAD + key_table(Keymap())


def schema() -> str:
    """The JSON Schema of the native file."""
    from tabterm.formats.native import json_schema

    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def picture() -> str:
    """The editor's own screen as SVG, at the place where the sample reaches far."""
    from tabterm.hand.strokes import with_proposals
    from tabterm.tui.app import TabtermApp
    from tabterm.workspace.document import Document
    from tabterm.workspace.keymap import Keymap
    from tabterm.workspace.transport import Transport

    async def shot(path: Path) -> str:
        document = Document.open(path, propose=with_proposals, blank=lambda: None)
        app = TabtermApp(document, Transport(), Keymap())
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause(0.5)
            await pilot.press("exclamation_mark")
            await pilot.pause(0.5)
            svg = app.export_screenshot(title="tabterm")
        document.close(keep_draft=False)
        return svg

    with tempfile.TemporaryDirectory() as folder:
        path = Path(copy(SAMPLE, folder))
        svg = asyncio.run(shot(path))
    return re.sub(r"terminal-\d+", "terminal", svg) + "\n"


MADE = {
    "keys": ("keys.md", keys),
    "schema": ("tabterm.schema.json", schema),
    "picture": ("editor.svg", picture),
}
"""What can be made: its file, and the function that makes its text."""


def main(names: list[str]) -> None:
    """Write the documents named, or all."""
    for name in names or MADE:
        file, make = MADE[name]
        (DOCS / file).write_text(make(), encoding="utf-8")
        print(f"docs/{file}")


if __name__ == "__main__":
    main(sys.argv[1:])
