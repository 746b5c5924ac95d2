"""One key writes the sheet and shows it where the player sits; a live one follows each save."""

from __future__ import annotations

import pytest

from tabterm.errors import ConfigurationError
from tabterm.formats import musicxml
from tabterm.piece import viewing
from tabterm.piece.configuration import SheetSettings
from tabterm.piece.targets import Target
from tabterm.score.report import NOTHING
from tabterm.sound.remote import call
from tabterm.sound.remote.address import SocketFile
from tabterm.workspace.document import Document
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, score
from tests.sound.remote.near import Near
from tests.typist import KEYMAP, REGISTRY, Listening

TUNE = score("4 1.0,4 1.2,2 1.3", "1 2.0", title="Kiln Lane")


@pytest.fixture
def host():
    return Listening()


@pytest.fixture
def shown(monkeypatch):
    """What is opened on this machine."""
    found = []
    monkeypatch.setattr(viewing, "view", lambda command, path: found.append((command, path.name)))
    return found


@pytest.fixture
def session(tmp_path, host, monkeypatch, shown):
    """An editor's session on a machine with a screen, its sheet a MusicXML file."""
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.setenv(call.VARIABLE, "none")
    document = Document.open(tmp_path / "kiln.tabterm", PLAYER, blank=lambda: TUNE)
    made = Session(document, host, Transport())
    made.sheets.settings = SheetSettings(format="musicxml", opener="view-it")
    yield made
    document.close(keep_draft=False)


def press(session, key):
    binding = KEYMAP.find("course", key)
    session.run(REGISTRY[binding], None)


def test_a_key_writes_the_sheet_and_opens_it(session, host, shown, tmp_path):
    press(session, "ctrl+e")
    assert shown == [(("view-it",), "kiln.musicxml")]
    assert host.said == ["written and opened: kiln.musicxml"]
    read = musicxml.read((tmp_path / "kiln.musicxml").read_bytes())
    assert len(read.music.measures) == 2
    press(session, "ctrl+e")
    assert len(shown) == 2
    assert host.asked == []


@pytest.mark.parametrize(("answer", "is_written"), [("yes", True), ("no", False), ("", False)])
def test_a_file_that_was_not_written_here_is_not_replaced_unasked(
    session, host, shown, tmp_path, answer, is_written
):
    theirs = tmp_path / "kiln.musicxml"
    theirs.write_text("theirs")
    host.answers = [answer]
    press(session, "ctrl+e")
    assert host.asked[0][0] == "kiln.musicxml already exists: overwrite it?"
    assert (theirs.read_text() != "theirs", bool(shown)) == (is_written, is_written)


def test_where_nothing_opens_it_the_whole_path_is_shown(session, host, tmp_path):
    session.sheets.settings = SheetSettings(format="musicxml", opener="none")
    press(session, "ctrl+e")
    assert host.said == [f"written: {tmp_path}/kiln.musicxml"]


def test_a_live_sheet_follows_each_save_and_opens_nothing(session, host, shown, tmp_path):
    session.run(REGISTRY["live-sheet"])
    for expected in (2, 3):
        press(session, "ctrl+s")
        assert host.said[-1] == "written: kiln.musicxml"
        assert len(musicxml.read((tmp_path / "kiln.musicxml").read_bytes()).music.measures) == expected
        session.run(REGISTRY["insert-measure"])
    (tmp_path / "kiln.musicxml").write_text("theirs")
    press(session, "ctrl+s")
    assert host.troubles == [
        "kiln.musicxml is not from this editor and was not changed; the command 'sheet' replaces it"
    ]
    session.run(REGISTRY["live-sheet"])
    press(session, "ctrl+s")
    assert (tmp_path / "kiln.musicxml").read_text() == "theirs"
    assert shown == []


def test_of_two_that_wait_the_later_score_is_written(session, tmp_path):
    earlier = session.sheets.job(session.score, opens=False)
    session.run(REGISTRY["insert-measure"])
    later = session.sheets.job(session.score, opens=False)
    later(lambda _: None)
    earlier(lambda _: None)
    assert len(musicxml.read((tmp_path / "kiln.musicxml").read_bytes()).music.measures) == 3


@pytest.fixture
def paper(monkeypatch):
    """A target that writes what a PDF begins with, and the title."""

    def write(path, built, **_told):
        path.write_bytes(b"%PDF-1.7 " + built.head.title.encode())
        return NOTHING

    from tabterm.piece import targets

    known = {**targets.targets(), ".pdf": Target("a sheet", write)}
    monkeypatch.setattr(targets, "targets", lambda: known)


def test_over_ssh_it_comes_to_the_machine_that_listens(session, host, shown, paper, tmp_path, monkeypatch):
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.1 1 192.0.2.2 22")
    session.sheets.settings = SheetSettings()
    press(session, "ctrl+e")
    assert host.said == [f"written: {tmp_path}/kiln.pdf"]  # nobody listens
    folder = tmp_path / "near"
    folder.mkdir(mode=0o700)
    desk = viewing.Desk(folder / "sheets", ("view-it",))
    near = Near(SocketFile(folder / "listen.sock"), "auto", deliver=desk.take)
    try:
        monkeypatch.setenv(call.VARIABLE, str(near.address))
        press(session, "ctrl+e")
        assert host.said[-1] == f"written: kiln.pdf; at the listener: opened {folder}/sheets/kiln.pdf"
        assert shown == [(("view-it",), "kiln.pdf")]
        assert (folder / "sheets/kiln.pdf").read_bytes() == b"%PDF-1.7 Kiln Lane"
        session.run(REGISTRY["live-sheet"])
        press(session, "ctrl+s")
        assert host.said[-1] == f"written: kiln.pdf; at the listener: kept as {folder}/sheets/kiln.pdf"
        session.sheets.settings = SheetSettings(format="musicxml")
        press(session, "ctrl+e")
        assert host.said[-1].startswith(f"written: {tmp_path}/kiln.musicxml")  # such a file does not travel
    finally:
        near.close()
    session.sheets.settings = SheetSettings()
    monkeypatch.setattr("tabterm.sound.remote.delivery.somebody_answers", lambda _: True)
    press(session, "ctrl+e")
    assert host.said[-1].startswith("written: kiln.pdf; not sent: ")


def test_what_the_configuration_may_say(tmp_path, monkeypatch):
    from tabterm.piece import configuration

    file = tmp_path / "config.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(file))
    file.write_text('[sheet]\nformat = "png"\nopener = "viewer --new"\n')
    assert configuration.load().sheet == SheetSettings(format="png", opener="viewer --new")
    file.write_text('[sheet]\nformat = "doc"\n')
    with pytest.raises(ConfigurationError, match=r"line 2: sheet.format"):
        configuration.load()


def test_the_sheet_is_a_printed_one_unless_another_is_set(session, host, shown, tmp_path):
    pytest.importorskip("typst")
    session.sheets.settings = SheetSettings(opener="view-it")
    press(session, "ctrl+e")
    assert (tmp_path / "kiln.pdf").read_bytes().startswith(b"%PDF-")
    assert shown == [(("view-it",), "kiln.pdf")]
    session.sheets.settings = SheetSettings(format="png", opener="view-it")
    (tmp_path / "kiln-1.png").write_bytes(b"theirs")
    assert session.sheets.would_replace()
