"""The text forms that files of version 1 have, in today's: tuplets `16*3:2`, tempos `4=104` and `4.=112`.

They are read wherever the new ones are for as long as the format's version is 2, and never written.
"""

from __future__ import annotations

import re

_DURATION = re.compile(r"^(\d{1,3}\.{0,2})\*(\d{1,4}:\d{1,4})$", re.ASCII)
_TEMPO = re.compile(r"^([1-9]\d{0,2})(\.{0,2})=(.*)$", re.ASCII)


def duration_today(text: str) -> str:
    """`16*3:2` as `16(3:2)`; any other text as it is."""
    return _DURATION.sub(r"\1(\2)", text)


def tempo_today(text: str) -> str:
    """`4.=112` as `3/8=112`; any other text as it is."""
    match = _TEMPO.match(text)
    if match is None:
        return text
    value, dots, per_minute = int(match.group(1)), len(match.group(2)), match.group(3)
    return f"{(2 << dots) - 1}/{value << dots}={per_minute}"
