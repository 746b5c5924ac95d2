"""What a lock file says of its holder is not believed."""

from __future__ import annotations

import fcntl
import json
import os
import socket

import pytest

from tabterm.storage import names
from tabterm.storage.lock import UNKNOWN, Lock

HOLDER = {"user": "somebody", "host": socket.gethostname(), "process": 1, "since": "10:00"}


@pytest.mark.parametrize(
    "said",
    [
        json.dumps({**HOLDER, "process": 10**30}),
        json.dumps({**HOLDER, "process": -1}),
        f'{{"process":{"9" * 3900}}}',
        "[" * 4000,
        "[1]",
        '{"user": 1e999}',
        "",
    ],
    ids=["large", "negative", "digits", "deep", "list", "endless", "empty"],
)
def test_a_holder_that_cannot_be_is_unknown(tmp_path, said):
    path = tmp_path / "a.tabterm"
    descriptor = os.open(names.beside(path, "lock"), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        os.write(descriptor, said.encode())
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        assert Lock.take(path) is UNKNOWN
    finally:
        os.close(descriptor)
