"""What editor and listener say before anything else: which version they speak, and that both know the token.

The listener speaks first:

1. listener: `hello` with its protocol, its version and a nonce
2. editor: `hello` with the same, a proof and what it comes for
3. listener: `welcome` with a proof of its own, or `refused` with the reason

A proof is the HMAC (RFC 2104) by SHA-256, keyed with the token, of who proves and both nonces: the token itself
never crosses a line, and what one end has said is of no use to another, or at another time. Where the socket's
mode keeps everybody else off, the proofs are empty.
"""

from __future__ import annotations

import hmac
import os
import secrets
import stat
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import platformdirs

from tabterm import printable
from tabterm.errors import SoundError, StorageError
from tabterm.sound.link import Limits
from tabterm.sound.remote.inspection import layout
from tabterm.storage.opening import make_own_folder
from tabterm.storage.whole import write_new
from tabterm.version import __version__

if TYPE_CHECKING:
    from tabterm.sound.link import Frame

PROTOCOL = f"1.{layout()}"
"""The handshake, and a mark of what comes behind it: ends that differ do not play together."""

HELLO_WITHIN_S = 5.0  #: s; implementation limit
"""Who has not said everything by then is sent away."""

#: bytes, brackets, 1/s; implementation limit
HELLO_LIMITS = Limits(head_bytes=1024, body_bytes=0, brackets=3, frames_per_s=4)
"""What is taken from somebody who is not known yet."""

NONCE_BYTES = 32  #: bytes; implementation limit: as many as SHA-256 gives
TOKEN_BYTES = 32  #: bytes; implementation limit: as many as SHA-256 gives

Role = Literal["listener", "editor"]
Errand = Literal["play", "sheet"]
"""What an editor comes for: to be heard, or to bring a sheet."""

PLAY: Errand = "play"
SHEET: Errand = "sheet"


def near_token() -> Path:
    """Where a listener keeps its token, for the user alone."""
    return platformdirs.user_data_path("tabterm") / "listen-token"


def far_token() -> Path:
    """Where an editor looks for the token of the listener that it may play through.

    The same on every system, since the command that brings it over cannot know the other one's folders.
    """
    return Path.home() / ".local/share/tabterm/listener-token"


def make_token(file: Path) -> bytes:
    """The token in a file; one is made, with mode 0600, where there is no file.

    Raises:
        SoundError: Others can read it, or it holds none.
        StorageError: It cannot be written.
    """
    try:
        make_own_folder(file.parent)
        write_new(file, f"{secrets.token_hex(TOKEN_BYTES)}\n".encode())
    except FileExistsError:
        return read_token(file)
    except OSError as error:
        raise StorageError(f"cannot be written: {error.strerror or error}", place=str(file)) from error
    return read_token(file)


def read_token(file: Path) -> bytes:
    """The token in a file; raises SoundError when there is none, or others could know it."""
    try:
        found = file.stat()
        text = file.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        hint = "`tabterm listen --tcp` prints the line that copies it here"
        raise SoundError("the listener's token is missing here", place=str(file), hint=hint) from None
    if found.st_uid != os.geteuid() or stat.S_IMODE(found.st_mode) & 0o077:
        raise SoundError(
            "others can read the listener's token", place=str(file), hint="remove it to make a new one"
        )
    try:
        token = bytes.fromhex(text)
    except ValueError:
        token = b""
    if len(token) != TOKEN_BYTES:
        raise SoundError("not a token", place=str(file), hint="remove it and start again to make a new one")
    return token


class Handshake:
    """One end of the handshake.

    Attributes:
        role: Which end it is.
        token: What both must know; None where the socket's mode is enough.
        errand: What the editor comes for; a listener knows it once it has heard it.
        version: What the other end says that it is, once it has said so.
    """

    def __init__(self, role: Role, token: bytes | None, errand: Errand = PLAY) -> None:
        self.role = role
        self.errand: Errand = errand
        self.token = token
        self.version = ""
        self._nonces: dict[Role, str] = {role: secrets.token_hex(NONCE_BYTES)}

    def hello(self) -> dict[str, Any]:
        """What this end says first; the editor's holds the proof, if the listener has been heard."""
        values = {"protocol": PROTOCOL, "version": __version__, "nonce": self._nonces[self.role]}
        if self.role == "listener":
            return values
        proof = self.proof("editor") if "listener" in self._nonces else ""
        return values | {"proof": proof, "errand": self.errand}

    def hear(self, frame: Frame) -> None:
        """Take in the other end's hello, but for the proof; raises SoundError when they cannot play together."""
        other: Role = "editor" if self.role == "listener" else "listener"
        values = frame.values
        protocol, version, nonce = (values.get(name) for name in ("protocol", "version", "nonce"))
        if frame.word != "hello" or not isinstance(protocol, str) or not isinstance(version, str):
            raise SoundError(f"the other end is not a tabterm {other}")
        self.version = plain(version, most=20)
        if protocol != PROTOCOL:
            message = f"the {other} is tabterm {self.version} (protocol {plain(protocol, most=20)}), this is "
            message += f"tabterm {__version__} (protocol {PROTOCOL})"
            raise SoundError(message, hint="install the same version at both ends")
        if not isinstance(nonce, str) or len(nonce) != 2 * NONCE_BYTES or nonce in self._nonces.values():
            raise SoundError(f"the other end is not a tabterm {other}")
        self._nonces[other] = nonce
        if self.role == "listener" and values.get("errand") == SHEET:
            self.errand = SHEET

    def proof(self, role: Role) -> str:
        """What shows that an end knows the token; "" where none is needed."""
        if self.token is None:
            return ""
        text = "\n".join((f"tabterm {PROTOCOL}", role, self._nonces["listener"], self._nonces["editor"]))
        return hmac.digest(self.token, text.encode("utf-8", "replace"), "sha256").hex()

    def check(self, role: Role, proof: object) -> None:
        """Compare the other end's proof, in constant time; raises SoundError when it has a different token."""
        shown = proof if isinstance(proof, str) else ""
        if not hmac.compare_digest(self.proof(role).encode(), shown.encode("utf-8", "replace")):
            hint = "copy the token over again: `tabterm listen --tcp` prints the line"
            raise SoundError(f"the {role} has a different token", hint=hint)


def plain(text: str, *, most: int = 200) -> str:
    """Text of the other end as it may be shown: nothing that a terminal would obey, and not for ever."""
    return printable.line(text[:most])
