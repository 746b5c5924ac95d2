"""Fixtures shared by all tests, and a home of their own for them."""

from __future__ import annotations

import pytest

from tests.jack import jack, recorder
from tests.terminal import Editor

__all__ = ["jack", "recorder"]


@pytest.fixture(autouse=True)
def _own_home(tmp_path_factory, monkeypatch):
    """No test reads or writes the configuration or the state of whoever runs it."""
    home = tmp_path_factory.mktemp("home")
    for variable in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(variable, str(home / variable.lower()))
    monkeypatch.delenv("TABTERM_CONFIG", raising=False)
    monkeypatch.setenv("TABTERM_LISTENER", "none")


@pytest.fixture(autouse=True)
def _no_loudspeaker(monkeypatch):
    """No test is heard; one that needs an audio device sets `null`, which takes samples in real time."""
    monkeypatch.setenv("TABTERM_AUDIO", "none")
    monkeypatch.delenv("SSH_CONNECTION", raising=False)


@pytest.fixture
def open_editor():
    """Opens editors in pseudo-terminals; whatever still runs at the end of the test is ended."""
    editors: list[Editor] = []

    def open_one(*arguments, **options) -> Editor:
        editors.append(Editor(*arguments, **options))
        return editors[-1]

    yield open_one
    for editor in editors:
        editor.close()
