"""Decorations: what the signs over the notes of a tune say of an event."""

from __future__ import annotations

import re
from typing import Any

from tabterm.score.kinds import Direction, Stroke

LETTERS = {
    "~": "roll",
    ".": ".",
    "H": "fermata",
    "L": "accent",
    "M": "lowermordent",
    "O": "coda",
    "P": "uppermordent",
    "S": "segno",
    "T": "trill",
    "u": "upbow",
    "v": "downbow",
}
"""Decorations written as one letter (standard 4.14); U: fields change them."""

EVENT_FIELDS: dict[str, dict[str, Any]] = {
    "upbow": {"stroke": Stroke.UP},
    "downbow": {"stroke": Stroke.DOWN},
    ".": {"staccato": True},
    "wedge": {"staccato": True},
    "accent": {"accent": True},
    ">": {"accent": True},
    "emphasis": {"accent": True},
    "arpeggio": {"roll": Direction.UP},
    "/": {"tremolo": True},
    "//": {"tremolo": True},
    "///": {"tremolo": True},
    "////": {"tremolo": True},
}
"""What a decoration says of an event. Up-bow and down-bow are the up-stroke and down-stroke of plucked
instruments as well (MusicXML 4.0, elements up-bow and down-bow)."""

NOTE_FIELDS: dict[str, dict[str, Any]] = {
    "slide": {"slide_in": Direction.UP},
    "open": {"finger": 0},
    **{str(number): {"finger": number} for number in range(5)},
}
"""What a decoration says of the notes of an event, or inside a chord of its one note."""

LAYOUT = frozenset({"beambr1", "beambr2", "beamon", "nil", "none", "invisible"})
"""Decorations that say nothing of the music."""

FINGERS = re.compile(r"^[0-4]{1,2}$")
"""Quoted words that are a finger, or a choice of two."""

SLURS = {"H": "hammer", "P": "pull", "S": "slide"}
"""Annotations by which a slurred note says how the left hand sounds it (common practice in tablature)."""
