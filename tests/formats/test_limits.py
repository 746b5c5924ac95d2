"""A million events are refused before models are made of them: soon, and in little memory."""

from __future__ import annotations

import importlib
import resource
import sys
import time

import pytest

from tabterm.errors import FormatError

MILLION = 1_000_000
PATIENCE_S = 10.0
"""Of the processor: five times the goal of 2 s, for a slow machine."""

MOST_BYTES = 300_000_000


def native() -> bytes:
    measures = ",".join(['{"events":[{"duration":"4"},{"duration":"4"},{"duration":"2"}]}'] * (MILLION // 3))
    return f'{{"format":"tabterm","version":2,"measures":[{measures}]}}'.encode()


def text() -> bytes:
    row = "1-" * 50
    system = "\n".join([f"E|{row}|", *(f"{name}|{'--' * 50}|" for name in "ADG")])
    return "\n\n".join([system] * (MILLION // 50)).encode()


def text_source() -> bytes:
    return f"= 1 source {'4,' * MILLION}4\nE|-1--|\nA|----|\nD|----|\nG|----|\n".encode()


def abc() -> bytes:
    return b"X:1\nK:C\n" + b"CDEF|\n" * (MILLION // 4)


def abc_tunes() -> bytes:
    return b"X:1\nK:C\nCDEF|\n\n" * (MILLION // 4)


def musicxml() -> bytes:
    measure = b"<measure>" + b"<note><rest/><duration>1</duration></note>" * 4 + b"</measure>"
    head = b'<score-partwise><part-list><score-part id="P1"/></part-list><part id="P1">'
    return head + measure * (650_000 // 4) + b"</part></score-partwise>"  # as many as go into its 32 MB


def midi() -> bytes:
    track = b"\x10\x90\x40\x40\x10\x40\x00" * (MILLION // 2) + b"\x00\xff\x2f\x00"
    return b"MThd\0\0\0\6\0\1\0\1\1\xe0MTrk" + len(track).to_bytes(4, "big") + track


@pytest.mark.timeout(120)
@pytest.mark.parametrize(
    ("module", "make"),
    [
        ("native", native),
        ("text", text),
        ("text", text_source),
        ("abc", abc),
        ("abc", abc_tunes),
        ("musicxml", musicxml),
        ("smf", midi),
    ],
    ids=lambda value: value if isinstance(value, str) else value.__name__,
)
def test_a_million_events_are_refused(module, make):
    read = importlib.import_module(f"tabterm.formats.{module}").read
    data = make()
    before, begun = peak_bytes(), time.process_time()
    with pytest.raises(FormatError) as caught:
        read(data)
    assert time.process_time() - begun < PATIENCE_S
    assert peak_bytes() - before < MOST_BYTES
    assert "\n" not in str(caught.value)


def peak_bytes() -> int:
    """The most memory that this process has ever held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
