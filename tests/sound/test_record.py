"""A recording in the engine: heard when the plan says, at its pitch, looped without a click, beside the tab."""

from __future__ import annotations

import socket
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile

from tabterm.errors import ScoreError, SoundError
from tabterm.performance import Click, Options, perform
from tabterm.performance.along import along
from tabterm.performance.model import Passage, Record
from tabterm.score.record_mix import RecordMix
from tabterm.score.tempo import Tempo
from tabterm.sound import packing
from tabterm.sound import record as sound_record
from tabterm.sound.engine import Engine
from tabterm.sound.link import Frame, Link
from tabterm.sound.outputs import OutputKind
from tabterm.sound.rendition import Rendition
from tabterm.sound.synthesiser import RATE
from tests.build import music
from tests.sound.analysis import cents, peak_hz
from tests.sound.test_rendition import plan, rest_of

TUNE = music("4 1.0,4 2.0,4 3.0,4 4.0 | 4 1.2,4 2.2,4 3.2,4 4.2", tempo=Tempo(120.0))
BEATS_S = [1.0, 1.5, 2.05, 2.55, 3.1, 3.7, 4.3, 4.85, 5.4]
"""When the recording plays the beats of the tune, and its end: it slows down."""

SILENT = Options(parts=frozenset())


def moment(index, offset):
    return float(np.interp(4 * index + float(offset), range(len(BEATS_S)), BEATS_S))


def ticks(path, moments_s, length_s, rate=48_000):
    """A recording with a short tick at each moment."""
    sound = np.zeros((round(length_s * rate), 2), np.float32)
    for at in moments_s:
        size = round(0.02 * rate)
        tick = 0.5 * np.sin(2 * np.pi * 2000 * np.arange(size) / rate) * np.exp(-np.arange(size) / (0.004 * rate))
        sound[round(at * rate) :][:size] += tick[:, None].astype(np.float32)
    soundfile.write(path, sound, rate, subtype="FLOAT")
    return Record(str(path), "a")


def tone(path, hz=330.0, length_s=6.0, rate=RATE):
    soundfile.write(path, 0.4 * np.sin(2 * np.pi * hz * np.arange(round(length_s * rate)) / rate), rate)
    return Record(str(path), "a")


def begun_s(sound):
    """When each tick begins: over a tenth of the peak, after a tenth of a second without."""
    loud = np.flatnonzero(np.abs(sound).max(axis=1) > 0.1 * np.abs(sound).max()) / RATE
    return loud[np.flatnonzero(np.diff(loud, prepend=-1.0) > 0.1)]


@pytest.mark.parametrize("speed", [1.0, 0.5, 1.5])
def test_every_beat_comes_when_the_recording_plays_it(tmp_path, speed):
    record = replace(ticks(tmp_path / "a.wav", BEATS_S[:-1], 6.0), speed=speed)
    performance = along(perform(TUNE, options=replace(SILENT, tempo_percent=100 * speed)), record, moment)
    sound = rest_of(Rendition(plan(performance)))
    wanted = (np.array(BEATS_S[:-1]) - 1.0) / speed
    assert begun_s(sound) == pytest.approx(wanted, abs=0.006)
    assert [mark.time_s for mark in performance.marks] == pytest.approx(wanted)
    assert performance.duration_s == pytest.approx((BEATS_S[-1] - 1.0) / speed)


def test_the_click_falls_on_the_beats_of_the_recording(tmp_path):
    record = tone(tmp_path / "a.wav")
    options = Options(parts=frozenset(), click=Click.BEATS, count_in=1)
    performance = along(perform(TUNE, options=options), record, moment)
    lead_s = 4 * (BEATS_S[4] - BEATS_S[0]) / 4  # a measure as fast as the first one
    clicks = [pluck.start_s for pluck in performance.plucks]
    assert clicks == pytest.approx([*np.arange(4) * lead_s / 4, *(lead_s + np.array(BEATS_S[:-1]) - 1.0)])
    assert performance.record.passages == (Passage(pytest.approx(lead_s), 1.0, 5.4),)


def test_a_repeat_goes_back_in_the_recording(tmp_path):
    tune = music("4 1.0,4 2.0 | 4 1.2,4 2.2", metre="2/4")
    twice = tune.with_(measures=(tune.measures[0], tune.measures[1].with_(repeat_times=2)))
    performance = along(perform(twice), Record("a", "a"), lambda index, offset: 2.0 * index + float(offset))
    assert [(each.from_s, each.to_s) for each in performance.record.passages] == [(0.0, 4.0), (0.0, 4.0)]


def test_bar_lines_out_of_order_are_refused():
    with pytest.raises(ScoreError, match="not in order"):
        along(perform(TUNE), Record("a", "a"), lambda index, _: 9.0 - index)
    with pytest.raises(ScoreError, match="begins later"):
        along(perform(TUNE), Record("a", "a"), lambda index, offset: index - 1 + float(offset) / 4)


