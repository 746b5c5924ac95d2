"""Choosing a port, with MIDI systems made up for the test."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from tabterm.errors import SoundError
from tabterm.sound import ports


class FakeOutput:
    """An output as python-rtmidi gives it."""

    def __init__(self, api, listed):
        self.api, self.listed, self.opened, self.sent = api, listed, None, []

    def get_current_api(self):
        return self.api

    def get_ports(self):
        return self.listed

    def open_port(self, number):
        self.opened = number

    def open_virtual_port(self, name):
        self.opened = name

    def send_message(self, message):
        self.sent.append(message)


@pytest.fixture
def systems(monkeypatch):
    """Set what each MIDI system lists; one that is not there raises, as ALSA's does without a kernel sequencer."""

    def install(**listed):
        outputs = {}

        def make(api, _client):
            if api not in listed:
                raise RuntimeError("error creating ALSA sequencer client object")
            outputs[api] = FakeOutput(api, listed[api])
            return outputs[api]

        monkeypatch.setitem(
            sys.modules, "rtmidi", SimpleNamespace(MidiOut=make, **{api: api for api in ports.APIS})
        )
        monkeypatch.setitem(sys.modules, "rtmidi2", None)
        return outputs

    return install


def test_the_first_port_is_taken_but_not_the_loopback(systems):
    outputs = systems(API_LINUX_ALSA=["Midi Through:Port-0 14:0", "Synth:in 128:0"])
    assert ports.list_ports() == ["Synth:in 128:0", "Midi Through:Port-0 14:0"]
    port = ports.open_port(None)
    assert (port.name, outputs["API_LINUX_ALSA"].opened) == ("Synth:in 128:0", 1)
    port.send(b"\x90\x3c\x40")
    assert outputs["API_LINUX_ALSA"].sent == [b"\x90\x3c\x40"]


def test_a_port_is_found_by_part_of_its_name_in_any_system(systems):
    outputs = systems(API_LINUX_ALSA=["Synth:in 128:0"], API_UNIX_JACK=["Sampler:midi"])
    assert ports.open_port("sampler").name == "Sampler:midi"
    assert outputs["API_UNIX_JACK"].opened == 0
    assert outputs["API_LINUX_ALSA"].opened is None


def test_one_system_that_is_not_there_does_not_hide_the_other(systems):
    systems(API_UNIX_JACK=["Sampler:midi"])
    assert ports.list_ports() == ["Sampler:midi"]


def test_a_name_that_is_not_there_is_said_with_those_that_are(systems):
    systems(API_LINUX_ALSA=["Synth:in 128:0"])
    with pytest.raises(SoundError, match=r"no port 'organ' among: Synth:in 128:0"):
        ports.open_port("organ")


def test_no_port_no_system_and_no_library_are_told_apart(systems, monkeypatch):
    systems(API_LINUX_ALSA=[])
    with pytest.raises(SoundError, match=r"^no MIDI port$"):
        ports.open_port(None)
    systems()
    with pytest.raises(SoundError, match=r"^no MIDI system here$"):
        ports.open_port(None)
    assert ports.list_ports() == []
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    with pytest.raises(SoundError, match="no MIDI library"):
        ports.open_port(None)


def test_a_virtual_port_is_made_and_never_said_to_be_gone(systems):
    outputs = systems(API_LINUX_ALSA=[])
    port = ports.open_port("practice", virtual=True)
    assert outputs["API_LINUX_ALSA"].opened == "practice"
    assert port.is_there()


def test_a_port_that_is_no_longer_listed_is_gone(systems):
    outputs = systems(API_LINUX_ALSA=["Synth:in 128:0"])
    port = ports.open_port(None)
    assert port.is_there()
    outputs["API_LINUX_ALSA"].listed = []
    assert not port.is_there()
