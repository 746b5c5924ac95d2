"""MIDI files built by mido alone, and what is heard of a score."""

from __future__ import annotations

import io
from fractions import Fraction

import mido


def heard(built):
    """Onset in quarters, length and MIDI note number of every note, ties joined."""
    found, at, going = [], Fraction(0), {}
    for measure in built.measures:
        for event in measure.events:
            now = {}
            for note in event.notes:
                pitch = built.head.instrument.pitch(note.course, note.fret)
                if note.tied and note.course in going:
                    index = going[note.course]
                    found[index] = (found[index][0], found[index][1] + event.length, pitch)
                else:
                    index = len(found)
                    found.append((at, event.length, pitch))
                now[note.course] = index
            going = now
            at += event.length
    return sorted(found)


def file_of(notes, *, division=480, metre=(4, 4), tempo=500_000, key=None, channel=0, name="", kind=1):
    """A file built by mido alone: notes as (start, length, pitch) in quarters."""
    track = mido.MidiTrack()
    if name:
        track.append(mido.MetaMessage("track_name", name=name))
    track.append(mido.MetaMessage("set_tempo", tempo=tempo))
    track.append(mido.MetaMessage("time_signature", numerator=metre[0], denominator=metre[1]))
    if key:
        track.append(mido.MetaMessage("key_signature", key=key))
    timed = []
    for start, length, pitch in notes:
        timed.append((round(start * division), 1, pitch))
        timed.append((round((start + length) * division), 0, pitch))
    before = 0
    for ticks, is_on, pitch in sorted(timed):
        kind_ = "note_on" if is_on else "note_off"
        track.append(mido.Message(kind_, note=pitch, velocity=80 * is_on, channel=channel, time=ticks - before))
        before = ticks
    file = mido.MidiFile(type=kind, ticks_per_beat=division)
    file.tracks.append(track)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def steps(pitches, length=Fraction(1, 2), start=Fraction(0)):
    return [(start + length * number, length, pitch) for number, pitch in enumerate(pitches)]


SCALE = [55, 57, 59, 60, 62, 64, 66, 67, 69, 71, 72, 74, 76, 78, 79, 78]
