"""JSON and TOML that could harm their reader are refused in a line; what is usual is read."""

from __future__ import annotations

import json
import tomllib

import pytest

from tabterm.errors import FormatError
from tabterm.parsing import MOST_DEPTH, MOST_VALUES, json_of, toml_of

LONG = b"1" * 5000


@pytest.mark.parametrize(
    ("read", "data", "words", "place"),
    [
        (json_of, b'{"a":\n' + b"[" * 100_000, "nested too deeply", "line 2"),
        (json_of, b'{"a":\n' + LONG + b"}", "a number is too long", "line 2"),
        (json_of, b"[NaN]", "not a number: NaN", ""),
        (json_of, b'{"a" 1}', "not JSON", "line 1, column 6"),
        (json_of, b"[\n\xff]", "not UTF-8", "line 2"),
        (json_of, b"," * (MOST_VALUES + 1), "too many values", ""),
        (toml_of, b"[a]\nb = " + b"[" * 3000 + b"]" * 3000, "nested too deeply", "line 2"),
        (toml_of, b"\na = " + b"{b = " * 3000, "nested too deeply", "line 2"),
        (toml_of, b"[a]\n\nb = " + LONG, "a number is too long", "line 3"),
        (toml_of, b"a = 2026-02-30", "Invalid date", "line 1"),
        (toml_of, b"a = 1\na = 2\n", "not TOML", "line 2"),
        (toml_of, b"a = \n", "not TOML", "line 1"),
        (toml_of, b"a = '\xff'", "not UTF-8", "line 1"),
    ],
)
def test_what_could_harm_is_refused_with_its_line(read, data, words, place):
    with pytest.raises(FormatError, match=words) as caught:
        read(data)
    assert caught.value.place == place


def test_brackets_in_strings_and_notes_are_no_nesting():
    many = "[" * (MOST_DEPTH + 9)
    text = f'a = "{many}\\""\nb = \'{many}\'  # {many}\nc = """\n{many}"\n"""\n'
    assert toml_of(text.encode()) == tomllib.loads(text)
    assert json_of(json.dumps([f'"{many}\\']).encode()) == [f'"{many}\\']
    assert json_of(b"[" * MOST_DEPTH + b"]" * MOST_DEPTH)
