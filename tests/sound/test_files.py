"""Audio files, read back by the library that others read them with."""

from __future__ import annotations

import errno
import io

import numpy as np
import pytest
import soundfile

from tabterm.errors import SoundError
from tabterm.sound.files import KINDS, AudioKind, Tags, write
from tests.sound.analysis import cents, fundamental_hz, hertz_of, mono
from tests.sound.plucking import RATE, pluck, sounded

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
    with pytest.raises(SoundError, match="no Odd files") as told:
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
