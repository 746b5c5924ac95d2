"""The real editor in a real pseudo-terminal: keys, rows, sizes, and every way of ending."""

from __future__ import annotations

import os
import resource
import shutil
import signal
import sys
import time
from pathlib import Path

import psutil
import pytest

from tabterm.formats import native
from tabterm.piece.piece import blank
from tabterm.score.kinds import Reached, Stroke
from tabterm.workspace.document import Document
from tests.build import PLAYER, score
from tests.terminal import Editor
from tests.thorough import many

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def sample(tmp_path):
    return Path(shutil.copy(SAMPLES / "quarry-road-breakdown.tabterm", tmp_path))


def events(path):
    return [event for measure in native.read(path.read_bytes()).measures for event in measure.events]


def saved(editor, path):
    editor.save(path.name)
    return events(path)


def test_a_phrase_with_every_kind_of_key(open_editor, tmp_path):
    path = tmp_path / "phrase.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"d02h4", *"s0", *"p", "backspace", *"s5p3", *"b", *"q", *"'2", *"-", "left")
    got = saved(editor, path)
    notes = [(n.course, n.fret, n.reached) for event in got for n in event.notes if not n.tied]
    assert notes == [
        (3, 0, Reached.STRUCK),
        (3, 2, Reached.STRUCK),
        (3, 4, Reached.HAMMER),
        (2, 5, Reached.STRUCK),
        (2, 3, Reached.PULL),
        (2, 12, Reached.STRUCK),
    ]
    assert got[4].notes[0].bend is not None
    assert "course A" in editor.text.splitlines()[0]
    assert editor.quit() == 0


def test_a_double_stop_without_going_back(open_editor, tmp_path):
    path = tmp_path / "stop.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"s2+a3d0")
    got = saved(editor, path)
    assert [(note.course, note.fret) for note in got[0].notes] == [(1, 3), (2, 2)]
    assert [(note.course, note.fret) for note in got[1].notes] == [(3, 0)]


def test_fingers_strokes_and_chords_on_their_rows(open_editor, tmp_path):
    path = tmp_path / "rows.tabterm"
    editor = open_editor(path).ready()
    editor.press(
        *"s2345", "home", "g", *"1234", "home", "v", "enter", "t", "home", "c", *"G7", "tab", *"D7", "enter"
    )
    got = saved(editor, path)
    assert [event.notes[0].finger for event in got[:4]] == [1, 2, 3, 4]
    assert [event.stroke for event in got[:4]] == [Stroke.DOWN, Stroke.DOWN, None, None]
    score = native.read(path.read_bytes())
    assert [mark.symbol for measure in score.measures for mark in measure.chords] == ["G7", "D7"]
    assert editor.row("finger").split()[1:] == ["1", "2", "3", "4"]
    assert editor.row("stroke").split()[1:] == ["D", "D", "d", "u"]


def test_chords_are_typed_one_behind_the_other(open_editor, tmp_path, sample):
    """A capital begins the symbol of the next measure, a space leads to the next beat, as the planner counts."""
    from tests.planner import chord_keys

    wanted = native.read(sample.read_bytes())
    path = tmp_path / "chords.tabterm"
    path.write_bytes(native.write(wanted.with_(measures=tuple(m.with_(chords=()) for m in wanted.measures))))
    editor = open_editor(path).ready()
    editor.press(*chord_keys(wanted))
    saved(editor, path)
    written = native.read(path.read_bytes())
    assert [measure.chords for measure in written.measures] == [measure.chords for measure in wanted.measures]


def test_a_capital_behind_a_slash_and_after_a_stop_belongs_to_the_symbol(open_editor, tmp_path):
    path = tmp_path / "bass.tabterm"
    editor = open_editor(path).ready()
    editor.press("c", *"G/BD7/F#", "space", *"Am", "tab", *"N.C.", "enter")
    saved(editor, path)
    score = native.read(path.read_bytes())
    symbols = [[(mark.offset, mark.symbol) for mark in measure.chords] for measure in score.measures[:3]]
    assert symbols == [[(0, "G/B")], [(0, "D7/F#"), (1, "Am")], [(0, "N.C.")]]


