"""Fixtures shared by all tests, and a home of their own for them."""

from __future__ import annotations

import random

import pytest
from _pytest.runner import runtestprotocol
from hypothesis import HealthCheck, settings

from tests import warm
from tests.jack import jack, late_turns, recorder
from tests.terminal import Editor
from tests.thorough import THOROUGH, many

__all__ = ["jack", "recorder"]

settings.register_profile(
    "suite",
    deadline=None,
    max_examples=many(25, 100),
    derandomize=not THOROUGH,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("suite")
"""No example fails because the machine is busy, or by luck: chance looks for new ones in the thorough form."""

TRIES = 6
LONGEST_NAME = 200
_again: list[str] = []


def pytest_addoption(parser):
    parser.addoption(
        "--shuffle", type=int, metavar="SEED", help="run the files, and the tests of each, in an order of chance"
    )


def pytest_make_parametrize_id(config, val, argname):
    """Short names of cases: a name stands in the environment, and no program starts with megabytes there."""
    return argname if isinstance(val, (bytes, str)) and len(val) > LONGEST_NAME else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    """Keep the tests of one JACK server together; shuffle by a seed where asked, file by file."""
    for item in items:
        if "jack" in item.fixturenames:
            item.add_marker(pytest.mark.xdist_group("jack"))
    seed = config.getoption("--shuffle")
    if seed is None:
        return
    files = {}
    for item in items:
        files.setdefault(item.path, []).append(item)
    choose, groups = random.Random(seed), list(files.values())
    choose.shuffle(groups)
    for group in groups:
        choose.shuffle(group)
    items[:] = [item for group in groups for item in group]


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item, nextitem):
    """Run a test once more that failed while JACK says that it has dropped a turn, and with it perhaps a note.

    On a busy machine that is the server's loss and not ours; what we lose ourselves is lost in every try.
    """
    if "jack" not in item.fixturenames:
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    for left in reversed(range(TRIES)):
        before = late_turns()
        reports = runtestprotocol(item, nextitem=nextitem, log=False)
        if not left or not any(report.failed for report in reports) or late_turns() == before:
            break
        _again.append(item.nodeid)
        item._initrequest()
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def pytest_sessionfinish(session):
    """End what was kept for the whole run; a worker sends home what it has run again."""
    warm.stop()
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["again"] = _again


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node):
    """Take what a worker sends home."""
    _again.extend(getattr(node, "workeroutput", {}).get("again", ()))


def pytest_terminal_summary(terminalreporter):
    """Say what was run again: silence would hide it."""
    for nodeid in _again:
        terminalreporter.write_line(f"run again, since JACK dropped a turn: {nodeid}")


def _set_home(home, patch):
    for variable in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
        patch.setenv(variable, str(home / variable.lower()))


@pytest.fixture(scope="session", autouse=True)
def _home_of_all(tmp_path_factory):
    """No test reads or writes the configuration or the state of whoever runs it, even if it undoes its patches."""
    with pytest.MonkeyPatch.context() as patch:
        _set_home(tmp_path_factory.mktemp("home"), patch)
        yield


@pytest.fixture(autouse=True)
def _own_home(tmp_path_factory, monkeypatch):
    """Every test has a home of its own."""
    _set_home(tmp_path_factory.mktemp("home"), monkeypatch)
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
