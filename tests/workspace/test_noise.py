"""Noise on the disk among what a document keeps of its changes: whatever was kept before it is there again."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.thorough import many
from tests.workspace.test_document import crash, open_, type_note

MEASURES = 3


def files(folder):
    """Every file in a folder or where the program keeps its state, and its size."""
    places = (folder, Path(os.environ["XDG_STATE_HOME"]))
    return {path: path.stat().st_size for place in places for path in place.rglob("*") if path.is_file()}


@settings(max_examples=many(30, 60), deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data(), st.binary(min_size=1, max_size=200), st.booleans())
def test_notes_typed_before_the_noise_survive_it(tmp_path_factory, data, noise, over):
    """A note in each measure; then noise is put in, or written over what is there, from some byte on."""
    folder = tmp_path_factory.mktemp("noise")
    document = open_(folder / "a.tabterm")
    before = files(folder)
    type_note(document, 1, 0)
    (kept,) = (path for path, size in files(folder).items() if before.get(path) != size)
    ends = [kept.stat().st_size]
    for measure in range(1, MEASURES):
        type_note(document, measure + 1, measure)
        ends.append(kept.stat().st_size)
    crash(document)
    there = kept.read_bytes()
    at = data.draw(st.integers(0, len(there)) | st.integers(ends[0], len(there)))
    kept.write_bytes(there[:at] + noise + there[at + len(noise) * over :])
    again = open_(folder / "a.tabterm")
    frets = [[note.fret for event in bar.events for note in event.notes] for bar in again.score.measures]
    survived = sum(end <= at for end in ends)
    assert frets[:survived] == [[number + 1] for number in range(survived)]
    again.close(keep_draft=False)