def played(record, passage, *, turns=1, lead_s=0.0):
    performance = perform(TUNE, options=SILENT)
    length_s = passage.start_s + (passage.to_s - passage.from_s) / record.speed
    whole = replace(performance, record=replace(record, passages=(passage,)), lead_s=lead_s, duration_s=length_s)
    return rest_of(Rendition(plan(whole, turns=turns)))


@pytest.mark.parametrize("rate", [44_100, 22_050])
def test_it_is_heard_at_its_pitch_and_moved_by_what_is_asked(tmp_path, rate):
    record = tone(tmp_path / "a.wav", rate=rate)
    slow = played(replace(record, speed=0.5), Passage(0.0, 1.0, 2.0))
    assert abs(cents(peak_hz(slow[5000:60_000, 0], 250, 450), 330.0)) < 1
    higher = played(replace(record, semitones=-0.3), Passage(0.0, 1.0, 3.0))
    assert cents(peak_hz(higher[5000:60_000, 0], 250, 450), 330.0) == pytest.approx(-30, abs=1)


def test_a_loop_has_no_seam(tmp_path):
    """A tone whose loop does not come out even goes on: nowhere does it jump, or fade."""
    sound = played(tone(tmp_path / "a.wav"), Passage(0.0, 1.0, 1.7777), turns=4)[2000:-2000, 0]
    steepest = 0.4 * 2 * np.pi * 330 / RATE
    assert np.abs(np.diff(sound)).max() < 1.3 * steepest
    power = np.convolve(sound**2, np.ones(441) / 441, "valid")
    assert power.min() > 0.7 * np.median(power)


def test_long_passages_are_cut_in_pieces_that_nobody_hears(tmp_path, monkeypatch):
    monkeypatch.setattr(sound_record, "PIECE_S", 0.7)
    record = tone(tmp_path / "a.wav")
    assert len(sound_record._pieces(replace(record, passages=(Passage(0.0, 0.0, 3.0),)))) == 5
    sound = played(record, Passage(0.0, 0.0, 3.0))[2000:-2000, 0]
    assert np.abs(np.diff(sound)).max() < 1.05 * 0.4 * 2 * np.pi * 330 / RATE
    power = np.convolve(sound**2, np.ones(441) / 441, "valid")
    assert power.min() > 0.9 * np.median(power)


def test_apart_the_recording_is_left_and_the_tab_right(tmp_path):
    record = replace(tone(tmp_path / "a.wav"), apart=True)
    sound = rest_of(Rendition(plan(along(perform(TUNE), record, moment))))
    assert abs(cents(peak_hz(sound[: 2 * RATE, 0], 250, 450), 330.0)) < 1
    assert abs(cents(peak_hz(sound[2000:20_000, 1], 600, 700), 659.26)) < 5  # E5, the open first course
    assert np.abs(sound[:RATE, 0]).max() == pytest.approx(0.4, abs=0.02)


def sides(path):
    """A recording with a tone of its own on each side, and one that both share."""
    t = np.arange(4 * RATE) / RATE
    left, right, both = (0.2 * np.sin(2 * np.pi * hz * t) for hz in (220.0, 3300.0, 880.0))
    soundfile.write(path, np.stack([left + both, right + both], axis=1), RATE, subtype="FLOAT")
    return Record(str(path), "a")


