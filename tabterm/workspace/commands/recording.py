"""Commands on the recording: opened, heard, its beats found or tapped, its bar lines pulled."""

from __future__ import annotations

import itertools
import re
from contextlib import suppress
from statistics import median
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError, SoundError
from tabterm.piece.practice import RECORDS
from tabterm.printable import counted
from tabterm.score import operations as do
from tabterm.score.place import Place, Span, display_number, measure_index
from tabterm.score.tempo import Tempo
from tabterm.storage.names import file_named
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tabterm.recording.beats import Beats
    from tabterm.workspace.session import Session

AUDIO = (".wav", ".flac", ".ogg", ".mp3", ".aif", ".aiff")
"""Endings of files that are offered."""

HEARD_WORDS = {
    "tab": "hearing the tab",
    "record": "hearing the recording",
    "both": "recording left, tab right",
}

LISTENED_S = 600.0
"""Of a recording that is played, or listened to, at once."""

FEWEST_TAPS = 4
"""From which on a tempo can be told."""

OWN_USE = "Own use only, unless you have the rights. Start low, above all on headphones."


def _send_ahead(session: Session) -> None:
    """Have the part that will be played at the listener before it is: the solo, else what the measures lie in."""
    from tabterm.performance.model import Passage, Record

    own = session.recording
    kept, (start_s, end_s) = own.kept, own.part
    if kept is None:
        return
    if kept.part is None and kept.time_map is not None:
        start_s, end_s = own.line.seconds(Span.of_measures(0, len(session.score.measures) - 1))
    start_s = max(start_s, 0.0)
    passage = Passage(0.0, start_s, min(end_s, start_s + LISTENED_S))
    with suppress(SoundError):  # it is said where it is played
        session.transport.send_ahead(Record(str(own.path), kept.fingerprint, passages=(passage,)))


# Opening and hearing


@command(
    "record",
    "Open a recording for this score",
    Group.RECORD,
    asks="recording",
    choices=lambda session: _beside(session.document.path.parent),
    suggests=lambda session: session.recording.name or next(iter(_beside(session.document.path.parent)), ""),
)
def record(session: Session, name: str) -> None:
    """It is tied to the score beside it, and never written to."""
    session.recording.open(session.document.path.parent / file_named(name))
    session.recording.at_s = session.recording.part[0]
    _send_ahead(session)
    session.host.open_panel("recording")
    session.host.say(OWN_USE)


@command("recording", "Show the recording with its bar lines", Group.RECORD)
def recording(session: Session) -> None:
    """Its panel; without a recording, ask for one."""
    from tabterm.workspace.registry import REGISTRY

    if session.recording.kept is None:
        session.run(REGISTRY["record"])
        return
    _ = session.recording.path
    _send_ahead(session)
    session.host.open_panel("recording")


@command("hear-record", "Hear the tab, the recording, or both: recording left, tab right", Group.RECORD)
def hear_record(session: Session) -> None:
    """What plays goes over at the next beat."""
    _ = session.recording.time_map
    now = session.transport.practice.record
    chosen = RECORDS[(RECORDS.index(now) + 1) % len(RECORDS)]
    session.transport.set(record=chosen)
    _send_ahead(session)
    session.host.say(HEARD_WORDS[chosen])


@command("listen", "Play the recording alone from the moment shown, or stop", Group.RECORD)
def listen(session: Session) -> None:
    """Whether its measures are known or not; the page follows where they are."""
    from tabterm.performance.model import Mark, Passage, Record
    from tabterm.piece.takes import SLOWEST_RECORD

    transport, own = session.transport, session.recording
    if transport.playing:
        transport.stop()
        return
    part, kept = own.part, own.kept
    from_s = own.at_s if own.at_s < part[1] - 0.05 else part[0]
    to_s = min(part[1] if from_s < part[1] else from_s + LISTENED_S, from_s + LISTENED_S)
    speed = max(transport.practice.tempo_percent, SLOWEST_RECORD) / 100
    semitones = transport.practice.semitones - (kept.tuning_cents or 0.0 if kept else 0.0) / 100
    marks = []
    if kept is not None and kept.time_map is not None:
        whole = Span.of_measures(0, len(session.score.measures) - 1)
        beats = [(place, at_s) for place, at_s, _ in own.line.beats(whole) if from_s <= at_s < to_s]
        marks = [Mark((at_s - from_s) / speed, place) for place, at_s in beats]
    transport.play_alone(
        Record(
            str(own.path),
            kept.fingerprint if kept else "",
            speed,
            semitones,
            mix=transport.practice.mix,
            passages=(Passage(0.0, from_s, to_s),),
        ),
        marks=marks,
    )


