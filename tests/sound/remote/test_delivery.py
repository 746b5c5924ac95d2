"""A sheet comes over a real socket whole, or not at all, and disturbs nothing that plays."""

from __future__ import annotations

import pytest

from tabterm.errors import SoundError, StorageError
from tabterm.sound.link import Link
from tabterm.sound.remote import call, delivery
from tabterm.sound.remote.address import LoopbackPort, SocketFile
from tabterm.sound.remote.handshake import Handshake, far_token, make_token
from tabterm.sound.remote.inspection import MOST_SHEET_BYTES, PART_BYTES
from tabterm.sound.remote.listener import MOST_LINES
from tests.sound.remote.near import Near, guest, is_gone, next_frame, opened

__all__ = ["opened"]
PDF = b"%PDF-1.7\n" + bytes(range(256)) * 300


class Desk:
    """Keeps what comes, or refuses it."""

    def __init__(self):
        self.taken, self.fault = [], None

    def take(self, name, data, *, opens):
        if self.fault is not None:
            raise self.fault
        self.taken.append((name, data, opens))
        return f"opened {name}"


@pytest.fixture(scope="module")
def listening(tmp_path_factory):
    """A listener at a socket file, with its desk."""
    desk = Desk()
    near = Near(SocketFile(tmp_path_factory.mktemp("listening") / "listen.sock"), "auto", deliver=desk.take)
    yield near, desk
    near.close()


@pytest.fixture
def near(listening):
    near = listening[0]
    near.lines.clear()
    near.listener._lines = float(MOST_LINES)  # as after a rest
    return near


@pytest.fixture
def desk(listening):
    listening[1].__init__()
    return listening[1]


def sent(near, name="tune.pdf", data=PDF, *, opens=True):
    parts = []
    words = delivery.send(str(near.address), name, data, opens=opens, progress=parts.append)
    return words, parts


def test_a_sheet_comes_whole_and_both_ends_say_so(near, desk):
    assert len(PDF) > 3 * PART_BYTES
    words, parts = sent(near)
    assert words == "opened tune.pdf"
    assert desk.taken == [("tune.pdf", PDF, True)]
    assert parts == sorted(parts)
    near.wait_for_line("the sheet 'tune.pdf' has arrived: opened tune.pdf")
    sent(near, data=PDF[:20], opens=False)
    assert desk.taken[1:] == [("tune.pdf", PDF[:20], False)]


def test_at_a_port_the_sheet_needs_the_token(tmp_path, opened, desk, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    token = make_token(far_token())
    near = opened(Near(LoopbackPort("127.0.0.1", 0), "auto", token, desk.take))
    assert sent(near)[0] == "opened tune.pdf"
    far_token().write_text("00" * 32)
    with pytest.raises(SoundError, match="has a different token"):
        sent(near)
    assert len(desk.taken) == 1


def test_the_editor_that_plays_is_not_interrupted(near, desk):
    editor = guest(near)
    assert sent(near)[0] == "opened tune.pdf"
    editor.send("stop")
    assert not is_gone(editor, 0.3)
    editor.close()


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("page.html", b"<script>", "is not a file that can be sent"),
        ("page.pdf.svg", b"<svg/>", "is not a file that can be sent"),
        ("page.pdf", b"<script>", "is not the kind of file that its extension says"),
        ("page.png", PDF, "is not the kind of file that its extension says"),
        ("page.pdf", b"%PDF-" + bytes(MOST_SHEET_BYTES), "is too large to send"),
    ],
    ids=["web page", "drawing", "web page as PDF", "PDF as picture", "too large"],
)
def test_other_files_are_not_sent(near, desk, name, data, said):
    with pytest.raises(SoundError, match=said):
        sent(near, name, data)
    assert desk.taken == []


def test_what_the_near_machine_refuses_is_told_at_both_ends(near, desk):
    desk.fault = StorageError("100 sheets are kept", hint="remove some")
    with pytest.raises(SoundError, match=r"100 sheets are kept \(remove some\)"):
        sent(near)
    near.wait_for_line("the sheet 'tune.pdf' was refused: 100 sheets are kept (remove some)")


