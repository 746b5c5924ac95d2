"""A process of the sound room at the other end of a link: the engine, or what stands for one that is far away."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

from tabterm.sound.link import Link

EngineProcess = tuple["subprocess.Popen[bytes]", Link]
"""A process of this machine that does what an engine does, and the link to it."""


def spawn(module: str, *arguments: str) -> EngineProcess:
    """Start a module's `main` in a process of its own, without waiting for it.

    Args:
        module: Its full name; it is called with the descriptor of its end of the link, and the arguments.
        arguments: What else it is to know.
    """
    ours, its = socket.socketpair()
    with its:
        process = subprocess.Popen(
            # Without `site` it starts sooner, and nothing in the working folder can stand in for a module.
            [sys.executable, "-S", "-P", "-m", module, str(its.fileno()), *arguments],
            pass_fds=(its.fileno(),),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # a stopped terminal job must not stop it inside a note
            env=os.environ | {"PYTHONPATH": _module_path()},
        )
    return process, Link(ours)


def _module_path() -> str:
    """Where it finds the modules that are found here, this one first."""
    root = str(Path(__file__).parents[2])
    return os.pathsep.join([root, *(path for path in sys.path if path)])
