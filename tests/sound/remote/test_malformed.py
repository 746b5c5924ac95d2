"""Frames that no editor sends, at a real `tabterm listen`: no crash, no sound, no memory kept."""

from __future__ import annotations

import pytest

from tests.sound.remote.malformed import bombard
from tests.sound.remote.near import PITCHES, Far, opened
from tests.sound.remote.process import Listening

__all__ = ["opened"]

FRAMES = 600
"""`python -m tests.bench listener` sends ten thousand."""


@pytest.mark.timeout(240)
def test_malformed_frames_do_nothing(recorder, tmp_path, opened):
    listening = opened(Listening(tmp_path, recorder.name))
    told = bombard(listening, FRAMES)
    assert told.memory_bytes < 4_000_000
    assert listening.process.poll() is None
    assert not recorder.received
    assert "Traceback" not in listening.said()
    assert len(listening.said().splitlines()) < 200
    far = opened(Far(listening.address))
    far.play()
    far.hear("ended")
    assert [note[1] for note in recorder.notes()] == PITCHES


def test_lines_that_come_too_fast_are_counted(tmp_path, recorder, opened):
    listening = opened(Listening(tmp_path, recorder.name))
    bombard(listening, 40)
    assert "was refused" in listening.said()
    assert len(listening.said().splitlines()) < 40
