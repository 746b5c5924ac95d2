"""`tabterm finger`, and `tabterm check --fix` and `--tempo`."""

from __future__ import annotations

import json

import pytest

from tabterm.cli.main import main
from tabterm.formats import native, text
from tabterm.hand.review import findings
from tabterm.score import operations
from tabterm.score.model import HandProfile
from tabterm.score.tempo import Tempo
from tabterm.workspace.document import Document
from tests.build import PLAYER, score

SCALE = "8 3.0,8 3.2,8 3.4,8 3.5,8 2.0,8 2.2,8 2.3,8 2.5"


def write(tmp_path, built, name="a.tabterm"):
    path = tmp_path / name
    path.write_bytes((text if name.endswith((".txt", ".tab")) else native).write(built))
    return path


def test_one_object_an_event(tmp_path, capsys):
    path = write(tmp_path, score("4 3.0,8 3.2,8,2 2.3 3.5"))
    assert main(["finger", str(path), "--json"]) == 0
    first, second, rest, chord = json.loads(capsys.readouterr().out)
    assert first == {
        "measure": 1,
        "onset": "0",
        "notes": [{"course": 3, "fret": 0, "finger": 0}],
        "stroke": "down",
    }
    assert second["onset"] == "1"
    assert second["notes"] == [{"course": 3, "fret": 2, "finger": 1}]
    assert rest == {"measure": 1, "onset": "3/2", "notes": [], "stroke": None}
    assert [(note["course"], note["finger"]) for note in chord["notes"]] == [(2, 2), (3, 3)]


def test_each_event_stands_on_its_own_line(tmp_path, capsys):
    path = write(tmp_path, score(SCALE))
    main(["finger", str(path), "--json"])
    lines = capsys.readouterr().out.splitlines()
    assert [line[0] for line in lines] == ["[", *"{" * 8, "]"]


def test_text_tab_is_read_and_written(tmp_path, capsys):
    path = write(tmp_path, score(SCALE), "a.tab")
    out = tmp_path / "b.tabterm"
    assert main(["finger", str(path), "-o", str(out)]) == 0
    notes = [event.notes[0] for event in native.read(out.read_bytes()).measures[0].events]
    assert [note.proposed_finger for note in notes] == [None, 1, 2, 3, None, 1, 2, 3]
    assert main(["finger", str(path), "-o", str(out)]) == 2
    assert "the file already exists" in capsys.readouterr().err
    assert main(["finger", str(path), "-o", str(out), "--force"]) == 0


def test_courses_move_where_it_pays_and_stay_when_told(tmp_path, capsys):
    """An E scale that is written up the lowest course is at home on the higher ones."""
    high = "8 4.9,8 4.11,8 4.12,8 4.14,8 4.16,8 4.14,8 4.12,8 4.11"
    path = write(tmp_path, score(high))
    main(["finger", str(path), "--json"])
    moved = json.loads(capsys.readouterr().out)
    assert {note["course"] for event in moved for note in event["notes"]} != {4}
    main(["finger", str(path), "--json", "--keep-courses"])
    kept = json.loads(capsys.readouterr().out)
    assert {note["course"] for event in kept for note in event["notes"]} == {4}


def test_alternatives_tell_where_they_part(tmp_path, capsys):
    path = write(tmp_path, score(SCALE))
    assert main(["finger", str(path), "--json", "--alternatives", "3"]) == 0
    ways = json.loads(capsys.readouterr().out)
    assert len(ways) == 3
    assert (ways[0]["extra"], ways[0]["partings"]) == (0, [])
    for way in ways[1:]:
        assert way["extra"] >= 0
        assert len(way["partings"]) >= 2
        assert way["reason"]
    assert main(["finger", str(path), "--alternatives", "2"]) == 0
    assert "2: " in capsys.readouterr().out


