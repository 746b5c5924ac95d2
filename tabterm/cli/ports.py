"""`tabterm ports`: the MIDI ports that can be played to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.sound.player import Player

if TYPE_CHECKING:
    import argparse

WITHOUT = "`tabterm convert FILE OUT.mid` writes a file that any MIDI player plays"
"""What works where there is no port."""


def configure(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(arguments: argparse.Namespace) -> int:
    """Print a port a line, or what works without one."""
    del arguments
    player = Player()
    try:
        names = player.ports()
    finally:
        player.close()
    for name in names:
        print(name)
    if not names:
        print(f"no MIDI port; {WITHOUT}")
    return 0
