"""Key bindings are data: complete, reliable, and changed by the player with clear errors."""

from __future__ import annotations

import re

import pytest

from tabterm.errors import ConfigurationError
from tabterm.page.rows import COURSE
from tabterm.piece import configuration
from tabterm.workspace.keymap import DEFAULT_KEYS, Keymap, check_binding
from tabterm.workspace.registry import ALSO, REGISTRY, Group, matching
from tests.build import music
from tests.typist import Typist

UNRELIABLE = re.compile(
    r"^(alt\+.*|ctrl\+shift\+.*|ctrl\+\d|ctrl\+(i|m|h|j|space|@|enter)|ctrl\+[ab]|f1|f10|f11)$"
)
"""Keys that terminals do not send, send as another key, or keep for themselves: Ctrl+I, M, H and J are Tab, Enter,
Backspace and Line Feed (ASCII); Ctrl+A and Ctrl+B lead commands of terminal multiplexers; F1, F10 and F11 belong
to desktop terminals."""


def test_every_binding_names_a_command_and_gives_its_word():
    for keys in DEFAULT_KEYS.values():
        for key, binding in keys.items():
            check_binding(key, binding)
            name, _, word = binding.partition(" ")
            assert not word or REGISTRY[name].takes_word


def test_no_default_uses_an_unreliable_key():
    assert not [key for keys in DEFAULT_KEYS.values() for key in keys if UNRELIABLE.match(key)]


def test_every_command_says_what_it_does_and_has_a_question_for_its_word():
    for command in REGISTRY.values():
        assert command.title[0].isupper()
        assert isinstance(command.group, Group)
        assert bool(command.asks) == command.takes_word, command.name
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", command.name)


def test_four_neighbouring_keys_jump_to_the_courses():
    keymap = Keymap()
    assert [keymap.find("course", key) for key in "asdf"] == [f"course {n}" for n in range(1, 5)]


def test_a_row_goes_before_anywhere():
    keymap = Keymap()
    assert keymap.find("stroke", "enter") == "confirm"
    assert keymap.find("course", "enter") == "play-on"


def test_own_keys_add_replace_and_unbind():
    keymap = Keymap({"anywhere": {"ctrl+e": "export", "w": "step 2", "x": ""}})
    assert keymap.find("course", "ctrl+e") == "export"
    assert keymap.find("course", "w") == "step 2"
    assert keymap.find("course", "x") is None


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ({"nowhere": {"x": "mute"}}, "no row 'nowhere'"),
        ({"anywhere": {"ctrl+f99": "mute"}}, r"no key 'ctrl\+f99'"),
        ({"anywhere": {"x": "mut"}}, "did you mean 'mute'"),
        ({"anywhere": {"x": "mute 3"}}, "takes no word"),
    ],
)
def test_what_cannot_be_bound_is_said_and_the_other_bindings_hold(own, words, tmp_path, monkeypatch):
    row, keys = next(iter(own.items()))
    (key,) = keys
    file = tmp_path / "own.toml"
    file.write_text(f'[keys.finger]\nn = "mute"\n[keys.{row}]\n"{key}" = "{keys[key]}"\n', encoding="utf-8")
    monkeypatch.setenv("TABTERM_CONFIG", str(file))
    keymap = Keymap(configuration.load().keys, configuration.place_of)
    (fault,) = keymap.faults
    assert re.search(words, str(fault))
    assert fault.place == f"{file}, line {3 if row == 'nowhere' else 4}"
    assert keymap.find("finger", "n") == "mute"
    assert keymap.find("course", "x") == "mute"


def test_the_configuration_is_read(tmp_path, monkeypatch):
    file = tmp_path / "own.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(file))
    assert configuration.load() == configuration.Configuration()
    file.write_text(
        '[keys.anywhere]\nq = "step 2"\n[hand]\nspan_mm = 150\n[sound]\ncount_in = 2\n', encoding="utf-8"
    )
    settings = configuration.load()
    assert settings.keys == {"anywhere": {"q": "step 2"}}
    assert settings.hand.span_mm == 150
    assert settings.sound.count_in == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[sound]\ncount = 1\n", r"own.toml, line 2: no setting 'sound.count' \(did you mean 'count_in'"),
        ("[screen]\ntheme = 'pink'\n", "own.toml, line 2: screen.theme"),
        ("[sound\n", "not TOML"),
        ("[hand]\nspan_mm = 5\n", "line 2: hand.span_mm"),
    ],
)
def test_a_wrong_configuration_is_said_in_one_line(tmp_path, monkeypatch, text, words):
    file = tmp_path / "own.toml"
    file.write_text(text, encoding="utf-8")
    monkeypatch.setenv("TABTERM_CONFIG", str(file))
    with pytest.raises(ConfigurationError, match=words) as caught:
        configuration.load()
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        *[("metronome", "click"), ("bpm", "tempo"), ("duplicate", "duplicate"), ("swap", "swap-measures")],
        *[
            ("rhythm", "rhythm-before"),
            ("print", "sheet"),
            ("undo", "undo"),
            ("time signature", "metre"),
        ],
        *[("double stop", "stack"), ("double stop", "stack-above"), ("open", "digit"), ("octave", "transpose")],
        *[("chop", "style"), ("quarter", "step"), ("eighth", "length")],
        *[("play all", "play-all"), ("slow down", "half-speed"), ("register", "copy"), ("zzz", None)],
    ],
)
def test_a_command_is_found_by_the_words_that_players_use(words, name):
    found = [command.name for command in matching(words)]
    assert (name in found[:5]) if name else not found


def test_commands_that_differ_in_the_chords_differ_where_the_palette_begins():
    """A screen of 80 cells shows the first 41 characters of a title behind name and keys."""
    titles = [command.title[:41] for command in REGISTRY.values()]
    assert len(set(titles)) == len(titles)
    assert all("ith" in REGISTRY[name].title[:4] for name in REGISTRY if name.endswith("-with-chords"))
    assert [REGISTRY[name].title.partition(":")[0] for name in ("stack", "stack-above")] == [
        "Double stop",
        "Double stop above",
    ]


def test_other_words_belong_to_commands():
    assert set(ALSO) <= set(REGISTRY)


@pytest.mark.parametrize("row", ["c", "g", "v", "m"])
def test_escape_leaves_every_row(row):
    typist = Typist(music("4 1.0, 2.")).press(row)
    assert typist.session.here.cursor.row is not COURSE
    assert typist.press("escape").session.here.cursor.row is COURSE


def test_every_answer_that_is_listed_is_taken():
    """What a question offers can be answered: no list names what its command refuses."""
    for name in ("key", "metre", "instrument", "school", "style", "transpose-to", "toggle-row", "row", "tuplet"):
        for answer in REGISTRY[name].choices(Typist(music("1 1.5")).session):
            typist = Typist(music("4 2.5, 2.")).run(name, answer)
            assert not typist.troubles, (name, answer)
