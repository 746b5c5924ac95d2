"""What a lock file says of its holder is not believed."""

from __future__ import annotations

import fcntl
import json
import os
import socket

import pytest

from tabterm.storage import names
from tabterm.storage.lock import UNKNOWN, Lock, LockHolder

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


@pytest.mark.parametrize("name", ["a\n", "a\r\x1b[2J", "a\u2028b"])
def test_who_holds_it_is_said_in_one_line(name):
    holder = LockHolder(name, "h", 1, "12:00")
    assert str(holder).splitlines() == [str(holder)]
    assert "\x1b" not in str(holder)
