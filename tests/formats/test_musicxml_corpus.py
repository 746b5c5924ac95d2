"""Real files, note by note beside an independent reader; `tests.formats.musicxml_corpus` compares them all."""

from __future__ import annotations

import re
import warnings

import pytest

from tabterm.formats import musicxml
from tests.formats.musicxml_corpus import EXPLAINED, FOLDED, compare, files, name_of, sample

pytestmark = pytest.mark.skipif(not files(), reason="music21 is not installed")


def test_notes_are_those_of_an_independent_reader():
    """music21: onset, length and pitch of every note of every measure, but in the files that are named."""
    measures, differing = 0, {}
    for path in sample(40):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = compare(path)
        measures += found.measures
        if found.differing and name_of(path) not in (*EXPLAINED, *FOLDED):
            differing[path.name] = found.differing, found.shown
    assert differing == {}
    assert measures > 500


@pytest.mark.parametrize("name", sorted(name for name in EXPLAINED if name != "k525OMRMvt1.xml"))
def test_what_is_explained_still_differs(name):
    path = next(path for path in files() if path.name == name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        assert compare(path).shown


@pytest.mark.parametrize("name", FOLDED)
def test_measures_of_several_voices_differ_in_nothing_else_and_the_reader_says_so(name):
    path = next(path for path in files() if name_of(path) == name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = compare(path)
    assert found.differing == found.several_voices != []
    remarks = [remark.message for remark in musicxml.read(path.read_bytes()).report.remarks]
    assert any(re.match(r"notes of (voice \d+|another voice) ", message) for message in remarks)
