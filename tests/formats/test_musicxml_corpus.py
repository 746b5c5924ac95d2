"""Real files, note by note beside an independent reader; `tests.formats.musicxml_corpus` compares them all."""

from __future__ import annotations

import warnings

import pytest

from tests.formats.musicxml_corpus import EXPLAINED, compare, files, sample

pytestmark = pytest.mark.skipif(not files(), reason="music21 is not installed")


def test_notes_are_those_of_an_independent_reader():
    """music21, in measures of one voice: onset, length and pitch of every note; what differs is explained."""
    measures = differing = 0
    for path in sample(40):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = compare(path)
        measures += found.measures
        differing += len(found.differing)
        assert len(found.differing) == len(found.several_voices) or path.name in EXPLAINED, (
            path.name,
            found.shown,
        )
    assert measures > 500
    assert differing < 0.01 * measures


@pytest.mark.parametrize("name", sorted(name for name in EXPLAINED if name != "k525OMRMvt1.xml"))
def test_what_is_explained_still_differs(name):
    path = next(path for path in files() if path.name == name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        assert compare(path).shown
