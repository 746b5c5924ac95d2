"""Where a listener is: a socket file that its owner alone can open, or a loopback port. Nothing else is used.

The listener binds on the near machine; ssh opens a socket file or a port on the far one that leads there. The
editor finds a socket file in `FOLDER` by its name and owner, so that it needs no setting.
"""

from __future__ import annotations

import os
import socket
import stat
import struct
from contextlib import suppress
from ipaddress import ip_address
from pathlib import Path

import platformdirs

from tabterm.dataclass import dataclass
from tabterm.errors import SoundError
from tabterm.storage.opening import make_own_folder

FOLDER = Path("/tmp")  # noqa: S108 - only a socket of one's own, which nobody else can put there, is opened
PATTERN = "tabterm-*.sock"
"""Socket files that ssh has made for an editor. Each log-in has one of its own: the server leaves the file of an
ended one behind, and makes none where there is one (sshd_config(5), StreamLocalBindUnlink)."""

PORT = 23160  #: port; tuned here, below those that systems give out
"""The port where none is given; below those that the system gives to whoever connects (Linux: from 32768,
ip(7))."""

MOST_DIGITS = 5  #: digits; derived: 65535 is the last port
CONNECT_WITHIN_S = 2.0  #: s; implementation limit
OTHERS = 0o077  #: mode bits; POSIX, group and others
"""The bits of a file's mode that let others in."""

CREDENTIALS = struct.Struct("3i")
"""What SO_PEERCRED tells: process, user, group (unix(7))."""


@dataclass(frozen=True, slots=True)
class SocketFile:
    """A socket in the file system: its mode, and that of its folder, say who may open it."""

    path: Path

    def __str__(self) -> str:
        return str(self.path)

    @property
    def is_guarded(self) -> bool:
        """Whether nobody else can open it, so that no token is needed."""
        return True

    def bind(self) -> socket.socket:
        """Listen there; a file that a listener left behind is taken away.

        Raises:
            SoundError: Others could open it, it is in use, or the system refuses.
        """
        _make_own_folder(self.path.parent)
        if self.answers():
            raise SoundError("a listener already runs there", place=str(self), hint="stop that one first")
        door = socket.socket(socket.AF_UNIX)
        before = os.umask(0o177)
        try:
            door.bind(str(self.path))
        except OSError as error:
            door.close()
            raise SoundError(f"cannot listen: {error.strerror or error}", place=str(self)) from error
        finally:
            os.umask(before)
        if (fault := self.fault()) is not None:
            door.close()
            raise SoundError(fault, place=str(self))
        door.listen()
        return door

    def connect(self) -> socket.socket:
        """A connection; raises SoundError when it is not one's own, OSError when nobody listens."""
        if (fault := self.fault()) is not None:
            raise SoundError(fault, place=str(self), hint="remove it")
        return _connected(socket.AF_UNIX, str(self.path))

    def fault(self) -> str | None:
        """Why it is not to be trusted, or None. Raises OSError when there is no file."""
        found = self.path.lstat()
        if not stat.S_ISSOCK(found.st_mode):
            return "not a socket"
        if found.st_uid != os.geteuid():
            return "the socket belongs to somebody else"
        if found.st_mode & OTHERS:
            return f"others can open the socket (mode {stat.S_IMODE(found.st_mode):04o} instead of 0600)"
        folder = self.path.parent.stat()
        others_write = folder.st_mode & 0o022 and not folder.st_mode & stat.S_ISVTX
        if others_write or folder.st_uid not in {0, os.geteuid()}:
            return "others can put a socket there"
        return None

    def answers(self) -> bool:
        """Whether somebody listens; a file of one's own that nobody listens at is taken away."""
        try:
            self.connect().close()
        except ConnectionRefusedError:
            with suppress(OSError):
                self.path.unlink()
            return False
        except FileNotFoundError:
            return False
        except OSError:
            return True
        return True


