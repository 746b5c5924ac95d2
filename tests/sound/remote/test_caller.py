"""What waits before a thin line."""

from __future__ import annotations

from tabterm.sound.link import Frame
from tabterm.sound.remote.shipping import IN_FLIGHT_BYTES, Waiting


def sent(*words):
    """The numbers of what goes out, one at a time, when so much has been ordered while the line is full."""
    waiting = Waiting()
    waiting.add(0, Frame("play", {}, bytes(IN_FLIGHT_BYTES)))
    assert len(waiting.due()) == 1
    for number, word in enumerate(words, 1):
        waiting.add(number, Frame(word, {"number": number}, bytes(IN_FLIGHT_BYTES)))
        assert waiting.due() == []
    numbers, before = [], 0
    while True:
        waiting.taken(before)
        frames = waiting.due()
        if not frames:
            return numbers
        assert len(frames) == 1
        before = frames[0].values["number"]
        numbers.append(before)


def test_of_changes_only_the_last_goes_out():
    """The tempo key held down makes thirty a second."""
    assert sent(*["change"] * 300) == [300]
    assert sent("change", "then", "change", "then") == [2, 3, 4]


def test_what_is_played_at_once_takes_the_place_of_all():
    assert sent("change", "then", "play", "then", "change") == [3, 4, 5]
