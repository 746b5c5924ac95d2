"""What pyproject.toml asks for, and on which interpreters and machines it is to be had as wheels."""

from __future__ import annotations

import tomllib
from itertools import product
from pathlib import Path
from typing import NamedTuple

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

PYTHONS = tuple(each.rpartition(" ")[2] for each in PROJECT["classifiers"] if "Python :: 3." in each)
"""The versions that the metadata name."""

EXTRAS = ("", "sheet", "recording", "sound", "full")
"""What a user may install; "" is the bare program."""


class Platform(NamedTuple):
    """A kind of machine: its name for a person and for uv, and what markers see of it."""

    name: str
    uv: str
    sys_platform: str
    machine: str


PLATFORMS = (
    Platform("Linux x86-64", "x86_64-manylinux_2_28", "linux", "x86_64"),
    Platform("Linux aarch64", "aarch64-manylinux_2_28", "linux", "aarch64"),
    Platform("macOS arm64", "aarch64-apple-darwin", "darwin", "arm64"),
)


class Target(NamedTuple):
    """An interpreter on a kind of machine."""

    python: str
    platform: Platform

    def environment(self, extra: str) -> dict[str, str]:
        """What markers are evaluated with."""
        return {
            "python_version": self.python,
            "python_full_version": f"{self.python}.0",
            "implementation_name": "cpython",
            "os_name": "posix",
            "platform_machine": self.platform.machine,
            "platform_python_implementation": "CPython",
            "platform_system": {"linux": "Linux", "darwin": "Darwin"}[self.platform.sys_platform],
            "sys_platform": self.platform.sys_platform,
            "extra": extra,
        }


TARGETS = tuple(Target(python, platform) for platform, python in product(PLATFORMS, PYTHONS))


def requirements(extra: str) -> list[Requirement]:
    """What an extra asks for, with what the program asks for anyway; extras of our own are followed."""
    found = [Requirement(text) for text in PROJECT["dependencies"]]
    coming = [extra] if extra else []
    while coming:
        for text in PROJECT["optional-dependencies"][coming.pop()]:
            wanted = Requirement(text)
            if wanted.name == PROJECT["name"]:
                coming += wanted.extras
            else:
                found.append(wanted)
    return found


def wanted(target: Target, extra: str) -> list[Requirement]:
    """Those of an extra whose marker lets them in on a target."""
    environment = target.environment(extra)
    return [each for each in requirements(extra) if each.marker is None or each.marker.evaluate(environment)]


def left_out(target: Target, extra: str) -> list[Requirement]:
    """Those of an extra that a marker keeps away from a target, where nothing else takes their part."""
    asked = {PARTS.get(each.name, each.name) for each in wanted(target, extra)}
    return [each for each in requirements(extra) if PARTS.get(each.name, each.name) not in asked]


PARTS = {"python-rtmidi": "MIDI ports", "rtmidi2": "MIDI ports", "miniaudio": "audio device"}
"""What a package is for, where another one may do the same, or nothing does."""
