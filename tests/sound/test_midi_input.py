"""Notes from a MIDI keyboard through a real port: step by step, in double stops, to a tapped rhythm."""

from __future__ import annotations

import time

import pytest

from tabterm.errors import SoundError
from tabterm.sound.midi_input import MidiInput
from tabterm.workspace.commands import rhythm
from tests.build import music
from tests.typist import Typist

G3, D4, A4, E5 = 55, 62, 69, 76
"""The open courses of a mandolin, as MIDI note numbers."""


@pytest.fixture
def keyboard(jack):
    """A function that plays notes on a port connected to the editor's, and an editor that listens."""
    import rtmidi

    typist = Typist(music("1 | 1"))
    typist.run("midi-input", "virtual")
    assert typist.said == ["writing notes from tabterm-input:in"]
    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, "keyboard")
    deadline = time.monotonic() + 20
    while not (found := [n for n, name in enumerate(out.get_ports()) if "tabterm-input" in name]):
        assert time.monotonic() < deadline
        time.sleep(0.02)
    out.open_port(found[0])

    def play(*notes):
        """Each note by itself, those of a list together; waits until they have been written."""
        for chord in (each if isinstance(each, list) else [each] for each in notes):
            for note in chord:
                out.send_message([0x90, note, 90])
                typist.waiting.get(timeout=20)()
            for note in chord:
                out.send_message([0x80, note, 0])
            time.sleep(0.05)
        return typist

    yield play
    typist.run("midi-input", "off")
    out.close_port()
    out.delete()


def test_each_note_is_a_step_on_the_course_of_the_cursor_or_the_nearest(keyboard):
    typist = keyboard(E5, E5 + 2, A4 + 3, D4)
    assert typist.text == "8 1.0, 8 1.2, 8 2.3, 8 3.0, 2 | 1"
    typist.press("q", "a")
    assert keyboard(A4 + 9).text == "8 1.0, 8 1.2, 8 2.3, 8 3.0, 4 1.2, 4 | 1"
    assert keyboard(G3 - 5).troubles == ["D3 is not on this Mandolin"]


def test_notes_held_together_are_a_double_stop(keyboard):
    assert keyboard([A4 + 2, E5], [D4, A4 + 4], A4).text == "8 1.0 2.2, 8 2.4 3.0, 8 3.7, 8, 2 | 1"


def test_pitches_are_played_to_a_tapped_rhythm(keyboard, monkeypatch):
    clock = iter([0, 0.6, 0.9, 1.2])
    monkeypatch.setattr(rhythm, "monotonic", lambda: next(clock))
    keyboard().press(*"$$$$")
    assert keyboard(A4, A4 + 2, A4 + 3).text == "4 2.0, 8 2.2, 8 2.3, 2 | 1"


def test_a_port_that_is_not_there_is_named(jack):
    with pytest.raises(SoundError, match="no MIDI input"):
        MidiInput("no such keyboard", lambda *_: None)
