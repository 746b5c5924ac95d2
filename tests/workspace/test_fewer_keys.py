"""What saves keys: repeating, shapes, the rhythm of the measure before, copies by number, other fingers."""

from __future__ import annotations

import wave

import pytest

from tabterm.piece.handout import pack
from tabterm.score.kinds import Stroke
from tabterm.workspace.commands import rhythm
from tests.build import music, place
from tests.typist import Typist


def typed(before, *keys, at=None):
    return Typist(music(before), at=at).press(*keys)


@pytest.mark.parametrize(
    ("keys", "after"),
    [
        pytest.param("s2n", "8 2.2, 8 2.2, 2.", id="a note"),
        pytest.param("q3+s0nn", "4 1.3 2.0, 4 1.3 2.0, 4 1.3 2.0, 4", id="a double stop, again and again"),
        pytest.param("s2h4n", "8 2.2, 8 h2.4, 8 2.4, 8, 2", id="a slurred note is struck"),
        pytest.param("s2-n", "4 2.2, 4 2.2, 2", id="with its value, as held"),
        pytest.param("d2+s3aG", "8 2.3 3.2, 8 1.3 2.2, 2.", id="a shape on other courses"),
        pytest.param("d2+s3aGG", "8 2.3 3.2, 8 1.3 2.2, 8 1.3 2.2, 8, 2", id="and there again"),
        pytest.param("s2fG", "8 2.2, 8 4.2, 2.", id="a single note, too"),
    ],
)
def test_the_last_event_is_written_again(keys, after):
    assert typed("1", *keys).text == after


@pytest.mark.parametrize(
    ("keys", "after"),
    [
        pytest.param("s2+4", "8 2.2 3.4, 8, 2.", id="a course below costs one key more than the note"),
        pytest.param("s2A0", "8 1.0 2.2, 8, 2.", id="and a course above"),
        pytest.param("s2+43", "8 2.2 3.4, 8 2.3, 2.", id="the line goes on where it was"),
        pytest.param("s2+4+5A0", "8 1.0 2.2 3.4 4.5, 8, 2.", id="further notes go to the next free course"),
        pytest.param("s2+f5", "8 2.2 4.5, 8, 2.", id="a course key goes before"),
        pytest.param("s2++3", "8 2.2, 8 2.3, 2.", id="the same key calls it off"),
        pytest.param("s2A+3", "8 2.2 3.3, 8, 2.", id="the other turns it round"),
        pytest.param("s2+4b", "8 2.2 3.4b50, 8, 2.", id="a mark is about the note added last"),
    ],
)
def test_a_double_stop_on_neighbour_courses(keys, after):
    typist = typed("1", *keys)
    assert typist.text == after
    assert [note.bend is not None for note in typist.score.measures[0].events[0].notes][-1] == keys.endswith("b")


def test_a_course_that_is_not_there_takes_no_note():
    assert typed("1", *"a2A").said == ["no free course there (go to another course first)"]
    assert typed("1", *"f2+").said == ["no free course there (go to another course first)"]


def test_measures_are_written_again_by_their_numbers():
    score = "< 4 1.0 | 1 1.2 | 2 1.3, 2 1.5 | 1 | 1 | 1"
    typist = typed(score, "ctrl+t", *"1-2", "enter", "ctrl+t", *"0", "enter", at=place(4))
    assert typist.text == "< 4 1.0 | 1 1.2 | 2 1.3, 2 1.5 | 1 1.2 | 2 1.3, 2 1.5 | 4 1.0, 2."
    assert typist.said == ["m1-2 again in m3-4", "m0 again in m5"]
    assert typist.place == place(6, 1)
    assert typed(score, "ctrl+t", *"7", "enter").said[-1].startswith("no measure 7")
    assert typed(score, "ctrl+t", *"x", "enter").said[-1].startswith("not measures: 'x'")


def test_a_part_is_written_again_with_its_chords():
    typist = typed("1 1.2 | 1 1.3 | 1 | 1")
    typist.run("chord", "G").press("tab", "tab", "ctrl+r", *"1-2", "enter")
    assert typist.text == "1 1.2 | 1 1.3 | 1 1.2 | 1 1.3"
    assert [[mark.symbol for mark in measure.chords] for measure in typist.score.measures] == [
        ["G"],
        [],
        ["G"],
        [],
    ]


def test_a_shape_without_room_is_refused():
    typist = typed("1", *"s2+d3fG")
    assert typist.said == ["measure 1, beat 1&: this shape does not fit there (go to another course)"]
    assert typed("1", "n").said == ["no note before this to repeat (write a note first)"]


