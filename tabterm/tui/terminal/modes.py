"""The modes of the terminal: how it is taken, and how it is given back as it was."""

from __future__ import annotations

import termios
import tty
from typing import TYPE_CHECKING

from tabterm.tui.terminal.wire import SHOW

if TYPE_CHECKING:
    from tabterm.tui.terminal.abilities import Abilities

KEYBOARD, SCREEN = 0, 1
"""The program's standard input and output, which are one terminal."""

WRAPPING_OFF, WRAPPING_ON = "\x1b[?7l", "\x1b[?7h"
PASTES_MARKED, PASTES_PLAIN = "\x1b[?2004h", "\x1b[?2004l"
MOUSE_ON, MOUSE_OFF = "\x1b[?1000;1006h", "\x1b[?1000;1006l"
"""Clicks only: a report of every movement would fill a thin line upstream."""

SECOND_SCREEN, FIRST_SCREEN = "\x1b[?1049h", "\x1b[?1049l"


def set_raw(descriptor: int) -> None:
    """Keys one by one, unechoed, none of them a signal; no flow control by ctrl+s; output sent as it is."""
    modes = termios.tcgetattr(descriptor)
    modes[tty.IFLAG] &= ~(termios.IXON | termios.IXOFF | termios.ICRNL | termios.INLCR | termios.IGNCR)
    modes[tty.OFLAG] &= ~termios.OPOST
    modes[tty.LFLAG] &= ~(termios.ECHO | termios.ICANON | termios.IEXTEN | termios.ISIG)
    modes[tty.CC][termios.VMIN], modes[tty.CC][termios.VTIME] = 1, 0
    termios.tcsetattr(descriptor, termios.TCSANOW, modes)


def begun(abilities: Abilities) -> str:
    """What takes the terminal's screen."""
    return (
        (SECOND_SCREEN if abilities.has_second_screen else "")
        + WRAPPING_OFF
        + (PASTES_MARKED if abilities.marks_pastes else "")
        + abilities.block_cursor
    )


def farewell(abilities: Abilities, lines: int) -> str:
    """What gives it back."""
    return (
        abilities.own_cursor
        + (PASTES_PLAIN if abilities.marks_pastes else "")
        + WRAPPING_ON
        + "\x1b[m"
        + (SHOW if abilities.hides_cursor else "")
        + (FIRST_SCREEN if abilities.has_second_screen else f"\x1b[{lines}H\r\n")
    )
