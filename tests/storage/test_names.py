"""Names of files made of titles: any script, nothing that a file system or a person could stumble over."""

from __future__ import annotations

import os
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tabterm.storage.names import LONGEST_STEM, named_after


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Quarry Road Breakdown", "quarry-road-breakdown"),
        ("春の歌", "春の歌"),
        ("ドアベルのワルツ", "ドアベルのワルツ"),
        ("Été à l'Île", "été-à-l-île"),
        ("The Ferryman's Jig", "the-ferrymans-jig"),
        ("You\u2019ll Don't O'Neill's 'Tis", "youll-dont-o-neills-tis"),
        ("Ёлка, 2", "ёлка-2"),
        ("गीत की धुन", "गीत-की-धुन"),
        ("\u0634\u0628\u200c\u0647\u0627", "\u0634\u0628\u0647\u0627"),  # a joiner is not seen
        ("\uff21\uff0f\uff22", "a-b"),  # a wide solidus is a separator once a file system has folded it
        ("../../etc/passwd", "etc-passwd"),
        ("..", "untitled"),
        ("a\x00b\x1b[31m\nc", "a-b-31m-c"),
        ("gnp\u202eexe", "gnpexe"),
        ("🎵🎵", "untitled"),
        ("", "untitled"),
        ("Con", "con-"),
        ("COM1", "com1-"),
    ],
)
def test_a_title_in_any_script_names_a_file(title, name):
    assert named_after(title) == name


def test_what_tells_files_apart_stays_whole_behind_a_long_title():
    name = named_after("春" * 200, "m5-8")
    assert name.endswith("春-m5-8")
    assert LONGEST_STEM - 2 <= len(name.encode()) <= LONGEST_STEM


def test_letters_that_the_file_system_cannot_write_are_left_out(monkeypatch):
    monkeypatch.setattr(os, "fsencode", lambda text: text.encode("latin-1"))
    assert named_after("Été 春 song") == "été-song"


@given(st.text(max_size=200), st.sampled_from(["", "m5-8"]))
def test_no_title_leads_elsewhere_or_hides_anything(title, more):
    name = named_after(title, more)
    assert 0 < len(name.encode()) <= LONGEST_STEM
    assert not set(name) & set('/\\:*?"<>|. \0')
    assert not {unicodedata.category(sign)[0] for sign in name} & {"C", "Z"}
    assert named_after(name) == name or more or name.endswith("-")
