"""A few seconds of what `tests.bench.soak` does for half an hour."""

from __future__ import annotations

import pytest

from tests.bench import soak


@pytest.mark.usefixtures("jack")
def test_four_engines_play_while_what_they_play_changes(monkeypatch):
    pytest.importorskip("miniaudio", reason="miniaudio has no wheel here")
    monkeypatch.setattr(soak, "CHANGE_S", 0.6)
    monkeypatch.setattr(soak, "WEIGH_S", 0.2)
    found = {figure.name: figure for figure in soak.soak(0.1, repaints=False)}
    for words in ("port, steady", "port, changing"):
        assert found[f"{words}: notes left on"].value == 0, found[f"{words}: notes left on"].note
    for words in ("device, changing", "device, steady"):
        assert found[f"{words}: memory grown"].value < 60_000  # the libraries are loaded meanwhile
    assert "9 changes" in found["device, changing: memory grown"].note