MODEL = "4 1.0, 8 1.1, 8 1.2, 4, 8(3:2) 1.3, 8(3:2) 1.5, 8(3:2) 1.7 | 1 | 1"


def test_pitches_alone_are_typed_to_the_rhythm_of_the_measure_before():
    typist = typed(MODEL, *"sT2345", *"68", at=place(2))
    assert typist.text == (
        "4 1.0, 8 1.1, 8 1.2, 4, 8(3:2) 1.3, 8(3:2) 1.5, 8(3:2) 1.7 | "
        "4 2.2, 8 2.3, 8 2.4, 4, 8(3:2) 2.5, 8(3:2) 2.6, 8(3:2) 2.8 | 1"
    )
    assert typist.said == ["the rhythm of m1: type the pitches"]
    assert typist.place == place(3)
    assert typist.press("3").text.endswith("4 2.3, 2.")


def test_the_step_shown_is_the_one_that_is_written():
    typist = typed(MODEL, "T", at=place(2))
    steps = [str(typist.session.next_note.step)]
    for key in "3333":
        typist.press(key)
        steps.append(str(typist.session.next_note.step))
    assert steps == ["4", "8", "8", "8(3:2)", "8(3:2)"]
    assert str(typist.press("home").session.next_note.step) == "4"


@pytest.mark.parametrize("key", ["T", "escape", "e"])
def test_a_rhythm_is_left(key):
    typist = typed(MODEL, "T", "3", key, at=place(2))
    assert typist.session.next_note.rhythm is None


def test_a_rhythm_needs_a_note_that_begins_in_the_measure_before():
    typist = typed("2 1.0, 4., 8 1.2 | 4 (1.2, 2. | 1", "T", at=place(3))
    assert typist.said == ["the measure before has no notes (write a rhythm first)"]


def test_a_double_stop_joins_the_note_of_a_rhythm_that_a_rest_follows():
    typist = typed("2 1.0, 4., 8 1.2 | 1 | 1", *"sT3+d0s5", at=place(2))
    assert typist.text.split(" | ")[1] == "2 2.3 3.0, 4., 8 2.5"


def test_copies_are_kept_by_number():
    typist = typed("4 1.0, 4 1.2, 2 | 1 | 1")
    typist.run("copy-to", "1").press("right", "right").run("copy-to", "2")
    typist.press("tab").run("paste-from", "2").run("paste-from", "1")
    assert typist.text == "4 1.0, 4 1.2, 2 | 4 1.2, 4 1.0, 2 | 1"
    assert typist.said[:2] == ["copied 1 note to 1", "copied 1 note to 2"]
    assert typist.run("paste-from", "7").said[-1] == "nothing copied to 7 yet (select and copy first)"
    assert typist.run("copy-to", "x").said[-1] == "not the number of a copy: 'x' (type 1 to 9)"


def strokes(typist):
    return [event.stroke for event in typist.score.measures[0].events]


def test_a_stroke_on_a_slurred_note_is_that_of_the_next_struck_one():
    tune = "8 1.0, 8 h1.2, 8 1.3, 8 1.5, 2"
    typist = typed(tune, "v", "D", at=place(1, "1/2"))
    assert strokes(typist) == [None, None, Stroke.DOWN, None, None]
    assert typist.place == place(1, "3/2")
    assert typist.said == ["the note here is not picked; the stroke goes to measure 1, beat 2"]
    assert strokes(typed(tune, "v", "t", at=place(1, "1/2")))[2] is not None
    assert strokes(typed(tune, "U", at=place(1, "1/2"))) == [None, None, Stroke.UP, None, None]
    assert typed("8 1.0, 8 h1.2, 2.", "v", "D", at=place(1, "1/2")).said == [
        "measure 1, beat 1&: no picked note here (move to a note; rests have no stroke)"
    ]


def fingers(typist):
    return [
        [(note.course, note.fret, note.finger) for note in event.notes]
        for event in typist.score.measures[0].events
    ]


def test_another_finger_is_tried_for_one_note_and_no_other_changes():
    typist = typed("8 3.0, 8 3.2, 8 3.4, 8 3.5, 2", "d", "O", at=place(1, "1/2"))
    others = [[(3, 0, None)], [(3, 4, None)], [(3, 5, None)], []]
    seen = []
    for _ in range(12):
        *_, (course, fret, finger) = fingers(typist)[1]
        seen.append((course, fret, finger))
        assert [each for index, each in enumerate(fingers(typist)) if index != 1] == others
        if typist.said[-1].startswith("choice 1 of"):
            break
        typist.press("O")
    assert typist.said[0].startswith("choice 2 of ")
    assert typist.said[-1].endswith("the easiest")
    assert len(set(seen)) == len(seen) > 2
    assert typist.press("O", "u").text == "8 3.0, 8 3.2, 8 3.4, 8 3.5, 2"


