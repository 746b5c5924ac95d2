"""Audio files, read back by the library that others read them with."""

from __future__ import annotations

import errno
import io
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tabterm import formats
from tabterm.errors import SoundError
from tabterm.hand.strokes import with_proposals
from tabterm.instrument.presets import PRESETS
from tabterm.performance import Attack, Click, Options, Part, perform
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tabterm.sound.files import KINDS, AudioKind, Tags, write
from tabterm.sound.rendering import BLOCK, Rendering
from tabterm.sound.synthesiser import AS_IT_IS
from tabterm.sound.voicing import voicing_of
from tests.build import PLAYER, score
from tests.sound.analysis import cents, fundamental_hz, hertz_of, mono, onsets_s, salient_pitch
from tests.sound.plucking import RATE, level_db, pluck, sounded

TAGS = Tags("Quarry Road, 60 %", "Nobody\nat all", "Practice", "62 quarters a minute", "3")


@pytest.mark.parametrize("ending", KINDS)
def test_every_kind_holds_what_was_written(ending):
    samples = sounded(pluck(69, 0.1, 1.5), seconds=2.0)
    file = io.BytesIO()
    assert write(file, KINDS[ending], np.array_split(samples, 13), TAGS) == len(samples)
    file.seek(0)
    with soundfile.SoundFile(file) as read:
        assert (read.samplerate, read.channels) == (RATE, 2)
        back = read.read(dtype="float32")
        said = [getattr(read, name) for name in ("title", "artist", "album", "comment", "tracknumber")]
    assert said == [TAGS.title, "Nobody at all", TAGS.album, TAGS.comment, TAGS.tracknumber]
    assert len(back) == len(samples)
    assert abs(cents(fundamental_hz(mono(back)[6000:50000], 69), hertz_of(69))) < 1.0
    difference = np.abs(back - samples).max()
    assert difference < (2**-15 if KINDS[ending].compression is None else 0.1)


def test_a_kind_that_the_library_cannot_write_is_told():
    """As MP3 is to libsndfile before 1.1 (from memory), which a system may have in place of the wheel's."""
    with pytest.raises(SoundError, match="cannot write Odd files") as told:
        write(io.BytesIO(), AudioKind("Odd", "WAV", "MPEG_LAYER_III_"), [], TAGS)
    assert ".wav" in told.value.hint


def test_tags_without_words_are_left_out():
    file = io.BytesIO()
    write(file, KINDS[".flac"], [np.zeros((10, 2), np.float32)], Tags(title="Tune"))
    assert b"artist" not in file.getvalue().lower()


class Full(io.BytesIO):
    """A disk with room for so many bytes."""

    def __init__(self, room):
        super().__init__()
        self.room = room

    def write(self, data):
        if self.tell() + len(data) > self.room:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(data)


@pytest.mark.parametrize("room", [0, 2000, 30_000])
@pytest.mark.parametrize("ending", KINDS)
def test_a_full_disk_is_told_as_such(ending, room, capfd):
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, (20, 8192, 2)).astype(np.float32)
    with pytest.raises(OSError, match="No space left"):
        write(Full(room), KINDS[ending], iter(noise), TAGS)
    assert capfd.readouterr().err == ""


SAMPLES = Path(__file__).parents[2] / "samples"
STAGGER_S = 0.02
"""Notes of one stroke lie nearer than this; no two attacks of the solos do."""


def rendering(performance, **options):
    """A performance on its own instrument."""
    return Rendering(performance, voicing_of(performance.instrument), **options)


def rendered(performance, level=AS_IT_IS, **options):
    """Its samples."""
    return np.concatenate(list(rendering(performance, **options).blocks(level)))


PEAK = 0.32
"""The level that the analyser was made for; instruments differ, and it hears more of a softer one."""


def solo(name, last=9):
    """The first measures of a sample, counted in so that something stands before the first attack."""
    played = with_proposals(formats.read(SAMPLES / f"{name}.tabterm").music, PLAYER)
    return perform(played, span=Span.of_measures(0, last), options=Options(count_in=1))


