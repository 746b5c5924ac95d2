"""Every command of the editor; importing this package fills the registry, in the order of the help."""

from tabterm.workspace.commands import (  # noqa: I001 - the order of the help
    moving,
    writing,
    rhythm,
    left_hand,
    fingers,
    strokes,
    selecting,
    handing,
    measures,
    whole,
    theory,
    original,
    hearing,
    practising,
    trouble,
    files,
)

__all__ = [
    "files",
    "fingers",
    "handing",
    "hearing",
    "left_hand",
    "measures",
    "moving",
    "original",
    "practising",
    "rhythm",
    "selecting",
    "strokes",
    "theory",
    "trouble",
    "whole",
    "writing",
]
