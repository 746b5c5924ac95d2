"""Editors forked from a process that has loaded all that they load: a test opens one in a few milliseconds.

`python -m tests.warm FD` is that process; `start` asks it for an editor. It serves one test run and ends with it.
What depends on how the interpreter itself is started (locale, a missing module) needs an editor of its own.
"""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path


class Forked:
    """A process that is a child of the warm one, with the part of `subprocess.Popen` that tests use."""

    def __init__(self, pid):
        self.pid = pid
        self.returncode = None

    def poll(self):
        """The exit status, or None while it runs."""
        if self.returncode is None:
            self.returncode = _ask({"poll": self.pid})
        return self.returncode

    def wait(self, timeout=None):
        """The exit status, when it comes."""
        deadline = None if timeout is None else time.monotonic() + timeout
        while self.poll() is None:
            if deadline is not None and time.monotonic() > deadline:
                raise subprocess.TimeoutExpired("tabterm", timeout)
            time.sleep(0.002)
        return self.returncode

    def send_signal(self, number):
        """Send a signal, unless it has ended."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self):
        """End it at once."""
        self.send_signal(signal.SIGKILL)

    def terminate(self):
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)


_link: socket.socket | None = None
_process: subprocess.Popen[bytes] | None = None


def start(arguments, terminal, environment):
    """An editor on a terminal (the descriptor of its slave end)."""
    global _link, _process  # noqa: PLW0603 - one warm process for a test run
    if _link is None:
        _link, its = socket.socketpair()
        words = [sys.executable, "-m", "tests.warm", str(its.fileno())]
        _process = subprocess.Popen(words, pass_fds=(its.fileno(),), env=os.environ | {"LANG": "C.UTF-8"})
        its.close()
    request = {"arguments": arguments, "environment": environment, "folder": str(Path.cwd())}
    return Forked(_ask(request, terminal))


def stop():
    """End the warm process, if one was started."""
    global _link, _process  # noqa: PLW0603 - as above
    if _link is not None:
        _link.close()
        _process.wait()
        _link = _process = None


def _ask(request, *descriptors):
    data = json.dumps(request).encode()
    socket.send_fds(_link, [len(data).to_bytes(4)], list(descriptors))
    _link.sendall(data)
    return json.loads(_link.recv(64))


def serve(link):
    """Fork an editor for each request, and say of each when it has ended."""
    _load()
    ended = {}
    while True:
        size, descriptors, _, _ = socket.recv_fds(link, 4, 1)
        if not size:
            return
        data = b""
        while len(data) < int.from_bytes(size):
            data += link.recv(int.from_bytes(size) - len(data))
        request = json.loads(data)
        if "poll" in request:
            pid = request["poll"]
            if pid not in ended:
                found, status = os.waitpid(pid, os.WNOHANG)
                if found:
                    ended[pid] = os.waitstatus_to_exitcode(status)
            answer = ended.get(pid)
        else:
            answer = os.fork()
            if not answer:
                link.close()
                _become(request, descriptors[0])
            os.close(descriptors[0])
        link.sendall(json.dumps(answer).encode())


def _load():
    """Import what an editor imports."""
    from tabterm.cli.edit import TOOLKIT

    os.environ |= TOOLKIT
    from tabterm.tui.app import later

    later()


def _become(request, terminal):
    """Be the editor: in a session of its own, on its terminal, in its environment."""
    import fcntl
    import termios

    os.setsid()
    fcntl.ioctl(terminal, termios.TIOCSCTTY, 0)
    for number in range(3):
        os.dup2(terminal, number)
    os.close(terminal)
    sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115 - as the interpreter opens them on a terminal
    sys.stdout = open(1, "w", encoding="utf-8", buffering=1, closefd=False)  # noqa: SIM115
    sys.stderr = open(2, "w", encoding="utf-8", errors="backslashreplace", closefd=False)  # noqa: SIM115
    os.environ.clear()
    os.environ.update(request["environment"])
    os.chdir(request["folder"])
    sys.argv = ["tabterm", *request["arguments"]]
    from tabterm.cli.main import run

    try:
        run()
    except SystemExit as end:
        status = end.code or 0
    except BaseException:  # noqa: BLE001 - as the interpreter does at the top
        sys.excepthook(*sys.exc_info())
        status = 1
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os._exit(int(status))


if __name__ == "__main__":
    serve(socket.socket(fileno=int(sys.argv[1])))