@pytest.mark.parametrize("name", ["quarry-road-breakdown", "ferrymans-jig", "cinder-lane-two-step"])
def test_a_solo_is_heard_as_it_is_written(name):
    """Every attack within 5 ms, none extra, and every single note within 3 cents, first choice of 4 octaves."""
    performance = solo(name)
    samples = mono(rendered(performance, parts=[Part.SOLO]))
    samples *= PEAK / np.abs(samples).max()
    plucks = [each for each in performance.plucks if each.part is Part.SOLO]
    times = np.array(sorted({each.start_s for each in plucks} | {performance.duration_s}))
    times, ends = times[:-1], dict(pairwise(times))
    first = times[np.concatenate(([True], np.diff(times) > STAGGER_S))]
    heard = onsets_s(samples)
    missing = [time_s for time_s in first if np.abs(heard - time_s).min() > 0.005]
    extra = [time_s for time_s in heard if np.abs(times - time_s).min() > 0.005]
    assert (missing, extra) == ([], [])
    compared = 0
    for each in plucks:
        end_s = ends[each.start_s]
        together = [o for o in plucks if each.start_s - STAGGER_S < o.start_s < end_s and o is not each]
        if together or each.muted or each.curve or end_s - each.start_s < 0.12:
            continue
        part = samples[round((each.start_s + 0.015) * RATE) : round(end_s * RATE)]
        assert salient_pitch(part, range(40, 96)) == each.pitch, each
        assert abs(cents(fundamental_hz(part, each.pitch), hertz_of(each.pitch))) < 3.0, each
        compared += 1
    assert compared > 25


def test_a_tremolo_and_a_slide_are_heard():
    """Eight strokes where eight are due; a slide has one attack and arrives at its fret."""
    played = with_proposals(score("2 1.0,2 2.3", "4 2.2,4 /2.4,2 2.4", tempo=Tempo(120.0)), PLAYER)
    events = list(played.measures[0].events)
    events[0] = events[0].with_(tremolo=True) if hasattr(events[0], "tremolo") else events[0]
    played = played.with_(measures=(played.measures[0].with_(events=tuple(events)), *played.measures[1:]))
    performance = perform(played, options=Options(count_in=1))
    solos = [each for each in performance.plucks if each.part is Part.SOLO]
    samples = mono(rendered(performance, parts=[Part.SOLO]))
    heard = onsets_s(samples)
    assert len(heard) == len(solos)
    assert np.abs(heard - [each.start_s for each in solos]).max() < 0.005
    (slid,) = (each for each in solos if each.curve)
    assert slid.attack is Attack.DOWN
    part = samples[round((slid.curve[-1][0] + 0.02) * RATE) : round(slid.end_s * RATE)]
    assert abs(cents(fundamental_hz(part, slid.pitch + 2), hertz_of(slid.pitch + 2))) < 3.0


