"""Links of the README on another page than that of its repository."""

from __future__ import annotations

import re

from tests.package.links import README, absolute

BASE, PICTURES = "https://git.example/tree", "https://git.example/raw/"


def test_no_relative_link_is_left_and_nothing_else_is_changed():
    text = README.read_text(encoding="utf-8")
    made = absolute(text, BASE, PICTURES)
    targets = re.findall(r"\]\(([^)]*)\)", made)
    assert targets
    assert all(target.startswith("https://") for target in targets)
    assert f"]({BASE}/docs/tutorial.md)" in made
    assert f"]({PICTURES}docs/editor.svg)" in made
    assert made.replace(PICTURES, "").replace(f"{BASE}/", "") == text


def test_what_is_absolute_already_stays():
    text = "[a](https://a.example/b) [c](#d) [e](mailto:f@g.example)"
    assert absolute(text, BASE) == text