def test_with_a_selection_the_fingerings_of_all_of_it_are_tried():
    typist = typed("8 3.0, 8 3.2, 8 3.4, 8 3.5, 8 2.0, 8 2.2, 8 2.3, 8 2.5", "M", "O")
    assert typist.said[0].startswith("fingering 2 of 3: ")


def test_levels_are_set_a_part_at_a_time():
    typist = typed("1 1.0").run("levels", "solo 80 chords 50").run("levels", "chords 100 click 0%")
    assert typist.session.transport.practice.levels == (("solo", 80), ("click", 0))
    assert typist.said[-1] == "levels: solo 80 click 0"
    assert typist.run("levels", "").said[-1] == "levels: the defaults"
    for text in ("solo", "drums 50", "solo 150", "solo loud"):
        assert typist.run("levels", text).troubles


@pytest.mark.parametrize(
    ("taps_s", "keys", "after"),
    [
        pytest.param(
            [0, 0.5, 0.75, 1.02, 1.98], "2345", "4 2.2, 8 2.3, 8 2.4, 2 2.5", id="a quarter lasts half a second"
        ),
        pytest.param([0, 0.76, 1.0, 1.5], "234", "4. 2.2, 8 2.3, 4 2.4, 4", id="a dotted one"),
        pytest.param(
            [0, 0.17, 0.33, 0.5, 1.0], "2345", "8(3:2) 2.2, 8(3:2) 2.3, 8(3:2) 2.4, 4 2.5, 2", id="triplets"
        ),
        pytest.param([0, 0.13, 0.24, 0.5, 1.0], "2345", "16 2.2, 16 2.3, 8 2.4, 4 2.5, 2", id="sixteenths"),
    ],
)
def test_a_rhythm_is_tapped_with_one_key_and_pitches_are_typed_to_it(taps_s, keys, after, monkeypatch):
    """At 120 quarters a minute; the last tap ends the last note."""
    clock = iter(taps_s)
    monkeypatch.setattr(rhythm, "monotonic", lambda: 100 + next(clock))
    typist = typed("1 | 1").run("tempo", "120").press("s", *"$" * len(taps_s), *keys)
    assert typist.text.split(" | ")[0] == after
    assert typist.said[-1] == "the rhythm ends here"


def test_a_rhythm_is_tapped_from_the_beat_that_the_cursor_is_on(monkeypatch):
    """From 2& on at 60 quarters a minute: an eighth up to the beat, then a quarter."""
    clock = iter([0, 0.52, 1.5])
    monkeypatch.setattr(rhythm, "monotonic", lambda: next(clock))
    typist = typed("1", at=place(1, "3/2")).run("tempo", "60").press(*"s$$$23")
    assert typist.text == "4., 8 2.2, 4 2.3, 4"


def test_one_tap_is_no_rhythm_and_escape_and_a_step_forget_taps():
    assert typed("1", *"$5").text == "8 1.5, 8, 2."
    assert typed("1", *"$$$", "escape", *"5").text == "8 1.5, 8, 2."
    assert typed("1", *"$$$q5").text == "4 1.5, 2."


def saved_typist(folder, text, at=None):
    typist = Typist(music(text), at=at)
    typist.session.document.path = folder / "tune.tabterm"
    return typist


def test_what_is_heard_is_rendered_from_inside_with_progress(tmp_path):
    """The selection alone: one measure at 100 quarters a minute lasts 2.4 s, and rings out."""
    typist = saved_typist(tmp_path, "1 1.0 | 1 1.5").press("M").run("render", "one.wav")
    assert typist.said[-1] == "written: one.wav"
    assert typist.parts[-1] == 1.0
    assert typist.parts == sorted(typist.parts)
    with wave.open(str(tmp_path / "one.wav")) as file:
        assert 2.4 <= file.getnframes() / file.getframerate() < 2.4 + 6
    assert typist.run("render", "one.wav").troubles
    assert typist.run("render", "one.txt").troubles


def test_a_handout_is_made_from_inside(tmp_path, monkeypatch):
    monkeypatch.setattr(pack, "TEMPOS", (100,))
    typist = saved_typist(tmp_path, "1 1.0").run("handout", "exercise")
    assert typist.said[-1] == "written: 8 files in exercise"
    endings = sorted(path.suffix for path in (tmp_path / "exercise").iterdir())
    assert endings == [".html", ".mid", ".mp3", ".mp3", ".musicxml", ".pdf", ".txt", ".txt"]
    assert typist.run("handout", "exercise").troubles == ["exercise already exists (choose another name)"]