@pytest.mark.parametrize(
    "music",
    [
        "16 2.2 down,16 h2.4,16 p2.2,16 h2.4,16 p2.2,16 h2.4,16 p2.2,16 h2.4,2 2.2 down",  # a trill
        "4 2.2 down,16(3:2) 2.2 down,16(3:2) 2.2 up,16(3:2) 2.2 down,8 2.2 up,2 2.2 down",  # a treble
        "4 2.2 down,4 [2.5] p2.2,2 2.2 down",  # a cut
    ],
    ids=["trill", "treble", "cut"],
)
def test_trills_trebles_and_cuts_are_heard_note_by_note(music):
    """Every attack, none extra, its own pitch, and none more than 7 dB softer than the loudest."""
    played = score(music, tempo=Tempo(100.0))
    plucks = perform(played, options=Options(count_in=1)).plucks
    solos = [each for each in plucks if each.part is Part.SOLO]
    samples = mono(rendered(perform(played, options=Options(count_in=1)), parts=[Part.SOLO]))
    samples *= PEAK / np.abs(samples).max()
    heard = onsets_s(samples)
    assert len(heard) == len(solos)
    assert np.abs(heard - [each.start_s for each in solos]).max() < 0.007
    levels = []
    for each, then in pairwise([*solos, solos[-1]._replace(start_s=solos[-1].start_s + 0.3)]):
        part = samples[round((each.start_s + 0.01) * RATE) : round(then.start_s * RATE)]
        assert salient_pitch(part, range(40, 96)) == each.pitch
        levels.append(level_db(part[: RATE // 20]))
    assert max(levels) - min(levels) < 7


def test_a_loop_goes_back_behind_the_count_in_to_the_sample():
    played = with_proposals(score("4 1.0,4 2.0,4 3.0,4 4.0", tempo=Tempo(173.0)), PLAYER)
    performance = perform(played, options=Options(count_in=1, click=Click.BEATS))
    turn = (performance.duration_s - performance.lead_s) * RATE
    thrice = mono(rendered(performance, turns=3))
    clicks = mono(rendered(performance, parts=[Part.CLICK], turns=3))
    assert len(thrice) >= round(performance.duration_s * RATE + 2 * turn)
    starts = [round(pluck.start_s * RATE) for pluck in performance.plucks if pluck.start_s >= performance.lead_s]
    once = mono(rendered(performance, parts=[Part.CLICK]))
    lead = round(performance.lead_s * RATE)
    for number in range(3):
        origin = round(number * turn)
        length = round(turn) - 200
        assert np.array_equal(clicks[lead + origin : lead + origin + length], once[lead : lead + length])
    assert len(starts) == 8


@pytest.mark.parametrize("turns", [1, 3])
def test_a_file_to_be_looped_has_its_tail_at_its_start(turns):
    """It is as long as its turns, and begins with what dies away behind the end of a file that is not looped."""
    played = with_proposals(score("4 1.0,4,4,4 4.0", tempo=Tempo(173.0)), PLAYER)
    performance = perform(played, options=Options(count_in=1))
    turn = (performance.duration_s - performance.lead_s) * RATE
    assert rendering(performance, turns=turns, seamless=True).frames == round(turns * turn)
    performance = perform(played)
    looped, plain = (rendered(performance, turns=turns, seamless=seamless) for seamless in (True, False))
    assert len(looped) == round(turns * turn)
    tail = plain[len(looped) :]
    assert len(tail) == pytest.approx(0.3 * RATE, abs=1)
    assert np.abs(tail).max() > 0.01
    # The fourth course is not struck before the fourth beat of the next turn.
    folded = np.vstack((plain[: len(tail)] + tail, plain[len(tail) : len(looped)]))
    assert np.allclose(looped, folded, atol=1e-6)


@pytest.mark.parametrize("preset", ["mandolin", "mandocello"])
def test_no_step_is_heard_where_a_loop_goes_back(preset):
    """Also where what dies away outlasts the whole turn; a step as in a file cut off there is far larger."""
    played = score("16 4.0,16 1.0,8,4,2", tempo=Tempo(290.0), instrument=PRESETS[preset])
    performance = perform(played, span=Span(Place(0), Place(0, Fraction(1, 2))))
    once, plain = (mono(rendered(performance, seamless=seamless)) for seamless in (True, False))
    assert len(once) == round(30 / 290 * RATE)
    cut, looped = (np.abs(np.diff(np.tile(samples[: len(once)], 2))) for samples in (plain, once))
    seam = slice(len(once) - 2, len(once) + 1)
    assert looped[seam].max() < 0.03 < cut[seam].max()


def test_parts_add_up_to_the_whole():
    played = with_proposals(formats.read(SAMPLES / "lantern-waltz.tabterm").music, PLAYER)
    performance = perform(played, span=Span.of_measures(0, 3), options=Options(count_in=1, click=Click.BEATS))
    whole = rendered(performance)
    one, other = (rendered(performance, parts=[part]) for part in (Part.SOLO, Part.CLICK))
    size = min(len(whole), len(one), len(other))
    assert np.allclose(one[:size] + other[:size], whole[:size], atol=1e-6)


@pytest.mark.parametrize("preset", PRESETS)
def test_blocks_end_after_the_last_tone_has_died_away(preset):
    """The lowest course takes longest; the length is known beforehand, and the same for every part."""
    played = score("1 4.0", tempo=Tempo(240.0), instrument=PRESETS[preset])
    performance = perform(played)
    every = list(rendering(performance).blocks())
    assert {each.shape for each in every[:-1]} == {(BLOCK, 2)}
    whole = np.concatenate(every)
    end = round(performance.duration_s * RATE)
    assert np.abs(whole[end - 1000 : end]).max() > 1e-3
    assert not whole[-1000:].any()
    assert len(whole) == rendering(performance).frames
    assert len(rendered(performance, parts=[Part.CLICK])) == len(whole)


def test_other_rates_sound_the_same():
    played = score("2 2.0,2 2.2", tempo=Tempo(240.0))
    performance = perform(played)
    slow, fast = (mono(rendered(performance, rate=rate)) for rate in (RATE, 48_000))
    assert len(fast) / 48_000 == pytest.approx(len(slow) / RATE, abs=0.2)
    one, other = (
        np.sqrt(np.mean(samples[: round(0.9 * rate)] ** 2)) for samples, rate in ((slow, RATE), (fast, 48_000))
    )
    assert other == pytest.approx(one, rel=0.02)