# The solo in it


@command("solo-start", "Mark the start of the solo at the moment shown", Group.RECORD)
def solo_start(session: Session) -> None:
    """Only the solo is listened to."""
    at_s, (_, end_s) = session.recording.at_s, session.recording.part
    session.recording.change(part=(at_s, end_s if end_s > at_s else _length_s(session)))
    session.host.say(f"the solo begins at {at_s:.2f} s")


@command("solo-end", "Mark the end of the solo at the moment shown", Group.RECORD)
def solo_end(session: Session) -> None:
    """Only the solo is listened to."""
    at_s, (start_s, _) = session.recording.at_s, session.recording.part
    session.recording.change(part=(start_s if start_s < at_s else 0.0, at_s))
    _send_ahead(session)
    session.host.say(f"the solo ends at {at_s:.2f} s")


# Beats


@command("tap-beat", "Tap a beat while the recording plays; the first tap starts a measure", Group.RECORD)
def tap_beat(session: Session) -> None:
    """Tapping anew after two seconds, or backwards, begins again."""
    own, at_s = session.recording, session.transport.heard_s()
    if at_s is None:
        raise ScoreError("the recording is not playing", hint="play it, and tap on every beat")
    goes_on = own.taps and 0 < at_s - own.taps[-1] < 2.0
    own.taps = (*own.taps, at_s) if goes_on else (at_s,)
    if len(own.taps) >= FEWEST_TAPS:
        session.host.say(f"{len(own.taps)} beats tapped, {_tapped_bpm(own.taps):.0f} a minute")


@command(
    "find-beats",
    "Find the beats of the solo, from your taps or a tempo",
    Group.RECORD,
    asks="beats a minute (empty: from your taps or the sound)",
)
def find_beats(session: Session, text: str) -> None:
    """They are shown as a proposal, to be taken with accept-beats."""
    own = session.recording
    taps, (start_s, end_s) = own.taps, own.part
    bpm = number_of(text, "beats a minute") if text.strip() else None
    path, metre = own.path, session.score.metres[_first_tied(session)]
    if end_s - start_s > LISTENED_S:
        raise ScoreError("too long: ten minutes at most", hint="mark where the solo begins and ends")

    def job(progress: Callable[[float], None]) -> str:
        from tabterm.piece.proposing import beats_of

        progress(0.0)
        beats = beats_of(path, start_s, end_s, metre, bpm=bpm, taps=taps if len(taps) > 1 else ())
        session.host.soon(lambda: _propose_beats(session, beats))
        return f"{_beats_words(beats)}; f12, then Enter, accepts them"

    session.host.work(job)


@command("beats-half", "Keep every other beat found", Group.RECORD)
def beats_half(session: Session) -> None:
    """Where twice too many were found."""
    _propose_beats(session, _found(session).halved())


@command("beats-double", "Add a beat between every two found", Group.RECORD)
def beats_double(session: Session) -> None:
    """Where half of them were found."""
    _propose_beats(session, _found(session).doubled())


@command("first-beat", "Start a measure at the beat nearest the moment shown", Group.RECORD)
def first_beat(session: Session) -> None:
    """The first whole one of the score."""
    _propose_beats(session, _found(session).beginning_at(session.recording.at_s))


def _found(session: Session) -> Beats:
    if session.recording.beats is None:
        raise ScoreError("no beats found yet", hint="the command 'find-beats' looks for them")
    return session.recording.beats


def _beats_words(beats: Beats) -> str:
    return f"{beats.bpm:.0f} beats a minute, a measure begins at {beats.moments_s[beats.first]:.2f} s"


@command("beats-as-tapped", "Accept the beats as tapped", Group.RECORD)
def beats_as_tapped(session: Session) -> None:
    """The player's own; what is found later leaves them alone."""
    from tabterm.recording.beats import Beats

    taps = session.recording.taps
    if len(taps) < FEWEST_TAPS:
        raise ScoreError(
            f"only {counted(len(taps), 'beat')} tapped", hint=f"tap at least {FEWEST_TAPS} while it plays"
        )
    _propose_beats(session, Beats(taps, 0, session.score.metres[_first_tied(session)]), held=True)
    accept_beats(session)