@dataclass(frozen=True, slots=True)
class LoopbackPort:
    """A TCP port of this machine alone: every user of the machine can reach it, so a token is needed."""

    host: str
    port: int

    def __str__(self) -> str:
        return f"[{self.host}]:{self.port}" if ":" in self.host else f"{self.host}:{self.port}"

    @property
    def is_guarded(self) -> bool:
        """Every user of the machine can connect."""
        return False

    @property
    def _family(self) -> socket.AddressFamily:
        return socket.AF_INET6 if ":" in self.host else socket.AF_INET

    def bind(self) -> socket.socket:
        """Listen there; raises SoundError when it is in use or the system refuses."""
        door = socket.socket(self._family)
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # what an ended listener left behind
        try:
            door.bind((self.host, self.port))
            door.listen()
        except OSError as error:
            door.close()
            hint = "stop what listens there, or choose another port"
            raise SoundError(f"cannot listen: {error.strerror or error}", place=str(self), hint=hint) from error
        return door

    def connect(self) -> socket.socket:
        """A connection; raises OSError when nobody listens."""
        connection = _connected(self._family, (self.host, self.port))
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return connection

    def answers(self) -> bool:
        """Whether somebody listens."""
        try:
            self.connect().close()
        except OSError:
            return False
        return True


Address = SocketFile | LoopbackPort


def parse(text: str) -> Address:
    """The address that is written as a path, HOST:PORT or PORT.

    Raises:
        SoundError: It is none, or leads beyond this machine.
    """
    if "/" in text:
        return SocketFile(Path(text).expanduser().absolute())
    host, _, number = text.rpartition(":")
    host = host.strip("[]") or "127.0.0.1"
    if not number.isdecimal() or len(number) > MOST_DIGITS or not 0 < int(number) < 1 << 16:
        raise SoundError(f"not an address: '{text}'", hint="the path of a socket, or 127.0.0.1:PORT")
    try:
        is_loopback = host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        is_loopback = False
    if not is_loopback:
        hint = "127.0.0.1:PORT, or the path of a socket; ssh can forward both"
        raise SoundError(f"'{host}' is open to other machines: anybody could play there", hint=hint)
    return LoopbackPort("127.0.0.1" if host == "localhost" else host, int(number))


def near_socket() -> SocketFile:
    """Where a listener listens when nothing else is said: in the user's own folder for such files."""
    folder = os.environ.get("XDG_RUNTIME_DIR")
    place = Path(folder) / "tabterm" if folder else platformdirs.user_data_path("tabterm")
    return SocketFile(place / "listen.sock")


def found(folder: Path | None = None) -> list[SocketFile]:
    """Socket files of one's own that ssh may have made, the newest first; nobody may be listening at them."""
    dated = []
    for path in (folder or FOLDER).glob(PATTERN):
        with suppress(OSError):
            if SocketFile(path).fault() is None:
                dated.append((path.lstat().st_mtime, path))
    return [SocketFile(path) for _, path in sorted(dated, reverse=True)]


def peer_is_trusted(connection: socket.socket) -> bool:
    """Whether a process of one's own, or of the system, is at the other end of a socket file.

    True where the system cannot tell (SO_PEERCRED is Linux's): the file's mode holds others off there too.
    """
    if connection.family != socket.AF_UNIX or not hasattr(socket, "SO_PEERCRED"):
        return True
    raw = connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, CREDENTIALS.size)
    return CREDENTIALS.unpack(raw)[1] in {0, os.geteuid()}


def _connected(family: socket.AddressFamily, where: str | tuple[str, int]) -> socket.socket:
    connection = socket.socket(family)
    connection.settimeout(CONNECT_WITHIN_S)
    try:
        connection.connect(where)
    except BaseException:
        connection.close()
        raise
    if not peer_is_trusted(connection):
        connection.close()
        raise PermissionError("another user's listener is there")
    return connection


def _make_own_folder(folder: Path) -> None:
    """Make the folder where it is missing; raises SoundError when anybody else could write into it."""
    try:
        make_own_folder(folder)
        found = folder.stat()
    except OSError as error:
        raise SoundError(f"cannot be made: {error.strerror or error}", place=str(folder)) from error
    if found.st_uid != os.geteuid() or found.st_mode & 0o022:
        hint = "choose a folder that only you can write to"
        raise SoundError("others could put their own socket there", place=str(folder), hint=hint)
