"""What the ear hears in a recording as proposals in the measures that it is tied to; nothing of it is set."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate
from typing import TYPE_CHECKING

from tabterm.formats.smf.bars import MidiBeats
from tabterm.formats.smf.grid import USUAL, Grid, fit
from tabterm.piece.piece import cut_out
from tabterm.score.duration import EIGHTH
from tabterm.score.kinds import Reached
from tabterm.score.line import Bar, Moment
from tabterm.score.model import Event
from tabterm.score.operations import insert_measures, set_pickup
from tabterm.score.operations.barring import Barring, Stretch, over_bars
from tabterm.score.place import lead_in
from tabterm.score.source import Bend, Marks, Proposed, SourceEvent, Tone

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from pathlib import Path

    from tabterm.hand.player import Player
    from tabterm.instrument import Instrument
    from tabterm.recording.beats import Beats
    from tabterm.recording.ear import HeardNote
    from tabterm.recording.timemap import Timeline
    from tabterm.score.metre import Metre
    from tabterm.score.model import Score
    from tabterm.score.place import Place, Span

SOUNDING_PART = 0.6
"""A note that sounds for this part of the time to the next one lasts up to it (common practice, no source)."""

STRAY_PART = 0.2
"""So many of the notes may lie outside the neck and still be taken for mistakes of the ear; tuned here."""

PICKUP_GAP = Fraction(5, 4)
"""Quarters from note to note at most within a pickup, and from its last one to the bar line; tuned here."""

EARLY = Fraction(1, 16)
"""Quarters by which a note may come before its measure and still belong to it; tuned here."""


def beats_of(
    path: Path,
    start_s: float,
    end_s: float,
    metre: Metre,
    *,
    bpm: float | None = None,
    taps: Sequence[float] = (),
) -> Beats:
    """The beats of a part of a recording, in its seconds.

    Args:
        path: The recording.
        start_s: Where the part begins.
        end_s: Where it ends.
        metre: What its measures are in.
        bpm: Beats a minute, where they are known.
        taps: Seconds of beats that were tapped, the first of which begins a measure.

    Raises:
        FormatError: It is damaged there.
        StorageError: It is gone.
    """
    from tabterm.recording.audio import Recording
    from tabterm.recording.listening import Listening

    return Listening.to(Recording.opened(path), start_s, end_s).beats(metre, bpm=bpm, taps_s=taps)


def tuning_of(path: Path, start_s: float, end_s: float) -> float | None:
    """Cents that a part of a recording is tuned above A4 = 440 Hz, as it seems; None of silence.

    Raises:
        FormatError: It is damaged there.
        StorageError: It is gone.
    """
    from tabterm.recording.audio import Recording
    from tabterm.recording.spectra import RATE_HZ
    from tabterm.recording.tuning import cents_off

    return cents_off(Recording.opened(path).mono(start_s, end_s, RATE_HZ))


def heard_in(
    path: Path,
    start_s: float,
    end_s: float,
    progress: Callable[[float], bool] | None = None,
    *,
    cents: float | None = None,
) -> tuple[HeardNote, ...]:
    """The notes of a part of a recording, in its seconds.

    Args:
        path: The recording.
        start_s: Where the part begins.
        end_s: Where it ends.
        progress: Told the share done; it stops the work by answering False.
        cents: How much higher than A4 = 440 Hz it is tuned; None: as it seems to be.

    Raises:
        FormatError: It is damaged there.
        StorageError: It is gone.
    """
    from tabterm.recording.audio import Recording
    from tabterm.recording.listening import Listening

    return Listening.to(Recording.opened(path), start_s, end_s, cents=cents).notes(progress)


def chords_in(
    path: Path, line: Timeline, span: Span, *, cents: float | None = None
) -> dict[Place, tuple[str, int]]:
    """Where the chords of the band change in a span, as far as one is heard: symbol, and how sure in percent.

    Raises:
        FormatError: The recording is damaged there.
        StorageError: It is gone.
    """
    from tabterm.piece import backing
    from tabterm.recording.audio import Recording
    from tabterm.recording.beats import Beats
    from tabterm.recording.listening import Listening

    score, beats = line.score, list(line.beats(span))
    start_s, end_s = line.seconds(span)
    firsts = [number for number, (_, _, begins) in enumerate(beats) if begins]
    moments = (*(at_s for _, at_s, _ in beats), end_s)
    found = Beats(moments, firsts[0] if firsts else 0, score.metres[span.start.measure])
    told = Listening.to(Recording.opened(path), start_s, end_s, cents=cents).chords(
        found, score.keys[span.start.measure]
    )
    if not backing.is_heard(told):
        return {}
    return {
        beats[first][0]: (symbol, round(100 * sure))
        for first, symbol, sure in backing.held(told)
        if first < len(beats)
    }


def as_played(tone: Tone, note: HeardNote, before: Sequence[int]) -> Tone:
    """A note of a line in the way that it was heard to be played, behind pitches or (none of them) a rest."""
    bend = Bend(cents=note.bend_cents) if note.bend_cents else None
    if not before or note.way == "struck":
        return tone.with_(bend=bend)
    reached = Reached.HAMMER if tone.pitch > max(before) else Reached.PULL
    return tone.with_(bend=bend, reached=Reached.SLIDE if note.way == "slid" else reached)


def sources_of(
    notes: Sequence[HeardNote], line: Timeline, first: int, last: int, grid: str = USUAL
) -> dict[int, tuple[SourceEvent, ...]]:
    """Notes in measures as their source line, on the grid; what begins outside them is left out.

    Args:
        notes: In seconds of the recording.
        line: Where the measures lie in it.
        first: Index of the first measure.
        last: Index of the last measure.
        grid: Note values that onsets are put on, such as `16+8t`.

    Raises:
        FormatError: No such grid.
    """
    score = line.score
    begins = [Fraction(0)]
    for measure in score.measures[first : last + 1]:
        begins.append(begins[-1] + measure.length)
    metres = [(at - lead_in(score, index), score.metres[index]) for index, at in enumerate(begins[:-1], first)]
    beats = MidiBeats(metres)
    onsets = {note: _quarters(line, note.onset_s, first) for note in notes}
    inside = {note: onset for note, onset in onsets.items() if -EARLY <= onset < begins[-1] - EARLY}
    fitted = fit(inside.values(), beats, Grid.parse(grid))
    groups: dict[Fraction, list[HeardNote]] = {}
    for note, onset in inside.items():
        groups.setdefault(max(fitted.places[onset], Fraction(0)), []).append(note)
    stretches, places = [], sorted(at for at in groups if at < begins[-1])
    for number, at in enumerate(places):
        room = (places[number + 1] if number + 1 < len(places) else begins[-1]) - at
        sounds = max(_quarters(line, note.end_s, first) for note in groups[at]) - float(at)
        parts = fitted.parts.get(beats.at(float(at)), 2)
        step = beats.at(float(at)).length / max(parts, 2)
        own = max(round(sounds / float(step)), 1) * step
        length = room if sounds >= SOUNDING_PART * float(room) else min(own, room)
        tones = tuple(Tone(pitch=pitch) for pitch in sorted({note.pitch for note in groups[at]}, reverse=True))
        stretches.append(Stretch(at, length, Moment(duration=EIGHTH, notes=tones)))
    barring = Barring(Moment, Bar)
    lengths = [measure.length for measure in score.measures[first : last + 1]]
    bars = zip(over_bars(stretches, lengths), lengths, range(first, last + 1), strict=True)
    for there, length, index in bars:
        barring.add(there, length, score.metres[index])
    sources: dict[int, tuple[SourceEvent, ...]] = {}
    before: tuple[int, ...] = ()
    for index, bar, at in zip(range(first, last + 1), barring.measures, begins, strict=False):
        sources[index] = _proposed(bar, at, groups, before)
        before = bar.source[-1].pitches
    return sources


def pickup_of(notes: Iterable[HeardNote], line: Timeline) -> Fraction:
    """Quarters of the pickup that notes before the first bar line make, to an eighth; 0 where there is none."""
    begins, length = 0.0, float(line.score.measures[0].length)
    for onset in sorted((line.quarters_at(note.onset_s) for note in notes), reverse=True):
        if onset >= -EARLY:
            continue
        if begins - onset > PICKUP_GAP or -onset > length - 1 / 2 + EARLY:
            break
        begins = onset
    return max(Fraction(round(-2 * begins), 2), Fraction(1, 2)) if begins else Fraction(0)


def led_in(line: Timeline, pickup: Fraction) -> Timeline:
    """The same moments on a score that has a pickup in front."""
    score = with_pickup(line.score, pickup)
    lines = tuple(accumulate((measure.length for measure in score.measures), initial=Fraction(0)))
    return replace(line, score=score, lines=lines, quarters=tuple(at + float(pickup) for at in line.quarters))


def with_pickup(score: Score, pickup: Fraction) -> Score:
    """A score with a pickup of so many quarters in front of all."""
    return set_pickup(insert_measures(score, 0), pickup)


def _quarters(line: Timeline, moment_s: float, first: int) -> float:
    """Quarters from the start of a measure to a moment of the recording."""
    return line.quarters_at(moment_s) - float(line.lines[first])


def _proposed(
    bar: Bar, at: Fraction, groups: Mapping[Fraction, Sequence[HeardNote]], before: Sequence[int]
) -> tuple[SourceEvent, ...]:
    """A measure of the source line: how sure each note is that begins in it, and how it seems to be played."""
    events = []
    for event in bar.source:
        heard = {note.pitch: note for note in groups.get(at, ()) if not event.tied}
        proposed = tuple(
            Proposed(pitch=pitch, sure=round(100 * min(heard[pitch].sure, 1.0)), others=heard[pitch].others[:3])
            for pitch in event.pitches
            if pitch in heard and not event.holds(pitch)
        )
        played = (as_played(Tone(pitch=each.pitch), heard[each.pitch], before) for each in proposed)
        marked = tuple(tone for tone in played if tone != Tone(pitch=tone.pitch))
        events.append(event.with_(proposed=proposed, marks=Marks(notes=marked) if marked else None))
        before = event.pitches
        at += event.duration.length
    return tuple(events)


def fitted(score: Score, player: Player) -> Score:
    """The score with all that is proposed on courses, with fingers and strokes; all else there is silent.

    Measures in which nothing is proposed stay as they are.
    """
    from tabterm.hand.adapt import adapt
    from tabterm.hand.strokes import with_proposals

    measures, first = list(score.measures), 0
    while first < len(measures):
        last = first
        while last < len(measures) and measures[last].proposes:
            last += 1
        if last > first:
            part = cut_out(score, first, last - 1)
            sources = _within_neck([measure.source for measure in part.measures], part.head.instrument)
            silent = tuple(
                measure.with_(events=tuple(Event(duration=event.duration) for event in source), source=source)
                for measure, source in zip(part.measures, sources, strict=True)
            )
            part = with_proposals(adapt(part.with_(measures=silent), player).score, player)
            measures[first:last] = [
                measure.with_(events=new.events)
                for measure, new in zip(score.measures[first:last], part.measures, strict=True)
            ]
        first = last + 1
    return score.with_(measures=tuple(measures))


def strays(pitches: Iterable[int], instrument: Instrument) -> dict[int, int]:
    """The pitches that a neck has not, such as those of a bass, and what lies octaves nearer; none where many do.

    Fitting would else move the whole for a few of them. Where many lie outside, it is to decide.
    """
    opens, all_of_them = [course.pitch for course in instrument.courses], list(pitches)
    neck = range(min(opens), max(opens) + instrument.frets + 1)
    outside = [pitch for pitch in all_of_them if pitch not in neck]
    if len(outside) > STRAY_PART * len(all_of_them):
        return {}
    return {pitch: _nearest(pitch, neck) for pitch in outside}


def _nearest(pitch: int, neck: range) -> int:
    while pitch < neck.start:
        pitch += 12
    while pitch >= neck.stop:
        pitch -= 12
    return pitch


def _within_neck(sources: list[tuple[SourceEvent, ...]], instrument: Instrument) -> list[tuple[SourceEvent, ...]]:
    """Source lines without their strays."""
    near = strays((pitch for source in sources for event in source for pitch in event.pitches), instrument)

    def nearer(event: SourceEvent) -> SourceEvent:
        moved = sorted({near.get(pitch, pitch) for pitch in event.pitches}, reverse=True)
        held = {near.get(pitch, pitch) for pitch in event.pitches if event.holds(pitch)}
        marks = event.marks.notes if event.marks else ()
        marked = tuple(tone.with_(pitch=near.get(tone.pitch, tone.pitch)) for tone in marks)
        return SourceEvent.of(event.duration, moved, held).with_(marks=Marks(notes=marked) if marked else None)

    return [tuple(map(nearer, source)) for source in sources] if near else sources
