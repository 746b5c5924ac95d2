"""The page of licences names that of everything that is installed along, as the packages themselves state it."""

from __future__ import annotations

import re
from importlib.metadata import distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement

PAGE = (Path(__file__).parents[1] / "docs" / "licences.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")] for line in PAGE.splitlines() if line.startswith("| `")
]
NAMED = {name: row for row in ROWS for name in re.findall(r"`([\w-]+)`", row[0])}
"""Of each package: its row."""

EXTRAS = ("", "sheet", "recording", "sound", "full")
"""What may be installed with it, besides what developers need."""

CLASSIFIERS = {"MIT": "MIT License", "BSD-3-Clause": "BSD License"}
"""The words of packages that state no SPDX expression."""


def installed():
    """The names of all packages that tabterm and its extras need here, whatever asks for them."""
    found, coming = {"tabterm"}, ["tabterm"]
    while coming:
        asking = coming.pop()
        extras = EXTRAS if asking == "tabterm" else ("",)
        for text in distribution(asking).requires or ():
            needed = Requirement(text)
            name = needed.name.lower().replace("_", "-")
            if name not in found and (
                needed.marker is None or any(needed.marker.evaluate({"extra": extra}) for extra in extras)
            ):
                found.add(name)
                coming.append(name)
    return sorted(found - {"tabterm"})


@pytest.mark.parametrize("name", installed())
def test_a_package_has_the_licence_that_is_named(name):
    stated = distribution(name).metadata
    words = [stated.get("License-Expression") or "", stated.get("License") or ""]
    words += stated.get_all("Classifier") or ()
    licence = NAMED[name][1]
    assert any(
        licence in each.replace(" OR ", " or ") or each.endswith(CLASSIFIERS.get(licence, licence))
        for each in words
    )


def test_every_package_that_is_named_is_one_that_we_ask_for():
    asked = {Requirement(text).name for text in distribution("tabterm").requires or ()}
    assert set(NAMED) <= asked | set(installed())


def test_shared_libraries_of_others_in_a_wheel_are_named():
    """Their file names are all that can be read of them; those of the package itself lie among its modules."""
    for name in installed():
        for file in distribution(name).files or ():
            if re.search(r"\.libs/|^_soundfile_data/|^python_rtmidi\./", str(file)) and ".so" in file.name:
                library = re.match(r"(?:libscipy_)?([a-z]+)", file.name).group(1)
                assert f"`{library}`" in NAMED[name][2], file


@pytest.mark.parametrize(
    ("package", "python", "system", "machine", "wanted"),
    [
        ("miniaudio", "3.11", "linux", "x86_64", True),
        ("miniaudio", "3.11", "linux", "aarch64", False),
        ("miniaudio", "3.14", "darwin", "arm64", True),
        ("python-rtmidi", "3.12", "linux", "aarch64", True),
        ("python-rtmidi", "3.13", "linux", "x86_64", False),
        ("rtmidi2", "3.13", "linux", "x86_64", True),
        ("rtmidi2", "3.13", "linux", "aarch64", False),
        ("rtmidi2", "3.13", "darwin", "arm64", True),
        ("rtmidi2", "3.12", "linux", "x86_64", False),
    ],
)
def test_what_has_no_wheel_is_left_out_as_the_readme_says(package, python, system, machine, wanted):
    needed = next(each for text in distribution("tabterm").requires if (each := Requirement(text)).name == package)
    where = {"python_version": python, "sys_platform": system, "platform_machine": machine, "extra": "sound"}
    assert needed.marker.evaluate(where) == wanted
