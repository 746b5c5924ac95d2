"""What somebody else may have put where a file of ours belongs."""

from __future__ import annotations

import os
import socket


def link(path):
    victim = path.with_name("victim")
    victim.write_bytes(b"precious")
    path.symlink_to(victim)


def dangling_link(path):
    path.symlink_to(path.with_name("nowhere"))


def second_name(path):
    victim = path.with_name("victim")
    victim.write_bytes(b"precious")
    path.hardlink_to(victim)


def pipe(path):
    os.mkfifo(path)


def folder(path):
    path.mkdir()
    (path / "inside").write_bytes(b"precious")


def plug(path):
    """A socket; its name is bound from inside the folder, since addresses are short."""
    before = os.open(".", os.O_RDONLY)
    os.chdir(path.parent)
    try:
        with socket.socket(socket.AF_UNIX) as bound:
            bound.bind(path.name)
    finally:
        os.chdir(before)
        os.close(before)


PLANTS = {each.__name__: each for each in (link, dangling_link, second_name, pipe, folder, plug)}


def unharmed(path):
    """Whether nothing that a plant leads to has been touched."""
    victim, nowhere = path.with_name("victim"), path.with_name("nowhere")
    inside = path / "inside"
    return (
        (not victim.exists() or victim.read_bytes() == b"precious")
        and not nowhere.exists()
        and (not path.is_dir() or inside.read_bytes() == b"precious")
    )


def give_away(monkeypatch, *paths):
    """Let files look as if another user owned them, for as long as they are these files."""
    given = {_identity(path.stat()) for path in paths}
    monkeypatch.setattr("tabterm.storage.opening.is_foreign", lambda found: _identity(found) in given)


def _identity(found):
    return found.st_ino, found.st_ctime_ns
