"""MIDI files built by mido alone, and what is heard of a score."""

from __future__ import annotations

import io
from fractions import Fraction

import mido

from tabterm.score.source import Tone


def sounding(music, note):
    """MIDI note number of a note of a score or of a line."""
    return note.pitch if isinstance(note, Tone) else music.head.instrument.pitch(note.course, note.fret)


def heard(built):
    """Onset in quarters, length and MIDI note number of every note, ties joined."""
    found, at, going = [], Fraction(0), {}
    for measure in built.measures:
        for event in measure.events:
            now = {}
            for note in event.notes:
                pitch = sounding(built, note)
                if note.tied and note.spot in going:
                    index = going[note.spot]
                    found[index] = (found[index][0], found[index][1] + event.length, pitch)
                else:
                    index = len(found)
                    found.append((at, event.length, pitch))
                now[note.spot] = index
            going = now
            at += event.length
    return sorted(found)


def file_of(notes, *, division=480, metre=(4, 4), tempo=500_000, key=None, channel=0, name=""):
    """A file with one tempo, metre and key; notes as (start, length, pitch) in quarters."""
    events = [
        *([(0, "track_name", {"name": name})] if name else []),
        (0, "set_tempo", {"tempo": tempo}),
        (0, "time_signature", {"numerator": metre[0], "denominator": metre[1]}),
        *([(0, "key_signature", {"key": key})] if key else []),
    ]
    return mapped(notes, events, division=division, channel=channel)


def mapped(notes, events, division=480, channel=0):
    """A file with meta events as (start, name, fields)."""
    timed = [(round(at * division), 0, mido.MetaMessage(name, **fields)) for at, name, fields in events]
    for start, length, pitch in notes:
        on = mido.Message("note_on", note=pitch, velocity=80, channel=channel)
        off = mido.Message("note_off", note=pitch, velocity=0, channel=channel)
        timed += [(round(start * division), 2, on), (round((start + length) * division), 1, off)]
    track, before = mido.MidiTrack(), 0
    for ticks, _, message in sorted(timed, key=lambda each: each[:2]):
        track.append(message.copy(time=ticks - before))
        before = ticks
    file = mido.MidiFile(type=1, ticks_per_beat=division)
    file.tracks.append(track)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def steps(pitches, length=Fraction(1, 2), start=Fraction(0)):
    return [(start + length * number, length, pitch) for number, pitch in enumerate(pitches)]


SCALE = [55, 57, 59, 60, 62, 64, 66, 67, 69, 71, 72, 74, 76, 78, 79, 78]