def test_undo_select_copy_and_paste(open_editor, tmp_path):
    path = tmp_path / "copy.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"s2345", "M", "ctrl+c", "tab", "ctrl+v", "u", "ctrl+y")
    score = native.read(path.read_bytes()) if path.exists() else None
    assert score is None
    saved(editor, path)
    score = native.read(path.read_bytes())
    assert [e.notes for e in score.measures[0].events] == [e.notes for e in score.measures[1].events]


def test_a_finding_is_shown_jumped_to_and_mended(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.wait_for("1 to fix")
    editor.press("!")
    editor.wait_for("reach 1-4, frets 2 to 8, is 92 mm")
    assert "8*" in editor.text
    editor.press("right")
    editor.wait_for("reach 92 mm of 79: hard")
    editor.press("left", "&")
    editor.wait_until(lambda: "92 mm" not in editor.text)


def test_the_list_of_findings_applies_a_remedy(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.wait_for("1 to fix")
    editor.press("f2")
    editor.wait_for("1 finding, by place")
    editor.wait_for("1 the low note first, then the high one")
    editor.press("p")
    editor.wait_for("+ E      |")
    signs = [
        line[2] for line in editor.screen.display if line[4:10].strip() in {"E", "A", "D", "G", "finger", "stroke"}
    ]
    assert "".join(signs) == "------++++++"
    editor.press("1")
    editor.wait_for("nothing to fix")
    editor.press("escape")
    editor.wait_until(lambda: "findings" not in editor.text and "to fix" not in editor.text)


def test_findings_are_sorted_filtered_and_mended_in_a_row(open_editor, tmp_path):
    path = tmp_path / "bad.tabterm"
    path.write_bytes(native.write(score("2 1.5,2 h1.3", "4 1.8 3.1,4 2.3,2 1.0", "2 1.0,2 /1.3")))
    editor = open_editor(path).ready()
    editor.wait_for("3 to fix")
    editor.press("f2")
    editor.wait_for("3 findings, by place (s), all (f), any words (/)")
    editor.press("s")
    editor.wait_for("3 findings, by severity")
    lines = [line for line in editor.text.splitlines() if " m" in line and ": " in line]
    assert ["impossible" in line for line in lines[:3]] == [True, True, False]
    editor.press("f", "f")
    editor.wait_for("2 findings, by severity (s), impossible only")
    editor.press("f", "/", *"slide", "enter")
    editor.wait_for('1 finding, by severity (s), all (f), "slide" (/)')
    editor.press("/", "enter")
    editor.wait_for("3 findings")
    editor.wait_for("1 make it a hammer-on")
    editor.press("1")
    editor.wait_for("2 findings")
    editor.press("enter")
    editor.wait_until(lambda: "findings, by" not in editor.text)
    assert "m2 1" in editor.text.splitlines()[0]


def test_fingers_are_proposed_accepted_and_given_back(open_editor, tmp_path):
    """Proposals come by themselves, are no change of the player's, and become one when accepted."""
    path = tmp_path / "scale.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"d245")
    editor.wait_until(lambda: editor.row("finger").split()[1:] == ["1", "2", "3"])
    assert [event.notes[0].finger for event in saved(editor, path)[:3]] == [None, None, None]
    editor.press("home", "g", "enter")
    editor.press("4", "home")
    got = saved(editor, path)
    assert [event.notes[0].finger for event in got[:3]] == [1, 4, None]
    editor.press("B")
    editor.wait_until(lambda: editor.row("finger").split()[1:] == ["1", "2", "3"])
    editor.press("A")
    assert [event.notes[0].finger for event in saved(editor, path)[:3]] == [1, 2, 3]


def test_other_fingerings_are_gone_through(open_editor, tmp_path):
    path = tmp_path / "scale.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"d0245s0235", "left", "P", "O")
    editor.wait_for("fingering 2 of 3: +")
    editor.press("O")
    editor.wait_for("fingering 3 of 3: +")
    editor.press("O")
    editor.wait_for("fingering 1 of 3: the easiest")
    editor.press("O")
    editor.wait_for("fingering 2 of 3: +")
    assert any(note.finger for event in saved(editor, path) for note in event.notes)
    editor.press("u")
    assert not any(note.finger for event in saved(editor, path) for note in event.notes)


def test_a_long_answer_begins_over_the_neck_and_goes_with_the_next_key(open_editor, tmp_path):
    editor = open_editor(tmp_path / "scale.tabterm").ready()
    editor.press(*"d0245", "home", "right", "W")
    editor.wait_for("(the pick changes course)")
    over, last = (line.strip() for line in editor.screen.display[-2:])
    assert over.startswith("index at fret 2 of D is easiest; ")
    assert len(over) + 1 + len(last.split()[0]) > 78
    assert not any(line.startswith("hand") for line in editor.screen.display)
    assert any(line.startswith("neck") for line in editor.screen.display)
    editor.press("right")
    editor.wait_until(lambda: any(line.startswith("hand ") for line in editor.screen.display))


def test_why_and_held_courses_and_effort(open_editor, tmp_path):
    path = tmp_path / "scale.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"d0245", "home", "right", "W")
    editor.wait_for("index at fret 2 of D is easiest; ")
    editor.press("H")
    editor.wait_for("the note stays on its course")
    editor.wait_for("2@")
    assert saved(editor, path)[1].notes[0].course_set
    assert "effort" not in editor.text
    editor.press("E")
    editor.wait_for("effort")


def test_the_effort_row_shows_what_is_over_the_limit(open_editor, tmp_path):
    """A leap of ten frets in sixteenths is over it, the scale before not; an edit elsewhere leaves the signs."""
    path = tmp_path / "leap.tabterm"
    plain = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"
    path.write_bytes(native.write(score(plain, "1", "16 3.0,16 3.2,16 1.12,16 1.14,2. 1.2")))
    editor = open_editor(path, columns=120).ready()
    editor.press("E")
    editor.wait_for("effort")
    editor.wait_until(lambda: "#" in editor.row("effort"))
    before = editor.row("effort")
    assert "#" not in before[: len(before) // 2]
    editor.press("a", "7")
    editor.wait_until(lambda: editor.row("effort") != before)
    assert editor.row("effort").count("#") >= before.count("#")
    editor.press("E")
    editor.wait_until(lambda: "effort" not in editor.text)


def test_the_neck_shows_frame_shift_and_what_stays(open_editor, tmp_path):
    path = tmp_path / "shift.tabterm"
    path.write_bytes(native.write(score("4 1.2,4 1.3,4 1.10,4 1.12")))
    editor = open_editor(path, columns=120, lines=35).ready()
    editor.wait_until(lambda: "1E" in editor.row("neck"))
    assert editor.row("hand").startswith("hand    at fret 2")
    editor.press("right", "right")
    editor.wait_until(lambda: "then up" in editor.text)
    assert " ms" in next(line for line in editor.text.splitlines() if line.startswith("hand"))


def test_rows_are_hidden_and_shown_again(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.wait_for("1 to fix")

    def rows():
        return editor.text.splitlines()[1:11]

    shown = rows()
    for row, left in (("remark", shown[1:]), ("finger", shown[:7])):
        editor.command("toggle-row", row)
        editor.wait_until(lambda left=left: rows()[: len(left)] == left and rows() != shown)
        editor.command("toggle-row", row)
        editor.wait_until(lambda: rows() == shown)


def test_on_the_remark_row_the_bottom_line_says_that_every_character_is_text(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.press("m")
    editor.wait_for("type text here; enter keeps it, down leaves this row")
    editor.press("?", "enter", "down")
    editor.wait_for("another chord, tab: next measure")


def test_the_palette_shows_keys_before_what_is_too_long(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.press("ctrl+p")
    editor.wait_for("course                a s d f     Jump to a course")
    assert "previous-measure      shift+tab   Go to the start" in editor.text
    editor.press("with", "space", "chords")
    editor.wait_for("swap-with-chords ")
    titles = [line.index("With") for line in editor.screen.display if "-with-chords " in line]
    assert len(titles) == 3
    assert len(set(titles)) == 1
    editor.resize(40, 12)
    editor.press("escape", "ctrl+p", "right")
    editor.wait_for("right (right)  Go one step")


def test_help_and_palette_come_from_the_registry(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.press("?")
    editor.wait_for("Keys (Escape closes, / searches)")
    editor.press("escape")
    editor.wait_until(lambda: "Keys (Escape" not in editor.text)
    assert "2--h4" in editor.row("G |")
    editor.command("transpose", "2")
    editor.wait_until(lambda: "4--h6" in editor.row("G |"))


def test_a_question_lists_its_answers_and_the_list_narrows(open_editor, tmp_path):
    path = tmp_path / "key.tabterm"
    editor = open_editor(path).ready()
    editor.press("ctrl+p", *"key", "enter")
    editor.wait_for("more")
    editor.press(*"d mi")
    editor.wait_until(lambda: "D mixolydian" in editor.text and "D dorian" not in editor.text)
    assert "key, such as G" in editor.screen.display[-1]
    editor.press("enter")
    editor.wait_until(lambda: "D mixolydian" in editor.text.splitlines()[0])
    editor.press("ctrl+p", *"metre", "enter", *"5/8")
    editor.wait_for("no match in the list")
    editor.press("enter")
    editor.wait_until(lambda: "5/8" in editor.text.splitlines()[0])
    editor.press("ctrl+p", *"key", "enter", *"zz", "escape")
    editor.wait_until(lambda: "no match in the list" not in editor.text)
    editor.press("ctrl+p", *"instrument", "enter", "down", "down", "up", "enter")
    saved(editor, path)
    score = native.read(path.read_bytes())
    assert (str(score.head.key), str(score.head.metre)) == ("D mixolydian", "5/8")


def test_an_audio_file_is_written_beside_the_keys(open_editor, sample):
    """Progress is said; keys are taken meanwhile; leaving calls it off and leaves no half file."""
    editor = open_editor(sample).ready()
    editor.press("ctrl+p", *"render", "enter", "enter")
    editor.wait_for("working: ")
    editor.press("escape", *"a7")
    editor.wait_for("written: quarry-road-breakdown.mp3")
    assert "7" in editor.row("E |")
    assert sample.with_suffix(".mp3").stat().st_size > 1000
    editor.press("ctrl+p", *"handout", "enter", "enter")
    editor.wait_for("working: ")
    editor.press("ctrl+q")
    editor.wait_for("discard the changes")
    editor.press("x")
    assert editor.ended() == 0
    assert not (sample.parent / "quarry-road-breakdown-handout").exists()


def test_notes_from_a_midi_keyboard_are_written_between_the_keys(open_editor, tmp_path, jack):
    import rtmidi

    editor = open_editor(tmp_path / "played.tabterm").ready()
    editor.press("d", "ctrl+p", *"midi-input", "enter", *"virtual", "enter")
    editor.wait_for("writing notes from tabterm-input")
    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, "keyboard")
    try:
        out.open_port(next(n for n, name in enumerate(out.get_ports()) if "tabterm-input" in name))
        for pitch in (62, 64, 66):
            out.send_message([0x90, pitch, 90])
            out.send_message([0x80, pitch, 0])
            editor.wait_for(f"|{'0---2---4'[: 1 + 4 * ((pitch - 62) // 2)]}")
    finally:
        out.close_port()
        out.delete()
    editor.press("5")
    editor.wait_for("|0---2---4---5")
    editor.save("played.tabterm")
    assert editor.quit() == 0


def test_help_is_searched_and_nothing_found_is_said(open_editor, tmp_path):
    editor = open_editor(tmp_path / "a.tabterm").ready()
    editor.press("?", "/", *"metronome")
    editor.wait_until(lambda: "Set the click: on the beats" in editor.text and "Undo" not in editor.text)
    editor.press(*"zz")
    editor.wait_for("no command matches 'metronomezz'")
    editor.press("backspace", "backspace", "escape", "ctrl+p", *"zzz")
    editor.wait_for("no command matches 'zzz'; try another word")
    editor.press("enter", "escape")
    editor.wait_for("? keys")


def test_typed_ahead_keys_keep_their_order_through_questions(open_editor, tmp_path):
    path = tmp_path / "ahead.tabterm"
    editor = open_editor(path).ready()
    editor.type_bytes(b"\x10title\rKiln Lane\r\x10metre\r\x01\x0b3/4\rcG7\rs2345u\x13")
    editor.wait_for(f"saved {path.name}")
    score = native.read(path.read_bytes())
    assert score.head.title == "Kiln Lane"
    assert str(score.head.metre) == "3/4"
    assert score.measures[0].chords[0].symbol == "G7"
    assert [e.notes[0].fret for e in score.measures[0].events if e.notes] == [2, 3, 4]


def test_typed_ahead_keys_keep_their_order_through_panels(open_editor, tmp_path):
    path = tmp_path / "ahead.tabterm"
    editor = open_editor(path).ready()
    editor.type_bytes(b"?\x1bd2\x11\x1bs3?q5\x13")  # help, leave and help again, each closed at once
    editor.wait_for(f"saved {path.name}")
    assert [(e.notes[0].course, e.notes[0].fret) for e in events(path)[:3]] == [(3, 2), (2, 3), (2, 5)]


def test_a_question_that_is_called_off_goes(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.command("pre-roll")
    editor.wait_for("pre-roll, such as")
    editor.press("escape")
    editor.wait_until(lambda: "pre-roll, such as" not in editor.text)


def test_what_is_said_while_a_question_stands_waits_for_its_answer(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.type_bytes(b" \x1bOS")  # play, which no output takes, and the question for a ladder
    editor.wait_for("START:END")
    editor.read(0.5)
    assert editor.screen.display[-1].startswith(" START:END:STEPxTURNS: ")
    editor.press("escape")
    editor.wait_for("no audio device")


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 50), (60, 14)])
def test_sizes_and_resizing_at_any_moment(open_editor, sample, size):
    editor = open_editor(sample).ready()
    editor.press("pagedown")
    editor.resize(*size)
    editor.wait_for("Quarry")
    assert all(len(line) <= size[0] for line in editor.text.splitlines())
    editor.press("a", "9")
    editor.wait_until(lambda: editor.screen.display[0].startswith("*"))


@pytest.mark.parametrize("look", ["dark", "light", "terminal"])
def test_looks_and_no_colour(open_editor, sample, look):
    editor = open_editor(sample, "--look", look).ready()
    editor.wait_for("E |")
    assert editor.quit() == 0
    plain = open_editor(sample, "--look", look, NO_COLOR="1", TERM="xterm-16color").ready()
    plain.wait_for("E |")


def test_the_second_editor_says_who_holds_the_file(open_editor, sample):
    first = open_editor(sample).ready()
    second = open_editor(sample)
    second.wait_for("opened read-only: in use by")
    second.press("a", "5")
    second.wait_for("read-only")
    assert f"process {first.process.pid}" in " ".join(second.text.split())


def test_leaving_with_unsaved_work_asks(open_editor, sample):
    before = sample.read_bytes()
    editor = open_editor(sample).ready()
    editor.press("s", "5", "ctrl+q")
    editor.wait_for("has unsaved changes")
    editor.press("escape", "ctrl+q")
    editor.wait_for("has unsaved changes")
    editor.press("s")
    assert editor.ended() == 0
    assert sample.read_bytes() != before


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="a full disk is made by a limit on the size of files")
def test_changes_that_the_disk_does_not_take_are_not_left_behind(open_editor, tmp_path):
    path = tmp_path / "full.tabterm"
    editor = open_editor(path).ready()
    size = (tmp_path / ".full.tabterm.journal").stat().st_size
    before = resource.prlimit(editor.process.pid, resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
    editor.press("s", "7", "ctrl+q", "k")
    editor.wait_for("the changes cannot be kept")
    resource.prlimit(editor.process.pid, resource.RLIMIT_FSIZE, before)
    editor.press("ctrl+q", "k")
    assert editor.ended() == 0
    assert recovered_fret(open_editor, path)[0].fret == 7


def recovered_fret(open_editor, path):
    editor = open_editor(path)
    editor.wait_for("recovered")
    return saved(editor, path)[0].notes


def test_a_killed_editor_loses_no_key(open_editor, tmp_path):
    path = tmp_path / "killed.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"s7")
    editor.process.kill()
    editor.process.wait()
    assert recovered_fret(open_editor, path)[0].fret == 7


@pytest.mark.parametrize("how", [signal.SIGHUP, signal.SIGTERM])
@pytest.mark.parametrize("stalled", [False, True])
def test_hang_up_and_termination_end_it_at_once(open_editor, tmp_path, how, stalled):
    """A stalled terminal blocks the event loop; the editor must be gone within half a second all the same."""
    path = tmp_path / "ended.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"s7")
    if stalled:
        for _ in range(60):
            editor.type_bytes(b"\x0c")
            time.sleep(0.01)
    children = psutil.Process(editor.process.pid).children(recursive=True)
    told = time.monotonic()
    os.kill(editor.process.pid, how)
    assert editor.process.wait(0.5) == 128 + how
    assert time.monotonic() - told < 0.5
    psutil.wait_procs(children, timeout=1)
    assert not [child for child in children if child.is_running() and child.status() != "zombie"]
    assert recovered_fret(open_editor, path)[0].fret == 7


def test_a_dropped_line_ends_it(open_editor, tmp_path):
    path = tmp_path / "dropped.tabterm"
    editor = open_editor(path).ready()
    editor.press(*"s7")
    editor.wait_until(lambda: "7" in editor.row("A |"))  # what has not been read goes with the line
    editor.hang_up()
    editor.process.wait(60)
    assert recovered_fret(open_editor, path)[0].fret == 7


def test_nothing_is_sent_when_nothing_happens(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.read(0.5)
    assert editor.read(1.0, 1.2) == 0


def test_without_a_port_the_message_names_what_else_works(open_editor, sample):
    editor = open_editor(sample, JACK_DEFAULT_SERVER="none-such", JACK_NO_START_SERVER="1").ready()
    editor.press("space")
    editor.wait_for("tabterm render", 90.0)  # a process is started, and asks every system there might be


def test_a_terminal_that_cannot_place_text_is_refused():
    editor = Editor("x.tabterm", TERM="dumb")
    try:
        assert editor.ended() == 2
        assert "cannot position text" in editor.text
    finally:
        editor.close()


def test_the_mouse_puts_the_cursor_where_it_points(open_editor, sample, tmp_path):
    settings = tmp_path / "own.toml"
    settings.write_text("[screen]\nmouse = true\n", encoding="utf-8")
    editor = open_editor(sample, TABTERM_CONFIG=str(settings)).ready()
    row = editor.text.splitlines().index(editor.row("D |"))
    column = editor.row("D |").index("4") + 1
    for action in ("M", "m"):
        editor.type_bytes(f"\x1b[<0;{column};{row + 1}{action}".encode())
    editor.wait_for("course D")
    editor.wait_for("m0  4")


def test_the_playhead_walks_along_the_count(open_editor, sample, recorder):
    editor = open_editor(sample).ready()
    editor.press("f7", "f7", "f7", "f7", "f7", "f7", "f5")
    recorder.wait_for(2)
    row = editor.text.splitlines().index(editor.row("count"))
    seen = set()
    for _ in range(30):
        editor.read(0.05, 0.1)
        seen |= {x for x in range(80) if editor.screen.buffer[row][x].reverse}
    assert len(seen) >= 3
    editor.press("space")
    editor.wait_until(lambda: not any(editor.screen.buffer[row][x].reverse for x in range(80)))


@pytest.mark.timeout(300)
def test_kills_of_the_editor_lose_no_key_that_was_answered(open_editor, tmp_path):
    """Random keys, killed at a random moment; every key whose note was on the screen must be there again."""
    import random

    choose = random.Random(11)
    for number in range(many(5, 40)):
        path = tmp_path / f"{number}.tabterm"
        editor = open_editor(path)
        editor.wait_for("E |")
        typed, answered = [], 0
        course = 1
        for _ in range(choose.randint(1, 12)):
            if choose.random() < 0.4:
                course = choose.randint(1, 4)
                editor.type_bytes(b"asdf"[course - 1 : course])
            fret = choose.randint(0, 9)
            editor.type_bytes(str(fret).encode())
            typed.append((course, fret))
            if choose.random() < 0.5:
                wanted = len(typed)
                editor.wait_until(lambda on=editor, wanted=wanted: notes_shown(on) >= wanted)
                answered = wanted
        time.sleep(choose.random() * 0.02)
        editor.process.kill()
        editor.process.wait()
        found = Document.open(path, PLAYER, blank=blank)
        assert found.read_only is None, f"number {number}: the lock is still held by {found.read_only}"
        notes = [(n.course, n.fret) for m in found.score.measures for e in m.events for n in e.notes]
        assert len(notes) >= answered
        assert notes == typed[: len(notes)]
        found.close(keep_draft=False)
        editor.close()


def notes_shown(editor):
    """Frets on the course lines of the screen."""
    lines = [line for line in editor.text.splitlines() if line[5:8] in {"E |", "A |", "D |", "G |"}]
    return sum(character.isdigit() for line in lines for character in line)


def test_a_fault_in_what_is_worked_out_is_said_and_the_editor_goes_on(open_editor, sample):
    code = (
        "from tabterm.cli.main import main\nfrom tabterm.workspace import adviser\n"
        f"adviser.advise = lambda *given: 1 // 0\nmain([{str(sample)!r}])"
    )
    editor = open_editor(command=[sys.executable, "-c", code]).ready()
    editor.press("right")
    editor.wait_for("no fingers or findings for this score")
    assert "your work is kept" in " ".join(editor.text.split())
    editor.press("right")
    editor.wait_for("? keys")


def test_a_finding_at_the_cursor_is_said_with_its_remedy(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.press("!")
    editor.wait_for("optional: the low note first, then the high one")
    words = " ".join(line.strip() for line in editor.screen.display[-2:])
    assert words.startswith("1 to fix   * m11 2&   hard: reach 1-4, frets 2 to 8")
    assert "…" not in words
    assert editor.screen.display[-3].startswith("neck")
    editor.press("right")
    editor.wait_until(lambda: editor.screen.display[-2].startswith("hand "))


def test_a_long_question_is_whole_and_leaves_room_for_its_answer(open_editor, sample):
    editor = open_editor(sample).ready()
    editor.command("pre-roll")
    editor.press("7x")
    words = " ".join(line.strip() for line in editor.screen.display[-2:])
    assert words == "pre-roll, such as 1m (one measure), 2b (two beats), 2b+ (before every turn): 7x"


def test_the_number_of_a_fret_gives_way_to_the_finger_on_it(open_editor, tmp_path):
    editor = open_editor(tmp_path / "first.tabterm").ready()
    editor.press(*"s1", "home", "s")
    editor.wait_until(lambda: "1A" in editor.row("neck"))
    assert "‖[  1A|  2 |" in editor.row("neck")
