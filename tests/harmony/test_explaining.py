"""Phrases in sentences: against what a teacher would say, written down first."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tabterm.formats import abc
from tabterm.harmony.explaining import explained
from tests.harmony.tunes import laid


def _phrases():
    text = Path(__file__).with_name("explained.txt").read_text(encoding="utf-8")
    for part in text.split("\n= ")[1:]:
        head, *lines = part.strip().splitlines()
        title, metre, key = (each.strip() for each in head.split("|"))
        yield title, metre, key, lines[0], [line.removeprefix("- ") for line in lines if line.startswith("- ")]


@pytest.mark.parametrize(("title", "metre", "key", "notes", "sentences"), list(_phrases()))
def test_a_phrase_is_explained_as_a_teacher_would(title, metre, key, notes, sentences):
    tune = f"X:1\nT:{title}\nM:{metre}\nL:1/8\nK:{re.sub(' (?=dor|mix)', '', key)}\n{notes}\n"
    score = laid(abc.read(tune.encode()).music)
    (found,) = explained(score)
    assert list(found.sentences) == sentences
