"""Where a listener may be, and what is refused."""

from __future__ import annotations

import os
import socket
import stat

import pytest

from tabterm.errors import SoundError
from tabterm.sound.remote import address, call
from tabterm.sound.remote.address import (
    CREDENTIALS,
    PORT,
    LoopbackPort,
    SocketFile,
    found,
    near_socket,
    parse,
    peer_is_trusted,
)


@pytest.fixture
def folder(tmp_path):
    tmp_path.chmod(0o700)
    return tmp_path


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("127.0.0.1:4000", "127.0.0.1:4000"),
        ("localhost:4000", "127.0.0.1:4000"),
        ("4000", "127.0.0.1:4000"),
        ("[::1]:4000", "[::1]:4000"),
        ("/run/x.sock", "/run/x.sock"),
    ],
)
def test_addresses_of_this_machine_are_read(text, address):
    assert str(parse(text)) == address


@pytest.mark.parametrize(
    "text", ["0.0.0.0:4000", "192.168.1.5:4000", "example.org:4000", "[::]:4000", ":0", "x", "", "9" * 5000]
)
def test_anything_else_is_refused(text):
    with pytest.raises(SoundError):
        parse(text)


def test_a_socket_is_made_for_its_owner_alone(folder):
    before = os.umask(0)
    try:
        SocketFile(folder / "deep" / "listen.sock").bind().close()
    finally:
        os.umask(before)
    assert stat.S_IMODE((folder / "deep" / "listen.sock").stat().st_mode) == 0o600
    assert stat.S_IMODE((folder / "deep").stat().st_mode) == 0o700


@pytest.mark.parametrize("mode", [0o777, 0o770, 0o1777])
def test_a_folder_that_others_write_to_is_refused(folder, mode):
    folder.chmod(mode)
    with pytest.raises(SoundError, match="others could put"):
        SocketFile(folder / "listen.sock").bind()
    assert not (folder / "listen.sock").exists()


def test_what_a_listener_left_behind_is_taken_away_and_one_that_listens_is_not(folder):
    address = SocketFile(folder / "listen.sock")
    address.bind().close()
    with address.bind(), pytest.raises(SoundError, match="already"):
        address.bind()


def test_a_port_in_use_is_said():
    with socket.socket() as busy:
        busy.bind(("127.0.0.1", 0))
        busy.listen()
        with pytest.raises(SoundError, match="in use"):
            LoopbackPort(*busy.getsockname()).bind()


@pytest.mark.parametrize("mode", [0o666, 0o660, 0o606, 0o620])
def test_a_socket_that_others_can_open_is_not_connected_to(folder, mode):
    address = SocketFile(folder / "far.sock")
    with address.bind():
        address.path.chmod(mode)
        with pytest.raises(SoundError, match="others can open"):
            address.connect()


def test_a_socket_of_somebody_else_is_not_connected_to(folder, monkeypatch):
    address = SocketFile(folder / "far.sock")
    with address.bind():
        monkeypatch.setattr(os, "geteuid", lambda: 12345)
        with pytest.raises(SoundError, match="somebody else"):
            address.connect()
        assert list(found(folder)) == []


class Told:
    """A connection whose other end is a process of a user."""

    family = socket.AF_UNIX

    def __init__(self, user):
        self.user = user

    def getsockopt(self, level, name, size):
        assert (level, name, size) == (socket.SOL_SOCKET, socket.SO_PEERCRED, CREDENTIALS.size)
        return CREDENTIALS.pack(4711, self.user, 100)


@pytest.mark.skipif(not hasattr(socket, "SO_PEERCRED"), reason="the system does not say who connects")
def test_who_connects_is_asked_of_the_system(monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert [peer_is_trusted(Told(user)) for user in (1000, 0, 1001)] == [True, True, False]


def test_the_variable_says_where_the_listener_is_or_that_there_is_none(folder, monkeypatch):
    monkeypatch.setattr(address, "FOLDER", folder)
    monkeypatch.setattr(call, "far_token", lambda: folder / "token")
    with SocketFile(folder / "tabterm-1.sock").bind():
        assert [str(each) for each in call._addresses("auto")] == [str(folder / "tabterm-1.sock")]
        (folder / "token").touch()
        assert [str(each) for each in call._addresses("auto")][1:] == [f"127.0.0.1:{PORT}"]
    assert [str(each) for each in call._addresses(str(folder / "x.sock"))] == [str(folder / "x.sock")]
    assert [str(each) for each in call._addresses("127.0.0.1:4000")] == ["127.0.0.1:4000"]
    assert call._addresses("none") == []


def test_sockets_are_found_by_name_and_owner_the_newest_first(folder):
    doors = []
    for number, name in enumerate(("tabterm-1.sock", "tabterm-2.sock", "other.sock")):
        doors.append(SocketFile(folder / name).bind())
        os.utime(folder / name, (number, number))
    (folder / "tabterm-3.sock").touch()
    (folder / "tabterm-2.sock").chmod(0o666)
    assert [address.path.name for address in found(folder)] == ["tabterm-1.sock"]
    (folder / "tabterm-2.sock").chmod(0o600)
    assert [address.path.name for address in found(folder)] == ["tabterm-2.sock", "tabterm-1.sock"]
    for door in doors:
        door.close()
    assert not any(address.answers() for address in found(folder))
    assert list(found(folder)) == []  # what nobody listens at is taken away


def test_a_path_that_is_too_long_is_said(folder):
    with pytest.raises(SoundError, match="too long"):
        SocketFile(folder / ("x" * 120)).bind()


def test_a_listener_is_in_the_folder_for_such_files(monkeypatch):
    monkeypatch.setenv("XDG_RUNTIME_DIR", "/run/user/7")
    assert str(near_socket()) == "/run/user/7/tabterm/listen.sock"