def levels(sound):
    """How strong each of its three tones is in both ears together."""
    middle = sound[RATE // 2 : RATE + RATE // 2].mean(axis=1)
    power = np.abs(np.fft.rfft(middle * np.hanning(RATE)) / (RATE / 4)) ** 2 / 1.5
    return [float(np.sqrt(power[hz - 20 : hz + 21].sum())) for hz in (220, 3300, 880)]


@pytest.mark.parametrize(
    ("words", "heard"),
    [
        ("both", [0.1, 0.1, 0.2]),
        ("left", [0.2, 0.0, 0.2]),
        ("centre", [0.1, 0.1, 0.2]),
        ("sides", [0.1, 0.1, 0.0]),
        ("both balance 100", [0.0, 0.1, 0.1]),
        ("both 500-1500", [0.1 / 4, 0.1 / 4, 0.2]),
    ],
)
def test_a_side_and_a_register_are_heard_while_it_plays(tmp_path, words, heard):
    """Also at half speed, at which the engine stretches what the mix leaves; 12 dB are a quarter."""
    record = replace(sides(tmp_path / "a.wav"), mix=RecordMix.parse(words), speed=0.5)
    assert levels(played(record, Passage(0.0, 0.5, 2.0))) == pytest.approx(heard, abs=0.012)


def test_another_side_takes_over_at_the_next_beat_without_a_jump(tmp_path):
    record = sides(tmp_path / "a.wav")
    one = along(perform(TUNE, options=SILENT), record, moment)
    other = along(perform(TUNE, options=SILENT), replace(record, mix=RecordMix.parse("sides")), moment)
    rendition = Rendition(plan(one))
    before = rendition.read(round(0.8 * RATE))
    assert rendition.change(plan(other, 2, follows=one))
    after = rest_of(rendition)
    assert levels(after)[2] < 0.01
    steepest = sum(0.2 * 2 * np.pi * hz / RATE for hz in (220, 3300, 880))
    whole = np.concatenate([before, after])[4000:-4000]
    assert np.abs(np.diff(whole, axis=0)).max() < 1.1 * steepest


def test_the_record_takes_over_from_the_tab_at_the_next_beat(tmp_path):
    record = tone(tmp_path / "a.wav")
    tab, other = perform(TUNE), along(perform(TUNE, options=SILENT), record, moment)
    rendition = Rendition(plan(tab))
    before = rendition.read(round(0.8 * RATE))
    assert rendition.change(plan(other, 2, follows=tab))
    after = rest_of(rendition)
    joint = round(0.2 * RATE)
    assert np.abs(before).max() > 0.02
    assert abs(cents(peak_hz(after[joint + 4000 : joint + 40_000, 0], 250, 450), 330.0)) < 1
    left_s = (len(after) - joint) / RATE
    assert left_s == pytest.approx(BEATS_S[-1] - BEATS_S[2], abs=0.15)


def test_a_change_beside_the_record_lets_it_go_on(tmp_path):
    """Turning the click on must not be heard in the record."""
    record = tone(tmp_path / "a.wav")
    one = along(perform(TUNE, options=SILENT), record, moment)
    rendition = Rendition(plan(one))
    rendition.read(round(0.8 * RATE))
    source = rendition._along._now[1]
    rendition.change(
        plan(along(perform(TUNE, options=SILENT), replace(record, level=0.5), moment), 2, follows=one)
    )
    rendition.read(round(0.8 * RATE))
    assert rendition._along._now[1] is source
    rendition.close()


def test_a_file_that_is_gone_or_broken_is_told_of(tmp_path):
    (tmp_path / "b.wav").write_bytes(b"RIFF")
    for name in ("a.wav", "b.wav"):
        record = Record(str(tmp_path / name), "a", passages=(Passage(0.0, 0.0, 1.0),))
        with pytest.raises(SoundError, match=name):
            Rendition(plan(replace(perform(TUNE), record=record)))


RECORD = Record(
    "a b.ogg",
    "0f",
    0.5,
    -0.25,
    0.8,
    apart=True,
    mix=RecordMix.parse("centre balance -20 190-1400"),
    passages=(Passage(0.0, 1.0, 1.5), Passage(1.0, 0.0, 0.5)),
)


def test_it_travels_with_the_plan():
    sent = plan(replace(perform(TUNE), record=RECORD))
    body, values = packing.packed(sent)
    assert packing.unpacked(body, **values) == sent


@pytest.mark.parametrize(
    "wrong",
    [
        {"speed": 0.1}, {"speed": float("nan")}, {"semitones": 14.0}, {"level": 3.0}, {"path": 3}, {"apart": 1},
        {"mix": "middle"},
        {"passages": (Passage(0.0, 1.0, 1.0),)}, {"passages": (Passage(0.0, -1.0, 1.0),)},
        {"passages": (Passage(2.0, 0.0, 1.0), Passage(1.0, 0.0, 1.0))}, {"passages": ((0.0, 1.0),)},
    ],
)  # fmt: skip
def test_one_that_cannot_be_played_is_refused(wrong):
    body, values = packing.packed(plan(replace(perform(TUNE), record=replace(RECORD, **wrong))))
    with pytest.raises(SoundError, match="malformed"):
        packing.unpacked(body, **values)


def test_a_pickup_and_a_start_inside_a_measure_are_where_the_map_has_them():
    from tabterm.score.place import Place, Span

    performance = along(perform(TUNE, span=Span(Place(0, Fraction(2)), Place(1, Fraction(1)))), RECORD, moment)
    assert performance.record.passages == (Passage(0.0, BEATS_S[2], BEATS_S[5]),)


def test_a_midi_port_plays_no_recording_and_that_is_said():
    ours, its = socket.socketpair()
    engine, editor = Engine(Link(its)), Link(ours)
    engine._output = SimpleNamespace(kind=OutputKind.PORT, name="Synth")
    body, values = packing.packed(plan(replace(perform(TUNE), record=RECORD)))
    engine._take(Frame("play", values, body))
    (frame,) = editor.receive()
    assert frame.word == "failed"
    assert "needs an audio device" in frame.values["message"]
    editor.close()
    its.close()