def test_a_listener_that_takes_none_says_so(tmp_path, opened):
    tmp_path.chmod(0o700)
    near = opened(Near(SocketFile(tmp_path / "listen.sock"), "auto"))
    with pytest.raises(SoundError, match="does not accept sheets"):
        sent(near)


def courier(near, opened):
    """A caller that brings a sheet, for sending what ours does not."""
    link = Link(near.address.connect())
    handshake = Handshake("editor", None, "sheet")
    handshake.hear(next_frame(link))
    link.send("hello", **handshake.hello())
    assert next_frame(link).word == "welcome"
    return opened(link)


FIRST = {"name": "tune.pdf", "size": 40, "at": 0, "opens": True}


@pytest.mark.parametrize(
    ("values", "body"),
    [
        ({"at": 10}, PDF[:20]),
        ({"size": 10}, PDF[:20]),
        ({"size": MOST_SHEET_BYTES + 1}, PDF[:20]),
        ({"size": True}, PDF[:20]),
        ({"name": 7}, PDF[:20]),
        ({"name": "x" * 600}, PDF[:20]),
        ({"opens": 1}, PDF[:20]),
        ({}, b""),
        ({}, bytes(PART_BYTES + 1)),
    ],
)
def test_a_part_that_does_not_fit_ends_it_and_nothing_is_kept(near, desk, opened, values, body):
    link = courier(near, opened)
    link.send("part", body, **(FIRST | values))
    assert is_gone(link)
    near.wait_for_line("a sheet is dropped: the editor sent ")
    link.close()
    assert sent(near)[0] == "opened tune.pdf"


@pytest.mark.parametrize("change", [{"name": "other.pdf"}, {"size": 41}, {"opens": False}, {"at": 0}])
def test_a_second_part_of_something_else_ends_it(near, desk, opened, change):
    link = courier(near, opened)
    link.send("part", PDF[:20], **FIRST)
    assert next_frame(link).values == {"at": 20}
    link.send("part", PDF[20:40], **(FIRST | {"at": 20} | change))
    assert is_gone(link)
    assert desk.taken == []


def test_a_lie_about_what_it_is_is_refused_at_the_near_end_too(near, desk, opened):
    link = courier(near, opened)
    link.send("part", b"<script>" * 5, **FIRST)
    answer = next_frame(link)
    assert (answer.word, answer.values["message"]) == (
        "refused",
        "'tune.pdf' is not the kind of file that its extension says",
    )
    assert desk.taken == []
    link.close()


def test_half_a_sheet_is_dropped_when_the_line_ends(near, desk, opened):
    link = courier(near, opened)
    link.send("part", PDF[:20], **FIRST)
    next_frame(link)
    link.close()
    near.wait_for_line("an incomplete sheet was dropped")
    assert desk.taken == []


def test_one_that_stops_in_the_middle_is_given_up_and_one_comes_at_a_time(near, desk, opened, monkeypatch):
    link = courier(near, opened)
    link.send("part", PDF[:20], **FIRST)
    next_frame(link)
    with pytest.raises(SoundError, match="still receiving another sheet"):
        sent(near)
    monkeypatch.setattr("tabterm.sound.remote.listener.SILENT_FOR_S", 0.05)
    near.wait_for_line("an incomplete sheet was dropped")
    assert is_gone(link)


def test_where_nobody_listens_there_is_no_line(tmp_path, monkeypatch, near):
    monkeypatch.setenv(call.VARIABLE, str(tmp_path / "nobody.sock"))
    assert delivery.line_of("auto") is None
    monkeypatch.setenv(call.VARIABLE, str(near.address))
    assert delivery.line_of("device:anything") == str(near.address)
    monkeypatch.setenv(call.VARIABLE, "none")
    assert delivery.line_of("auto") is None
    assert delivery.line_of(f"listener:{near.address}") == str(near.address)