@pytest.mark.parametrize("words", [["finger"], ["finger", "nothing.tabterm"], ["finger", "a.xyz"]])
def test_bad_input_is_one_line(words, tmp_path, capsys):
    if len(words) == 1:
        with pytest.raises(SystemExit) as ended:
            main(words)
        assert ended.value.code == 2
    else:
        assert main([words[0], str(tmp_path / words[1])]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_the_hand_of_the_player_counts(tmp_path, capsys):
    """A small hand cannot hold frets 2 and 7; the file carries it."""
    built = score("1 1.7 3.2")
    small = built.with_(head=built.head.with_(hand=HandProfile(span_mm=110.0)))
    assert findings(built, PLAYER) == ()
    assert [finding.code for finding in findings(small, PLAYER)] == ["reach"]


# Mending


def test_fix_mends_shows_and_writes(tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    before = path.read_bytes()
    assert main(["check", str(path), "--fix"]) == 0
    out = capsys.readouterr().out
    assert "measure 1, beat 3: make it a pull-off, because a hammer-on from fret 5 to fret 3 does not go up" in out
    assert "  measure 1, beat 3: hE 3 finger 2? -> pE 3 finger 1?" in out
    assert f"1 fixed, written; the original is kept as {path}.before-fix" in out
    assert "nothing found" in out
    assert path.with_name("a.tabterm.before-fix").read_bytes() == before
    assert native.read(path.read_bytes()).measures[0].events[1].notes[0].reached.value == "pull"


def test_what_is_kept_before_a_fix_is_never_written_over(tmp_path):
    """Another fix keeps another file; the same music is kept once."""
    path = tmp_path / "a.tabterm"
    kept = [tmp_path / f"a.tabterm.before-fix{number}" for number in ("", "-2", "-3")]
    for music in ("2 1.5,2 h1.3", "2 1.7,2 h1.3", "2 1.5,2 h1.3"):
        path.write_bytes(native.write(score(music)))
        assert main(["check", str(path), "--fix"]) == 0
    texts = [native.read(each.read_bytes()).measures[0].events[0].notes[0].fret for each in kept[:2]]
    assert texts == [5, 7]
    assert not kept[2].exists()


def test_fix_as_json(tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    assert main(["check", str(path), "--fix", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    (done,) = told["mended"]
    assert (told["file"], told["kept"], told["left"]) == (str(path), f"{path}.before-fix", [])
    assert (done["code"], done["remedy"], done["kind"]) == ("hammer-on-downwards", "make it a pull-off", "slur")
    assert done["changes"] == [
        {"measure": 1, "beat": "3", "before": "hE 3 finger 2?", "after": "pE 3 finger 1?"},
    ]


TOO_FAST = "16 1.5,16 1.5,16 1.5,16 1.5,4 1.3,2 1.2"
"""Strokes on one note that nothing but another tempo or fewer strokes mends."""


@pytest.mark.parametrize(
    ("told", "kinds"),
    [
        ([], set()),
        (["--only", "slur,finger"], set()),
        (["--allow", "tempo"], {"measure"}),
        (["--only", "tempo"], {"tempo"}),
        (["--allow", "rhythm"], {"rhythm"}),
        (["--allow", "pitch,register"], set()),
        (["--allow", "tempo", "--tempo", "230"], set()),
    ],
)
def test_what_is_asked_for_is_changed_as_well(told, kinds, tmp_path, capsys):
    path = write(tmp_path, score(TOO_FAST, "1 1.0", tempo=Tempo(230.0)))
    before = path.read_bytes()
    main(["check", str(path), "--fix", "--json", *told])
    done = json.loads(capsys.readouterr().out)["mended"]
    assert {each["kind"] for each in done} == kinds
    assert (path.read_bytes() == before) == (not kinds)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (
            [],
            "only changes to the music help: --allow rhythm (fewer notes to strike), tempo (this measure ",
        ),
        (["--tempo", "230"], "only changes to the music help: --allow rhythm (fewer notes to strike)\n"),
        (
            ["--allow", "pitch"],
            "only changes to the music help: --allow rhythm (fewer notes to strike), tempo (",
        ),
        (["--allow", "register", "--only", "pitch"], "no remedy of --only pitch helps\n"),
        (["--only", "slur,finger"], "no remedy of --only slur,finger helps\n"),
    ],
)
def test_fix_says_that_nothing_was_mended_and_what_may_be_allowed(told, said, tmp_path, capsys):
    path = write(tmp_path, score(TOO_FAST, "1 1.0", tempo=Tempo(230.0)))
    main(["check", str(path), "--fix", *told])
    out = capsys.readouterr().out
    assert out.startswith(f"{path}: nothing fixed: {said}")
    assert out.count("nothing fixed") == 1


def test_fix_with_nothing_found_speaks_of_no_remedy(tmp_path, capsys):
    path = write(tmp_path, score(SCALE))
    main(["check", str(path), "--fix"])
    assert capsys.readouterr().out == f"{path}: nothing found\n"


@pytest.mark.parametrize("told", [["--only", "fingers"], ["--allow", "everything"], ["--only", ""]])
def test_what_is_no_kind_of_remedy_is_refused(told, tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    with pytest.raises(SystemExit) as ended:
        main(["check", str(path), "--fix", *told])
    assert ended.value.code == 2
    assert "not one of" in capsys.readouterr().err


def test_fix_leaves_a_sound_file_as_it_is(tmp_path):
    path = write(tmp_path, score(SCALE))
    before = path.read_bytes()
    assert main(["check", str(path), "--fix"]) == 0
    assert path.read_bytes() == before


def test_fix_to_another_file(tmp_path, capsys):
    path, out = write(tmp_path, score("2 1.5,2 h1.3")), tmp_path / "b.tabterm"
    before = path.read_bytes()
    assert main(["check", str(path), "--fix", "-o", str(out)]) == 0
    assert path.read_bytes() == before
    assert out.exists()
    assert main(["check", str(write(tmp_path, score("2 1.5,2 h1.3"), "a.tab")), "--fix"]) == 2
    assert "only a .tabterm file can be fixed in place" in capsys.readouterr().err


def test_fix_names_a_folder_that_is_not_there(tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    assert main(["check", str(path), "--fix", "-o", str(tmp_path / "gone" / "b.tabterm")]) == 2
    assert "the folder does not exist" in capsys.readouterr().err


def test_fix_refuses_a_file_with_changes_that_were_not_saved(tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    document = Document.open(path, PLAYER, blank=lambda: score("1"))
    document.apply(operations.set_title(document.score, "Kiln Lane"), "title")
    document.close(keep_draft=True)
    before = path.read_bytes()
    assert main(["check", str(path), "--fix"]) == 2
    assert "unsaved changes" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert main(["check", str(path), "--fix", "-o", str(tmp_path / "mended.tabterm")]) == 0
    Document.open(path, PLAYER, blank=lambda: score("1")).close(keep_draft=False)
    assert main(["check", str(path), "--fix"]) == 0


def test_fix_refuses_a_file_that_is_open_elsewhere(tmp_path, capsys):
    from tabterm.storage.lock import Lock

    path = write(tmp_path, score("2 1.5,2 h1.3"))
    held = Lock.take(path)
    try:
        assert main(["check", str(path), "--fix"]) == 2
        assert "open elsewhere" in capsys.readouterr().err
    finally:
        held.release()


def test_fix_sees_what_is_saved_between_its_reading_and_the_lock(tmp_path, capsys, monkeypatch):
    """Another editor saves and leaves at the moment at which the lock is asked for."""
    from tabterm.storage.lock import Lock

    path, theirs = write(tmp_path, score("2 1.5,2 h1.3")), native.write(score("1 1.9"))
    take = Lock.take

    def late(real):
        real.write_bytes(theirs)
        return take(real)

    monkeypatch.setattr(Lock, "take", late)
    assert main(["check", str(path), "--fix"]) == 2
    assert "changed in the meantime" in capsys.readouterr().err
    assert path.read_bytes() == theirs


def test_fix_says_that_a_second_name_keeps_the_old_music_and_refuses_a_read_only_file(tmp_path, capsys):
    path = write(tmp_path, score("2 1.5,2 h1.3"))
    before = path.read_bytes()
    path.chmod(0o444)
    assert main(["check", str(path), "--fix"]) == 2
    assert "read-only" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert not list(tmp_path.glob("*.before-fix*"))
    path.chmod(0o644)
    (tmp_path / "other").hardlink_to(path)
    assert main(["check", str(path), "--fix"]) == 0
    assert "hard links" in capsys.readouterr().err
    assert (tmp_path / "other").read_bytes() == before


def test_another_tempo_is_asked_about_and_not_written(tmp_path, capsys):
    quick = "8 1.3,8 h1.5,8 p1.3,8 h1.5,8 p1.3,8 h1.5,4 1.3"
    path = write(tmp_path, score(quick, tempo=Tempo(100.0)))
    assert main(["check", str(path)]) == 0
    assert "nothing found" in capsys.readouterr().out
    assert main(["check", str(path), "--tempo", "280"]) == 0
    assert "slurs at" in capsys.readouterr().out
    main(["check", str(path), "--tempo", "280", "--fix"])
    fixed = native.read(path.read_bytes())
    assert fixed.head.tempo == Tempo(100.0)
    assert any(note.reached.value == "struck" for event in fixed.measures[0].events[1:6] for note in event.notes)
    assert main(["check", str(path), "--tempo", "80%"]) == 0
    assert main(["check", str(path), "--tempo", "soon"]) == 2
    assert main(["check", str(path), "--tempo", "1/4=4000"]) == 2
