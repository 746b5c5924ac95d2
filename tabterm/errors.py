"""One tree of errors: each says what happened, where, and what to do next."""

from __future__ import annotations


class TabtermError(Exception):
    """Something the player can understand and act on; shown as one line, never as a traceback.

    Attributes:
        message: What happened, without a full stop.
        hint: What to do next, or "".
        place: Where (file, line, measure, beat), or "".
    """

    def __init__(self, message: str, *, hint: str = "", place: str = "") -> None:
        super().__init__(message, hint, place)
        self.message = message
        self.hint = hint
        self.place = place

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        what_to_do = f" ({self.hint})" if self.hint else ""
        return f"{where}{self.message}{what_to_do}"


class ScoreError(TabtermError):
    """A score, or a change to one, would break a rule of the model (a measure that is not whole, say)."""


class InstrumentError(TabtermError):
    """An instrument that cannot be: no courses, a scale of zero length, an unknown name."""


class FormatError(TabtermError):
    """A file that cannot be read or written in the format asked for."""


class StorageError(TabtermError):
    """The disk refused: full, read-only, vanished, or held by someone else."""


class ConfigurationError(TabtermError):
    """A setting or key binding in the user's configuration that cannot be used."""


class SoundError(TabtermError):
    """No way to make a sound with what is at hand."""


LIBRARIES = frozenset({"numpy", "soundfile", "soxr", "miniaudio", "rtmidi", "rtmidi2", "typst", "fontTools"})
"""What a bare installation, for editing alone, does without."""

INSTALL = "run: pip install 'tabterm[full]'"


def lacking(error: ModuleNotFoundError) -> TabtermError:
    """What is told of a library that is not installed; raises the error itself where it is none of the extras'."""
    library = (error.name or "").partition(".")[0]
    if library not in LIBRARIES:
        raise error
    return TabtermError(f"this needs {library}, which is not installed", hint=INSTALL)
