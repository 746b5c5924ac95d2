"""The same words make the same music, whether it is played, or written into a file or a pack."""

from __future__ import annotations

from argparse import ArgumentParser
from types import SimpleNamespace

import pytest

from tabterm import formats
from tabterm.cli import play, render
from tabterm.cli.main import main
from tabterm.performance import Part
from tabterm.piece import audio
from tabterm.piece.handout import folder
from tabterm.piece.takes import performed
from tabterm.score.tempo import Tempo
from tests.build import measure, score


@pytest.fixture
def tune(tmp_path):
    """Swung eighths over a chord symbol."""
    path = tmp_path / "tune.tabterm"
    eighths = ",".join(["8 1.0,8 1.2"] * 4)
    first = measure(eighths, chords=[{"offset": "0", "symbol": "G"}])
    formats.write(path, score(first, eighths, eighths, tempo=Tempo(200.0)))
    return path


@pytest.fixture
def written(monkeypatch):
    """The audio files that would have been written."""
    takes = []

    def write(more, *_):
        for take in more:
            takes.append(take)
            take.path.touch()

    for command in (render, folder):
        writing = SimpleNamespace(**vars(audio) | {"write": write})
        monkeypatch.setattr(command, "audio", writing)
    return takes


def heard(tune, *words):
    """What `tabterm play` would play."""
    parser = ArgumentParser()
    play.configure(parser)
    arguments = parser.parse_args([str(tune), *words])
    arguments.file = tune
    piece, span = play.hearing.piece_of(arguments)
    found = piece.score
    practice = play.practice_of(arguments, found, span)
    return performed([play.Take(found, span)], practice, practice.tempo_percent, lead=True)


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ((), "solo"),
        (("--chords", "--no-groove"), "solo chords bass"),
        (("--style", "waltz", "--swing", "off"), "solo chords bass"),
        (("--mute-tab", "--count-in", "1", "--swing", "16 3:2"), "chords bass click"),
        (("--from", "2", "--to", "3", "--tempo", "70%", "--click", "offbeats"), "solo click"),
        (("--click-rests", "1:1"), "solo click"),
    ],
)
def test_a_file_holds_what_is_played(tune, tmp_path, written, words, parts):
    assert main(["render", str(tune), str(tmp_path / "out.wav"), *words]) == 0
    performance = heard(tune, *words)
    assert written[0].performance == performance
    assert {pluck.part for pluck in performance.plucks} == {Part(part) for part in parts.split()}


def times_of(performance):
    return [(pluck.part, pluck.start_s) for pluck in performance.plucks if pluck.part is not Part.SOLO]


def test_a_pack_holds_what_is_played_with_and_without_the_solo(tune, tmp_path, written):
    words = ("--style", "waltz", "--swing", "off", "--no-groove", "--from", "2", "--to", "2")
    quiet = ("--count-in", "0", "--click", "off", "--tempos", "50%,100%")
    assert main(["handout", str(tune), str(tmp_path / "pack"), "--only", "audio", *quiet, *words]) == 0
    assert written[-2].performance == heard(tune, *words)
    assert times_of(written[-1].performance) == times_of(written[-2].performance)  # its click is softer
    assert [Part.SOLO in take.parts for take in written] == [True, False] * 2


def test_a_click_that_rests_is_a_click(tune):
    clicks = [pluck.start_s for pluck in heard(tune, "--click-rests", "1:1").plucks if pluck.part is Part.CLICK]
    assert clicks == pytest.approx([0.0, 0.3, 0.6, 0.9, 2.4, 2.7, 3.0, 3.3])
