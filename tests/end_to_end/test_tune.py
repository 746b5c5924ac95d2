"""A whole traditional tune, typed with the keyboard into the real editor, saved, reopened, and heard.

"The Boys of Bluehill", hornpipe, from F. O'Neill, "O'Neill's Music of Ireland", Chicago 1903, number 1700 (public
domain; the melody typed in here, its repeats written with endings). The pitches are held apart from the keys: two
lists that were made separately must agree.
"""

from __future__ import annotations

import json

import pytest

from tabterm.formats import native
from tabterm.performance import playing_order

A4, B4, D4, D5, E5, FS4, FS5, G5, A5, B5 = 69, 71, 62, 74, 76, 66, 78, 79, 81, 83

OPENING = [FS4, A4]
PHRASE_1 = [B4, A4, FS4, A4, D4, FS4, A4, B4, A4, B4, D5, E5, D5, E5]
PHRASE_2 = [FS5, A5, A5, FS5, E5, G5, FS5, E5]
PHRASE_3 = [D5, FS5, E5, D5, B4, D5, B4]
CLOSE = [D5, D5, D5, D5]
PART_1 = PHRASE_1 + PHRASE_2 + PHRASE_3 + PHRASE_1 + PHRASE_2
PART_2_START = [A5, FS5, D5, FS5, A5, G5, FS5, G5, FS5, G5, A5, B5, A5, G5]
PART_2 = PART_2_START + PHRASE_2 + PHRASE_3 + PHRASE_1 + PHRASE_2
PITCHES = [
    *OPENING, *PART_1, *CLOSE, FS4, A4, *PART_1, *CLOSE, FS5, G5,
    *PART_2, *CLOSE, FS5, G5, *PART_2, *CLOSE,
]  # fmt: skip
"""Every note as it is heard, repeats included (MIDI note numbers)."""

# On the grid of sixteenths; f a d s are the courses, `-` holds the note before.
BAR_1 = ["s2", "0", "d4", "s0", "d0", "-", "4", "s0"]
BAR_2 = ["2", "0", "2", "5", "a0", "-", "s5", "a0"]
BAR_3 = ["2", "5", "5", "2", "0", "3", "2", "0"]
BAR_4 = ["s5", "a2", "0", "s5", "2", "-", "5", "2"]
END_1 = ["s5", "-", "5", "5", "5", "-", "d4", "s0"]
END_2 = ["s5", "-", "5", "5", "5", "-", "a2", "3"]
END_3 = ["s5", "-", "5", "5", "5", "-", "r", "r"]
BAR_9 = ["5", "2", "s5", "a2", "5", "-", "3", "2"]
BAR_10 = ["3", "2", "3", "5", "7", "-", "5", "3"]
REST = [*BAR_3, *BAR_4, *BAR_1, *BAR_2, *BAR_3]
KEYS = [
    *["d4", "s0"], *BAR_1, *BAR_2, *REST, *END_1, *END_2, *BAR_9, *BAR_10, *REST, *END_2, *END_3,
]  # fmt: skip


@pytest.fixture
def tune(tmp_path, open_editor):
    """The tune, typed; the path of the file it was saved in."""
    path = tmp_path / "bluehill.tabterm"
    editor = open_editor(path).ready()
    editor.command("metre", "2/4")
    editor.command("key", "D")
    editor.command("title", "The Boys of Bluehill")
    editor.command("pickup", "1/2")
    editor.press("ctrl+home", "y")
    for word in KEYS:
        editor.type_bytes(word.encode())
    editor.read(0.3)
    for number, keys in (
        (1, "{"), (8, "}"), (10, "{"), (17, "}"),
    ):  # fmt: skip
        editor.press("ctrl+g", str(number), "enter", keys)
    for number, passes in ((8, "1"), (9, "2"), (17, "1"), (18, "2")):
        editor.press("ctrl+g", str(number), "enter")
        editor.command("ending", passes)
    editor.save(path.name)
    assert editor.quit() == 0
    return path


def test_typed_saved_reopened_heard(tune, recorder, open_editor):
    score = native.read(tune.read_bytes())
    assert score.head.title == "The Boys of Bluehill"
    assert str(score.head.metre) == "2/4"
    assert str(score.head.key) == "D"
    assert score.measures[0].short
    assert len(score.measures) == 19
    heard = [
        score.head.instrument.pitch(note.course, note.fret)
        for index in playing_order(score)
        for event in score.measures[index].events
        for note in event.notes
        if not note.tied
    ]
    assert heard == PITCHES
    editor = open_editor(tune).ready()
    editor.press("f5")
    recorder.wait_for(8)
    editor.press("space")
    editor.command("speed", "200")
    editor.command("tempo", "240")
    recorder.received.clear()
    editor.press("f5")
    recorder.wait_for(len(PITCHES), timeout_s=60)
    assert [pitch for _, pitch, _ in recorder.notes()] == PITCHES
    editor.press("ctrl+s")
    assert editor.quit() == 0


def test_the_file_is_one_event_a_line(tune):
    text = tune.read_text(encoding="utf-8")
    document = json.loads(text)
    events = sum(len(measure["events"]) for measure in document["measures"])
    assert sum(line.lstrip().startswith('{"duration"') for line in text.splitlines()) == events