def _propose_beats(session: Session, beats: Beats, *, held: bool = False) -> None:
    """Show beats as a proposal; bar lines that the player has set stay."""
    from tabterm.recording.timemap import of_beats

    index, kept = _first_tied(session), session.recording.kept
    _lengthen(session, beats, index)
    found = of_beats(beats, session.score, measure=index, held=held)
    own = kept.time_map if kept and not held else None
    session.recording.beats = beats
    session.recording.proposed = found if own is None else own.proposed(found)
    session.host.say(_beats_words(beats))


def _lengthen(session: Session, beats: Beats, index: int) -> None:
    """Add measures of rest for the beats that go on behind the score; a score without a note takes their tempo."""
    score, metre = session.score, beats.metre
    a_measure = len(metre.beats)
    wanted = index + -(-(len(beats.moments_s) - beats.first) // a_measure)
    if wanted > len(score.measures):
        score = do.insert_measures(score, len(score.measures), wanted - len(score.measures))
    if all(event.is_rest for measure in score.measures for event in measure.events):
        quarters = float(metre.length) / a_measure
        score = do.set_tempo(score, 0, Tempo(round(beats.bpm * quarters)))
    session.rework(score, "measures for the recording", quiet=True)


@command("accept-beats", "Accept the beats found", Group.RECORD)
def accept_beats(session: Session) -> None:
    """From now on the measures can be heard from the recording."""
    own = session.recording
    if own.proposed is None:
        raise ScoreError("no beats found yet", hint="the command 'find-beats' looks for them")
    own.change(time_map=own.proposed)
    own.proposed, own.beats, own.taps = None, None, ()
    _send_ahead(session)
    session.host.say("the measures are tied to the recording")


@command(
    "bar-here",
    "Move a measure's bar line to the moment shown; with + all later ones too",
    Group.RECORD,
    asks="measure (with + all later ones too)",
    suggests=lambda session: str(display_number(session.score, _nearest(session))),
)
def bar_here(session: Session, text: str) -> None:
    """It is held there: beats found later leave it alone."""
    match = re.match(r"^(\d{1,6})\s*(\+?)$", text.strip())
    index = None if match is None else measure_index(session.score, int(match.group(1)))
    if match is None or index is None:
        raise ScoreError(f"not a measure: '{text:.20}'", hint="type a number, then + to move the later ones too")
    own = session.recording
    place = Place(index)
    kept = own.kept
    if kept is not None and kept.time_map is None:
        from tabterm.recording.timemap import Anchor, TimeMap

        own.change(time_map=TimeMap(anchors=(Anchor(measure=index, at_s=own.at_s, held=True),)))
    else:
        moved = own.time_map.pulled(session.score, place, own.at_s, rest_follows=bool(match.group(2)))
        own.change(time_map=moved)
    session.host.say(f"measure {match.group(1)} begins at {own.at_s:.2f} s")


@command("undo-bars", "Undo the last change to the bar lines in the recording", Group.RECORD)
def undo_bars(session: Session) -> None:
    """The music has an undo of its own."""
    session.recording.undo()
    session.host.say("undone: the last change to the bar lines")


def _nearest(session: Session) -> int:
    """Index of the measure whose bar line is nearest to the moment shown, or of the cursor's."""
    kept = session.recording.kept
    if kept is None or kept.time_map is None:
        return session.here.measures()[0]
    place = session.recording.line.place(session.recording.at_s)
    half = session.score.measures[min(place.measure, len(session.score.measures) - 1)].length / 2
    return min(place.measure + (place.offset > half), len(session.score.measures) - 1)


def _first_tied(session: Session) -> int:
    """Index of the measure that the first beat begins: the first whole one."""
    return int(session.score.measures[0].short and len(session.score.measures) > 1)


def _tapped_bpm(taps: tuple[float, ...]) -> float:
    return 60.0 / median(later - earlier for earlier, later in itertools.pairwise(taps))


def _length_s(session: Session) -> float:
    from tabterm.recording.audio import Recording

    return Recording.opened(session.recording.path).length_s


def number_of(text: str, what: str) -> float:
    """A number that was typed; raises ScoreError for what is none."""
    try:
        return float(text)
    except ValueError:
        raise ScoreError(f"not a number of {what}: '{text:.20}'", hint="type digits, such as 3 or -0.5") from None


def _beside(folder: Path) -> tuple[str, ...]:
    """The recordings in a folder."""
    try:
        found = [path.name for path in folder.iterdir() if path.suffix.lower() in AUDIO]
    except OSError:
        found = []
    return tuple(sorted(found))
