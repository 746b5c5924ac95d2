"""`tabterm listen` as a user runs it."""

from __future__ import annotations

import subprocess
import sys

from tabterm.sound.remote.address import SocketFile
from tests.sound.remote.near import wait_until


class Listening:
    """A process that listens at a socket.

    Attributes:
        address: Where it is.
        token: None: nobody else can open the socket.
    """

    def __init__(self, folder, port):
        folder.chmod(0o700)
        self.address, self.token = SocketFile(folder / "listen.sock"), None
        words = ("listen", "--socket", str(self.address), "--output", f"port:{port}")
        self._output = (folder / "output").open("w+")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tabterm", *words], stdout=self._output, stderr=subprocess.STDOUT
        )
        wait_until(lambda: "the sound goes to" in self.said(), 20, self.said)

    def said(self):
        """Everything that it has printed."""
        self._output.seek(0)
        return self._output.read()

    def close(self):
        self.process.terminate()
        self.process.wait(60)
        self._output.close()
