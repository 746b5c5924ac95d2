"""`tabterm ports`: where can be played to, in the words that `--output` takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.sound.playback import Playback
from tabterm.sound.remote.call import reach

if TYPE_CHECKING:
    import argparse

WITHOUT = "`tabterm render FILE OUT.wav` writes a file that any player plays"
"""What works where there is no output."""


def configure(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(arguments: argparse.Namespace) -> int:
    """Print an output a line, or what works without one."""
    del arguments
    playback = Playback(reach_listener=reach)
    try:
        found = playback.outputs()
    finally:
        playback.close()
    for kind, name in found:
        print(f"{kind}:{name}")
    if not found:
        print(f"no audio device and no MIDI port; {WITHOUT}")
    return 0
