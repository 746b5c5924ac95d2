"""Cautions for those who practise: shown before the first loop ever, in the help, and where files are made."""

from __future__ import annotations

from typing import TYPE_CHECKING

import platformdirs

from tabterm.storage.opening import make_own_folder
from tabterm.storage.whole import write_new

if TYPE_CHECKING:
    from pathlib import Path

CAUTION = (
    "Pain is a reason to stop: rest, shorten the session, and ask a teacher or physician before you train a "
    "wide reach or a fast repetition. Keep the sound low enough to talk over."
)
BEFORE_LOOPS = (
    "Rest between loops; pain is a reason to stop and to ask a physician. Keep it low enough to talk over."
)

BEFORE_LISTENING = (
    "Begin low, above all on headphones, and keep it low enough to talk over; rest, and stop when something hurts."
)


def marker() -> Path:
    """The file that remembers that the caution has been shown."""
    return platformdirs.user_data_path("tabterm") / "caution-shown"


def due() -> bool:
    """Whether the caution has not been shown yet; asking counts as showing it.

    Where that cannot be remembered, it is shown again the next time.
    """
    file = marker()
    try:
        make_own_folder(file.parent)
        write_new(file)
    except FileExistsError:
        return False
    except OSError:
        pass
    return True
