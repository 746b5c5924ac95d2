"""A recording at the listener: it goes over the line once, compressed, and is heard from there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import soundfile

from tabterm.performance import perform
from tabterm.performance.model import Passage, Record
from tabterm.sound import packing
from tabterm.sound.plan import Plan
from tabterm.sound.remote import records
from tabterm.sound.remote.address import SocketFile
from tabterm.sound.remote.records import Records, named, pieces
from tabterm.sound.voicing import voicing_of
from tests.sound.remote.near import PHRASE, Far, Near, guest, is_gone, opened, wait_until

__all__ = ["opened"]

MARK = "0123456789abcdef"
NAME = f"{MARK}-10-20"


@pytest.fixture
def path(tmp_path):
    """Half a minute of a tone that rises, so that every second is another."""
    t = np.arange(30 * 22_050) / 22_050
    soundfile.write(tmp_path / "a.wav", 0.4 * np.sin(2 * np.pi * (200 + 10 * t) * t), 22_050)
    return tmp_path / "a.wav"


def heard(path, from_s, to_s, number=1):
    record = Record(str(path), MARK, passages=(Passage(0.0, from_s, to_s),))
    performance = replace(perform(PHRASE), record=record)
    return packing.packed(Plan.of(performance, voicing_of(performance.instrument), number=number))


def test_the_part_is_cut_at_tens_of_seconds_and_named_by_fingerprint():
    record = Record("a", MARK, passages=(Passage(0.0, 12.5, 14.0), Passage(1.5, 13.0, 18.5)))
    name, sent = named(record)
    assert name == NAME
    assert [(each.from_s, each.to_s) for each in sent.passages] == [(2.5, 4.0), (3.0, 8.5)]
    assert (sent.path, sent.mark) == ("", NAME)


def test_what_comes_out_is_the_part_that_went_in(path, tmp_path):
    kept = Records(tmp_path / "kept")
    cut = pieces(str(path), NAME)
    assert kept.path_of(NAME) is None
    taken = [kept.take(NAME, number, len(cut), piece) for number, piece in enumerate(cut)]
    assert taken[-1]
    assert not any(taken[:-1])
    there, rate = soundfile.read(kept.path_of(NAME))
    here, _ = soundfile.read(path, start=10 * rate, stop=20 * rate)
    assert len(there) == len(here)
    assert np.corrcoef(there[:, 0], here)[0, 1] > 0.99
    assert sum(map(len, cut)) < 0.5 * path.stat().st_size / 3


@pytest.mark.parametrize(
    ("name", "number", "of", "data"),
    [
        ("../../etc-0-10", 0, 1, b"x"), (NAME, 1, 2, b"x"), (NAME, 0, 1, b""), (NAME, 0, 9999, b"x"),
        (NAME, 0, 1, bytes(20_000)), (f"{MARK}/x-0-10", 0, 1, b"x"),
    ],
)  # fmt: skip
def test_what_is_no_piece_is_refused(tmp_path, name, number, of, data):
    with pytest.raises(ValueError, match="piece"):
        Records(tmp_path).take(name, number, of, data)
    assert not list(tmp_path.rglob("*.ogg"))


def test_the_oldest_parts_go_where_there_are_too_many(tmp_path, monkeypatch):
    monkeypatch.setattr(records, "MOST_KEPT_BYTES", 25)
    kept = Records(tmp_path)
    for second in range(4):
        assert kept.take(f"{MARK}-{second}-{second + 1}", 0, 1, b"0123456789")
    assert len(list(tmp_path.glob("*.ogg"))) == 2
    assert kept.path_of(f"{MARK}-3-4")


def test_it_goes_over_the_line_once_and_is_heard_from_there(path, tmp_path, opened, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    near = opened(Near(SocketFile(tmp_path / "run" / "listen.sock"), "device"))
    far = opened(Far(near.address))
    body, values = heard(path, 12.5, 12.9)
    far.link.send("play", body, **values)
    assert far.hear("turn", 20).values["number"] == 1
    far.hear("ended", 20)
    path.unlink()  # from now on it can only be heard from what was kept
    body, values = heard(path, 13.0, 13.4, number=2)
    far.link.send("play", body, **values)
    assert far.hear("turn", 20).values["number"] == 2
    far.hear("ended", 20)
    assert sum("recording has come" in line for line in near.lines) == 1


def test_a_part_that_holds_another_serves_for_it():
    record = Record("a", MARK, passages=(Passage(0.0, 30.5, 34.0),))
    there = [f"{MARK}-30-40", "ff-0-90", f"{MARK}-20-60"]
    name, sent = named(record, there)
    assert name == f"{MARK}-20-60"  # a second around what is heard does not fit into the first
    assert sent.passages[0].from_s == 10.5
    assert named(record)[0] == f"{MARK}-20-40"


def test_two_parts_come_in_turn_and_a_third_begins_in_place_of_the_older(tmp_path):
    kept, names = Records(tmp_path), [f"{MARK}-{at}-{at + 1}" for at in range(3)]
    for number, name in ((0, names[0]), (0, names[1]), (1, names[0])):
        assert not kept.take(name, number, 3, b"x")
    assert not kept.take(names[2], 0, 3, b"x")
    with pytest.raises(ValueError, match="order"):
        kept.take(names[0], 2, 3, b"x")
    assert not kept.take(names[1], 1, 3, b"x")
    assert kept.take(names[1], 2, 3, b"x")


def test_what_is_sent_ahead_is_there_when_it_is_played(path, tmp_path, opened, monkeypatch):
    """The file is gone by then: a plan that waited for it would fail."""
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    near = opened(Near(SocketFile(tmp_path / "run" / "listen.sock"), "device"))
    far = opened(Far(near.address))
    far.link.send("ship", path=str(path), mark=MARK, from_s=0.0, to_s=28.0)
    parts = [0.0]
    while parts[-1] < 1:
        parts.append(far.hear("shipped", 30).values["part"])
    assert parts == sorted(parts)
    assert len(set(parts)) > 3
    path.unlink()
    body, values = heard(path, 12.5, 12.9)
    far.link.send("play", body, **values)
    assert far.hear("turn", 20).values["number"] == 1
    assert sum("recording has come" in line for line in near.lines) == 1
    far.link.send("ship", path=str(path), mark=MARK, from_s=0.0, to_s=28.0)
    assert far.hear("shipped", 20).values["part"] == 1


def test_what_is_played_goes_before_what_is_sent_ahead(path, tmp_path, opened, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    near = opened(Near(SocketFile(tmp_path / "run" / "listen.sock"), "device"))
    far = opened(Far(near.address))
    far.link.send("ship", path=str(path), mark=MARK, from_s=0.0, to_s=28.0)
    body, values = heard(path, 12.5, 12.9)
    far.link.send("play", body, **values)
    assert far.hear("turn", 20).values["number"] == 1
    wait_until(lambda: sum("recording has come" in line for line in near.lines) == 2, 20.0, lambda: near.lines)


def test_a_recording_that_is_gone_is_said_and_the_line_stays(tmp_path, opened, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    near = opened(Near(SocketFile(tmp_path / "run" / "listen.sock"), "device"))
    far = opened(Far(near.address))
    far.link.send("ship", path=str(tmp_path / "gone.wav"), mark="ab" * 8, from_s=0.0, to_s=9.0)
    body, values = heard(tmp_path / "gone.wav", 0.0, 1.0)
    far.link.send("play", body, **values)
    assert "gone.wav cannot be sent" in far.hear("failed", 20).values["message"]
    far.play(number=2)
    assert far.hear("turn", 20).values["number"] == 2


def test_an_editor_that_sends_no_piece_is_let_go(tmp_path, opened, monkeypatch):
    monkeypatch.setenv("TABTERM_AUDIO", "null")
    near = opened(Near(SocketFile(tmp_path / "run" / "listen.sock"), "device"))
    link = guest(near)
    link.send("piece", b"x", mark=NAME, number=1, of=2)
    assert is_gone(link)
    link.close()
    wait_until(lambda: any("out of order" in line for line in near.lines), 5.0, lambda: near.lines)
