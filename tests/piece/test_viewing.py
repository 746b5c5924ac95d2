"""What opens a sheet, and the desk for those from another machine."""

from __future__ import annotations

import http.client
import stat
import sys
import time

import pytest

from tabterm.errors import ConfigurationError, StorageError
from tabterm.piece import viewing
from tabterm.piece.sheet_page import SheetPage

SCREEN = {"DISPLAY": ":0"}


def waited(path):
    """What a program has written into a file; it is not waited for by whoever starts it."""
    deadline = time.monotonic() + 20
    while not path.exists() or not path.read_text():
        assert time.monotonic() < deadline
        time.sleep(0.01)
    return path.read_text()


def writing(path):
    """A command that writes the name of the file that it is given."""
    script = f"import pathlib, sys; pathlib.Path({str(path)!r}).write_text(sys.argv[1])"
    return f'{sys.executable} -c "{script}"'


@pytest.mark.parametrize(
    ("platform", "setting", "environment", "command"),
    [
        ("linux", "auto", SCREEN, ("xdg-open",)),
        ("linux", "auto", {"WAYLAND_DISPLAY": "wayland-0"}, ("xdg-open",)),
        ("linux", "auto", {}, None),
        ("darwin", "auto", {}, ("open",)),
        ("linux", "none", SCREEN, None),
        ("linux", "", SCREEN, None),
        ("linux", "viewer --page '1 2'", {}, ("viewer", "--page", "1 2")),
    ],
)
def test_what_opens_a_sheet(monkeypatch, platform, setting, environment, command):
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr("shutil.which", lambda name: f"/usr/bin/{name}")
    assert viewing.viewer(setting, environment) == command


def test_a_command_that_is_none_is_told():
    with pytest.raises(ConfigurationError, match="not a command: view 'it"):
        viewing.viewer("view 'it", {})
    with pytest.raises(StorageError, match=r"cannot open it with no-such-viewer: No such file .*opener"):
        viewing.view(("no-such-viewer",), viewing.Path("x.pdf"))


def test_a_desk_keeps_a_sheet_for_its_user_alone_and_opens_it(tmp_path):
    desk = viewing.Desk(tmp_path / "desk", viewing.viewer(writing(tmp_path / "opened"), {}))
    assert desk.take("../../Two Step.PDF", b"%PDF-1", opens=False) == f"kept as {tmp_path}/desk/two-step.pdf"
    assert not (tmp_path / "opened").exists()
    assert desk.take("Two Step.pdf", b"%PDF-2", opens=True) == f"opened {tmp_path}/desk/two-step.pdf"
    assert waited(tmp_path / "opened") == f"{tmp_path}/desk/two-step.pdf"
    assert (tmp_path / "desk/two-step.pdf").read_bytes() == b"%PDF-2"
    assert stat.S_IMODE((tmp_path / "desk").stat().st_mode) == 0o700
    assert desk.take("Two Step.pdf", b"%PDF-3", opens=True).startswith("kept as ")  # not window upon window


def test_a_desk_is_not_filled_up(tmp_path, monkeypatch):
    monkeypatch.setattr(viewing, "MOST_SHEETS", 2)
    desk = viewing.Desk(tmp_path, None)
    for name in ("a.pdf", "b.pdf", "a.pdf"):
        desk.take(name, b"%PDF-", opens=True)
    with pytest.raises(StorageError, match=r"2 sheets are kept \(remove some\)"):
        desk.take("c.pdf", b"%PDF-", opens=True)


@pytest.fixture
def page():
    shown = SheetPage()
    yield shown
    shown.close()


def answer(page, what="", **headers):
    """Status, headers and body that a browser gets."""
    host, _, key = page.url.removeprefix("http://").partition("/")
    connection = http.client.HTTPConnection(host, timeout=20)
    try:
        connection.request("GET", f"/{key}{what}", headers=headers)
        found = connection.getresponse()
        return found.status, found.headers, found.read()
    finally:
        connection.close()


def test_a_page_shows_the_newest_sheet_and_tells_when_there_is_another(page, tmp_path):
    desk = viewing.Desk(tmp_path / "desk", viewing.viewer(writing(tmp_path / "opened"), {}), page)
    desk.take("A&B <i>.pdf", b"%PDF-1", opens=True)
    assert waited(tmp_path / "opened") == page.url
    status, headers, body = answer(page)
    assert (status, headers["Content-Type"]) == (200, "text/html; charset=utf-8")
    assert b"<title>a-b-i.pdf</title>" in body
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert answer(page, "number")[2] == b"1"
    desk.take("Two.png", b"\x89PNG", opens=False)
    assert answer(page, "number")[2] == b"2"
    status, headers, body = answer(page, "sheet?2")
    assert (status, headers["Content-Type"], body) == (200, "image/png", b"\x89PNG")
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("what", "headers"),
    [("other", {}), ("../", {}), ("sheet", {}), ("", {"Host": "example.org"}), ("", {"Host": "localhost:80"})],
)
def test_a_page_gives_nothing_else_and_to_nobody_else(page, what, headers):
    assert answer(page, what, **headers)[0] == 404


def test_a_page_is_found_by_its_key_alone(page):
    page.url = page.url.rpartition("/")[0].rpartition("/")[0] + "/guess/"
    assert answer(page)[0] == 404
