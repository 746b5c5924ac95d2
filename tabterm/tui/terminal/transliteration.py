"""ASCII for what a terminal without Unicode cannot show, in as many cells."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

SIGNS = {
    **dict.fromkeys("─━═╌┄╴╶▁▔", "-"),
    **dict.fromkeys("│┃║‖╎┆▏▎▍▌▋▊▉█▐▕▇▆▅▄▃▂", "|"),
    **dict.fromkeys("┌┐└┘╭╮╰╯├┤┬┴┼┏┓┗┛", "+"),
    "…": ".",
    "–": "-",  # noqa: RUF001 - a dash is what is meant
    "—": "-",
    "♭": "b",
    "♯": "#",
    "♮": "=",
    "°": "o",
    "↑": "^",
    "↓": "v",
    "≠": "/",
    "−": "-",  # noqa: RUF001
    "•": "*",
    "·": ".",
    "‘": "'",  # noqa: RUF001 - a quotation mark is what is meant
    "’": "'",  # noqa: RUF001
    "“": '"',
    "”": '"',
}


@lru_cache(maxsize=1024)
def in_ascii(cluster: str, width: int) -> str:
    """A character, with what combines with it, as ASCII of the same width in cells; `?` where there is none."""
    if cluster in SIGNS:
        return SIGNS[cluster]
    base = unicodedata.normalize("NFKD", cluster)[:1]
    return (base if base.isascii() and base.isprintable() else "?") + "?" * (width - 1)
