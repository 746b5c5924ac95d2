"""An OpenSSH server on loopback with keys, port and configuration of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import psutil
import pytest

SSHD = shutil.which("sshd") or shutil.which("sshd", path="/usr/sbin:/usr/local/sbin")
REPOSITORY = Path(__file__).parents[2]


class SshServer:
    """A server for whoever runs the tests; `command` is what connects to it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        for name in ("host", "user"):
            subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", folder / name], check=True)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        shutil.copy(folder / "user.pub", folder / "authorized")
        settings = {
            "Port": self.port,
            "ListenAddress": "127.0.0.1",
            "HostKey": folder / "host",
            "AuthorizedKeysFile": folder / "authorized",
            "PidFile": folder / "pid",
            "StrictModes": "no",
            "UsePAM": "no",
            "PasswordAuthentication": "no",
            "PermitRootLogin": "yes",
        }
        (folder / "sshd_config").write_text("".join(f"{key} {value}\n" for key, value in settings.items()))
        if os.geteuid() == 0:
            Path("/run/sshd").mkdir(exist_ok=True)  # sshd wants it for its separated part
        with (folder / "log").open("w") as log:
            self.process = subprocess.Popen([SSHD, "-D", "-e", "-f", folder / "sshd_config"], stderr=log)
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError((folder / "log").read_text())

    def command(self, *arguments: str | Path, **environment: str) -> list[str]:
        """The command line that opens the editor on the far side."""
        variables = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8", **environment}
        variables |= {name: os.environ[name] for name in os.environ if name.startswith("XDG_")}
        words = " ".join(f"{name}='{value}'" for name, value in variables.items())
        editor = " ".join(map(str, (sys.executable, "-m", "tabterm", *arguments)))
        return self._ssh(f"cd {REPOSITORY} && exec env {words} {editor}")

    def _ssh(self, command: str) -> list[str]:
        return [
            *("ssh", "-tt", "-F", "none", "-p", str(self.port), "-i", str(self.folder / "user")),
            *("-o", "StrictHostKeyChecking=no", "-o", f"UserKnownHostsFile={self.folder / 'known'}"),
            *("-o", "IdentitiesOnly=yes", "-o", "LogLevel=ERROR", "127.0.0.1", command),
        ]

    def refusal(self) -> str:
        """Why a shell on the far side gets no terminal, or "": only root may always give one away."""
        probe = self._ssh("test -t 0 && echo given")
        tried = subprocess.run(probe, stdin=subprocess.DEVNULL, capture_output=True, timeout=30, check=False)
        if b"given" in tried.stdout:
            return ""
        said = (self.folder / "log").read_text().splitlines() or [f"ssh ended with {tried.returncode}"]
        return next((line for line in said if "failed" in line), said[-1])

    def editors(self, file: Path) -> list[psutil.Process]:
        """The processes of the far side that have a file open in the editor."""
        found = []
        for process in psutil.process_iter(["cmdline"]):
            words = process.info["cmdline"] or []
            if "tabterm" in words and str(file) in words and "ssh" not in words[0]:
                found.append(process)
        return found

    def close(self) -> None:
        for child in psutil.Process(self.process.pid).children(recursive=True):
            with suppress(psutil.NoSuchProcess):
                child.kill()
        self.process.kill()
        self.process.wait()


@pytest.fixture(scope="module")
def ssh(tmp_path_factory):
    """A server; the test is skipped where there is none to be had."""
    if SSHD is None or shutil.which("ssh") is None:
        pytest.skip("no OpenSSH server here")
    server = SshServer(tmp_path_factory.mktemp("ssh"))
    try:
        if refusal := server.refusal():
            pytest.skip(f"sshd gives this user no terminal: {refusal}")
        yield server
    finally:
        server.close()
