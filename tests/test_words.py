"""What a user can read is plain English: no turn of phrase that gives a translation away, one word for one thing.

Read are the strings of the program (no docstrings), what its pages for the browser say, the README and the pages.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

TURNS = {
    r"(?<!here )\b(?:is|are) no (?!longer\b|more than\b)": "say what is: 'not a fret'",
    r"\bthere already\b": "already exists",
    r"\bby (?:itself|themselves)\b": "automatically, alone",
    r"\bwhat is not\b": "say what is",
    r"\b(?:is|are) none\b": "say what is: 'not a number'",
    r"\banew\b": "again",
    r"\bonce more\b": "again",
    r"\b(?:take|takes|taken|took) (?:it |that |them |all )?back\b": "undo, return, forget",
    r"\bthat (?:is|are) there\b": "existing",
    r"\bhas? a say\b": "is ignored",
    r"\bsays? (?:itself|so itself)\b": "name what is said, and where",
    r"\bon and on\b": "until you stop",
    r"\d %": "no space before %",
    r"\bbeyond all measure\b": "too large",
    r"\bknows nothing\b": "say what is missing",
    r"\bas little as\b|\bas much as nothing\b": "give the figure",
    r"\b(?:does|do|did) not know of\b": "say what is missing",
    r"\bwith a word of\b": "name it",
    r"\bcalled off\b|\bcall off\b": "cancelled, cancel",
    r"\bthrown? away\b": "deleted, discarded",
    r"\bstands? (?:in|on|at|over|behind|beside|under|there|with|before|round|below)\b": "is, appears, is shown",
    r"\bof one's own\b|\boneself\b": "your own",
}
"""What gave a text away as translated, and what is said instead."""

ALLOWED = {
    "tabterm/workspace/registry.py": "words that players search for, whatever we call it: ALSO",
    "docs/constants.md": "made from comments for developers",
    "docs/terms.md": "the table of the words themselves",
    "docs/licences.md": "names of licences",
}
"""Files that are not read, and why."""

KEPT = {
    '"Pick direction"': "the title of a source",
    "An independent loudness meter": "a device, not how many beats a measure has",
}
"""Sentences that may hold such a turn, and why."""


def strings_of(path):
    """The strings that a module can show, each on one line; docstrings and the like are not shown."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    unshown = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    parts = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(part.value if isinstance(part, ast.Constant) else "{}" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in unshown | parts:
            text = node.value
        else:
            continue
        yield node.lineno, " ".join(text.split())


def prose_of(path):
    """The sentences of a page, without code, by line."""
    text = re.sub(
        r"```.*?```|`[^`\n]*`",
        lambda found: re.sub(r"[^\n]", "x", found[0]),
        path.read_text(encoding="utf-8"),
        flags=re.DOTALL,
    )
    for block in re.finditer(r"(?:[^\n]+\n)+", f"{text}\n"):
        yield text.count("\n", 0, block.start()) + 1, " ".join(block[0].split())


def texts():
    """Every text that a user can read: where it stands, and what it says."""
    for path in sorted((ROOT / "tabterm").rglob("*.py")):
        yield from ((f"{path.relative_to(ROOT)}", line, text) for line, text in strings_of(path))
    shown = sorted((ROOT / "tabterm").rglob("*.html"))
    for path in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")), *shown):
        yield from ((f"{path.relative_to(ROOT)}", line, text) for line, text in prose_of(path))


TEXTS = [(f"{file}:{line}", text) for file, line, text in texts() if file not in ALLOWED and " " in text]


def found_in_texts(pattern):
    """Where a pattern occurs, but in sentences that are kept."""
    turn = re.compile(pattern, re.IGNORECASE)
    return [
        f"{where}: ...{text[max(0, hit.start() - 40) : hit.end() + 40]}..."
        for where, text in TEXTS
        for hit in turn.finditer(text)
        if not any(kept in text for kept in KEPT)
    ]


@pytest.mark.parametrize("pattern", TURNS)
def test_no_turn_of_phrase_of_a_translation(pattern):
    assert found_in_texts(pattern) == [], TURNS[pattern]


TERMS = {
    row[0]: [word for word in row[2].split(", ") if word]
    for row in (
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in (ROOT / "docs" / "terms.md").read_text(encoding="utf-8").splitlines()
        if line.startswith("| ")
    )
    if row[0] != "word"
}


@pytest.mark.parametrize("term", TERMS)
def test_one_word_for_one_thing(term):
    assert [hit for word in TERMS[term] for hit in found_in_texts(rf"\b{re.escape(word)}\b")] == [], f"say: {term}"


def test_the_check_reads_what_a_user_reads():
    """It sees strings in pieces and with values in them, and neither docstrings nor code."""
    said = " | ".join(text for _, text in TEXTS)
    assert "not a key: '{}'" in said
    assert "A mandolin tab editor for the terminal" in said
    assert "Return: " not in said
    assert len(TEXTS) > 3000
