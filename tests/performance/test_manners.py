"""What a synthesiser behind an output is sent: parts, programs, pans."""

from __future__ import annotations

import pytest

from tabterm.errors import ConfigurationError
from tabterm.performance import ALL_PARTS, Click, Options, perform
from tabterm.performance.midi import MidiManners, with_manners
from tabterm.piece import configuration
from tabterm.sound.outputs import Wish
from tabterm.sound.playback import Playback
from tests.build import score
from tests.performance.test_band import chorded

PERFORMANCE = perform(
    score(chorded("4 1.0,4 2.0,4 3.0,4 4.0", "0 G")), options=Options(parts=ALL_PARTS, click=Click.BEATS)
)
COURSES, CHORDS, BASS, CLICK = range(4), 10, 11, 9


def channels(messages):
    return {data[0] & 0x0F for data in messages}


def test_without_manners_nothing_changes():
    assert with_manners(PERFORMANCE, MidiManners()) == PERFORMANCE


def test_parts_that_are_not_wanted_are_not_sent():
    sent = with_manners(PERFORMANCE, MidiManners(parts=frozenset({"solo", "bass"})))
    assert channels(message.data for message in sent.messages) == {*COURSES, BASS}
    assert channels(sent.setup) == {*COURSES, BASS}
    assert sent.plucks == PERFORMANCE.plucks


def test_programs_and_pans_are_the_output_s():
    """Program change Cn, control change Bn with controller 10: MIDI 1.0."""
    sent = with_manners(PERFORMANCE, MidiManners(programs=(("solo", 40), ("click", 8)), pans=(("chords", -20),)))
    programs = {data[0] & 0x0F: data[1] for data in sent.setup if data[0] & 0xF0 == 0xC0}
    assert [programs[channel] for channel in COURSES] == [40] * 4
    assert programs[CLICK] == 8
    assert programs[BASS] == 32
    assert [data for data in sent.setup if data[0] & 0xF0 == 0xB0 and data[1] == 10] == [
        bytes((0xB0 | CHORDS, 10, 44))
    ]
    assert sent.messages == PERFORMANCE.messages


def test_the_configuration_has_them_by_output(monkeypatch, tmp_path):
    file = tmp_path / "config.toml"
    monkeypatch.setenv("TABTERM_CONFIG", str(file))
    file.write_text('[outputs."port:synth"]\nparts = ["solo"]\nprograms = { solo = 26 }\npans = { solo = 63 }\n')
    (words, found), *_ = configuration.load().outputs.items()
    assert words == "port:synth"
    assert found.manners == MidiManners(frozenset({"solo"}), (("solo", 25),), (("solo", 63),))
    for wrong in ("programs = { solo = 0 }", "pans = { solo = 64 }", 'parts = ["drums"]'):
        file.write_text(f'[outputs."port:synth"]\n{wrong}\n')
        with pytest.raises(ConfigurationError):
            configuration.load()
    file.write_text('[outputs."nowhere"]\nparts = ["solo"]\n')
    with pytest.raises(ConfigurationError):
        configuration.load()


@pytest.mark.parametrize(
    ("wish", "opened", "is_meant"),
    [("port:synth", "", True), ("auto", "my synth 1", True), ("port:other", "other", False), ("auto", "", False)],
)
def test_they_count_for_the_output_that_is_played_to(wish, opened, is_meant):
    alone = MidiManners(parts=frozenset({"solo"}))
    playback = Playback(Wish.parse(wish), manners={"port:synth": alone})
    playback.output_name = opened
    sent = playback._mannered(PERFORMANCE)
    assert (channels(message.data for message in sent.messages) == set(COURSES)) == is_meant
