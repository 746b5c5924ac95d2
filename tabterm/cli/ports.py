"""`tabterm ports`: where can be played to, in the words that `--output` takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm import printable
from tabterm.cli.inputs import add_json
from tabterm.cli.tables import is_read_by_a_person, print_table
from tabterm.sound.outputs import OutputKind
from tabterm.sound.playback import Playback
from tabterm.sound.remote.call import reach

if TYPE_CHECKING:
    import argparse

WITHOUT = "`tabterm render FILE OUT.wav` writes a file that any player plays"
"""What works where there is no output."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the argument."""
    add_json(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print an output a line, or what works without one."""
    playback = Playback(reach_listener=reach)
    try:
        found = playback.outputs()
    finally:
        playback.close()
    if arguments.json:
        data = [{"kind": kind, "name": name, "output": f"{kind}:{name}"} for kind, name in found]
        print(printable.as_json(data, indent=2))
    elif found and is_read_by_a_person():
        nouns = {each.value: each.noun for each in OutputKind}
        print_table(
            ("--output", "what it is"), [(f"{kind}:{name}", nouns.get(kind, kind)) for kind, name in found]
        )
    else:
        for kind, name in found:
            print(f"{kind}:{name}")
    if not found and not arguments.json:
        print(f"no audio device and no MIDI port; {WITHOUT}")
    return 0
