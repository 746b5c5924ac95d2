"""Commands on what the ear proposes: listened to, gone through, heard against the recording, taken or not."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from tabterm.errors import ScoreError
from tabterm.instrument.model import parse_pitch, pitch_name
from tabterm.page.rows import CHORD, SOURCE
from tabterm.printable import counted
from tabterm.score import operations as do
from tabterm.score.model import Head
from tabterm.score.place import Place, Span
from tabterm.score.query import event_at
from tabterm.workspace.commands.recording import LISTENED_S
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from tabterm.recording.ear import HeardNote
    from tabterm.score.model import Score
    from tabterm.score.source import Proposed, SourceEvent
    from tabterm.workspace.session import Session

SPOT_S, BEFORE_S = 0.7, 0.05
"""Of the recording that is heard at a place beside each pitch; and how much before it."""

CHANGED = "the measures changed while listening; listen again"


@command("propose", "Listen to the selection or the solo and propose its notes", Group.RECORD)
def propose(session: Session) -> None:
    """They appear in the source row with how sure each is, and under it on the neck; nothing of it is set."""
    own = session.recording
    path, line, selected = own.path, own.line, session.here.selection()
    cents = own.kept.tuning_cents if own.kept else None
    last = len(session.score.measures) - 1
    if selected is None:
        start_s, end_s = own.part
        start, end = line.place(start_s), line.place(end_s)
        selected = Span(start, end) if start < end else Span.of_measures(0, last)
    first, behind = selected.start.measure, selected.end.measure + bool(selected.end.offset)
    last = min(max(behind - 1, first), last)
    start_s, end_s = line.seconds(Span.of_measures(first, last))
    if end_s - start_s > LISTENED_S:
        raise ScoreError("too long: ten minutes at most", hint="select fewer measures")
    session.proposals.stops = False
    # A new score is laid from its first downbeat on; what leads into that is heard as well.
    leads = first == 0 and not session.score.measures[0].short
    from_s = max(start_s - leads * (line.at(Place(1)) - start_s), 0.0)
    if leads and own.kept and own.kept.part:
        from_s = max(from_s, min(own.kept.part[0], start_s))

    def job(progress: Callable[[float], None]) -> str:
        from tabterm.piece.proposing import heard_in, led_in, pickup_of, sources_of

        def tell(part: float) -> bool:
            progress(part)
            return not session.proposals.stops

        notes = heard_in(path, from_s, end_s, tell, cents=cents)
        if session.proposals.stops:
            return "stopped listening; nothing proposed"
        pickup = pickup_of(notes, line) if leads else Fraction(0)
        there = led_in(line, pickup) if pickup else line
        sources = sources_of(notes, there, first, last + bool(pickup))
        count = sum(len(event.proposed) for source in sources.values() for event in source)
        if not count:
            return "no notes heard there"
        session.host.soon(lambda: _take_sources(session, line.score, sources, pickup))
        words = _key_words(session, notes)
        return f"{counted(count, 'note')} proposed: enter accepts one, A the measure, Z all{words}"

    session.host.work(job)


def _key_words(session: Session, notes: Sequence[HeardNote]) -> str:
    """The key that the notes seem to be in, for a score without any of its own; 'key' offers it."""
    score = session.score
    is_new = all(event.is_rest for measure in score.measures for event in measure.events)
    if not is_new or score.head.key != Head().key:
        return ""
    from tabterm.harmony.keys import key_of

    found = key_of([(note.pitch, note.end_s - note.onset_s) for note in notes])
    session.proposals.key = found if found != score.head.key else None
    return f"; likely key: {found}" if session.proposals.key else ""


def _take_sources(
    session: Session, asked: Score, sources: dict[int, tuple[SourceEvent, ...]], pickup: Fraction
) -> None:
    """Put what was heard into the score, where its measures are still as they were, with a pickup in front."""
    if _are_others(session.score, asked, range(len(asked.measures) if pickup else max(sources, default=-1) + 1)):
        session.host.say(CHANGED, trouble=True)
        return
    if pickup:
        from tabterm.piece.proposing import with_pickup

        session.edit(with_pickup(session.score, pickup), "add a pickup")
    score = session.score
    session.edit(do.set_heard(score, sources), "propose")
    session.proposals.wonder(session.host.soon)
    replaced = sum(bool(score.measures[index].source) for index in sources)
    if replaced:
        session.document.notices.append(f"replaced the source row in {replaced} measures; undo brings it back")


@command("hear-chords", "Propose the band's chords, as heard in the selection or the solo", Group.RECORD)
def hear_chords(session: Session) -> None:
    """They appear in the chord row with how sure each is; measures in which chords stand get none."""
    own = session.recording
    path, line, cents = own.path, own.line, own.kept.tuning_cents if own.kept else None
    selected = session.here.selection()
    if selected is None:
        start_s, end_s = own.part
        selected = Span(line.place(start_s), line.place(end_s))
    span = Span.of_measures(selected.start.measure, min(selected.end.measure, len(session.score.measures) - 1))

    def job(_progress: Callable[[float], None]) -> str:
        from tabterm.piece.proposing import chords_in

        heard = chords_in(path, line, span, cents=cents)
        if not heard:
            return "no accompaniment heard there"
        free = [place for place in heard if not line.score.measures[place.measure].chords]
        if not free:
            return "these measures already have chords; delete a chord to have one proposed"
        session.host.soon(lambda: _propose_chords(session, line.score, span, heard))
        return f"{counted(len(free), 'chord')} proposed on the chord row: enter accepts one, z the measure, Z all"

    session.host.work(job)


def _propose_chords(session: Session, asked: Score, span: Span, heard: dict[Place, tuple[str, int]]) -> None:
    """Show the chords, where the measures are still those that were listened to."""
    if _are_others(session.score, asked, range(span.start.measure, span.end.measure)):
        session.host.say(CHANGED, trouble=True)
        return
    session.edit(do.set_heard_chords(session.score, span, heard), "propose chords")


def _are_others(score: Score, asked: Score, indices: Iterable[int]) -> bool:
    """Whether some of the measures that were listened to are not as long as they were."""
    return any(
        index >= len(score.measures) or score.measures[index].length != asked.measures[index].length
        for index in indices
    )


@command("see-neck", "See how strongly each fret sounds in the recording, moment by moment", Group.RECORD)
def see_neck(session: Session) -> None:
    """At the cursor where its measures are tied and it does not play; else at the moment of the recording."""
    own = session.recording
    _ = own.path
    if own.tied is not None and session.here.cursor.row is SOURCE:
        own.at_s = own.line.at(session.here.cursor.place)
    session.host.open_panel("neck-heard")


@command("stop-listening", "Stop listening and propose nothing", Group.RECORD)
def stop_listening(session: Session) -> None:
    """What works in the background ends at its next step."""
    session.proposals.stops = True


@command("next-heard", "Go to the next proposed note; on the chord row, the next chord", Group.RECORD)
def next_heard(session: Session) -> None:
    """From the end back to the beginning; says how sure it is, and what else it could be."""
    here, found = session.here.cursor.place, _pending(session)
    if not found:
        raise ScoreError("nothing is proposed yet", hint="'propose' listens for notes, 'hear-chords' for chords")
    _go_to(session, next((place for place in found if place > here), found[0]))


def _on_chords(session: Session) -> bool:
    """Whether commands on what is proposed are about chords: the cursor is on their row."""
    return session.here.cursor.row is CHORD


def _pending(session: Session, span: Span | None = None) -> list[Place]:
    """Where something is proposed of what the row shows: chords, or notes."""
    score = session.score
    return list(do.pending_chords(score, span) if _on_chords(session) else do.pending(score, span))


def _expect(session: Session, places: Sequence[Place]) -> None:
    """Raise ScoreError where something is not proposed that is to be taken or left out."""
    if not places or not set(_pending(session)).issuperset(places):
        raise ScoreError("nothing is proposed here", hint="'next-heard' goes to the next proposal")


def _go_to(session: Session, place: Place) -> None:
    session.here.go(place)
    if _on_chords(session):
        mark = do.pending_chords(session.score)[place]
        session.host.say(f"{mark.symbol}, {mark.sure}% sure")
        return
    session.here.cursor = session.here.cursor.on(SOURCE)
    session.host.say("; ".join(_words(each) for each in do.source_at(session.score, place).proposed))


def _words(each: Proposed) -> str:
    others = " or ".join(map(pitch_name, each.others))
    told = f"{pitch_name(each.pitch)}, {each.sure}% sure"
    return f"{told}; perhaps {others}" if others and each.sure < 100 else told


@command("take-heard", "Accept the proposal here and go on to the next", Group.RECORD)
def take_heard(session: Session) -> None:
    """A note is written as it is shown on the neck; its finger and stroke stay proposals."""
    if _on_chords(session) and not _pending(session):
        from tabterm.workspace.registry import REGISTRY

        session.run(REGISTRY["play-on"])  # what the key does on every row where nothing waits
        return
    _take(session, [session.here.cursor.place])


@command("take-heard-measure", "Accept all proposals in this measure or the selection", Group.RECORD)
def take_heard_measure(session: Session) -> None:
    """One change, undone as one."""
    first, last = session.here.measures()
    _take(session, _pending(session, Span.of_measures(first, last)))


@command("take-all-heard", "Accept all proposed notes; on the chord row, all chords", Group.RECORD)
def take_all_heard(session: Session) -> None:
    """One change, undone as one."""
    _take(session, _pending(session))


def _take(session: Session, places: list[Place]) -> None:
    _expect(session, places)
    if _on_chords(session):
        session.edit(do.take_chords(session.score, places), "accept heard chords")
        words = f"{counted(len(places), 'chord')} accepted"
    else:
        fitted = session.proposals.fitted()
        words = _taken_words(session.score, fitted, places)
        session.edit(do.take_heard(session.score, fitted, places), "accept heard notes")
    after = [place for place in _pending(session) if place > places[-1]]
    if after and len(places) == 1:
        _go_to(session, after[0])
    else:
        session.host.say(words if len(places) > 1 else "accepted")


def _taken_words(score: Score, fitted: Score, places: Sequence[Place]) -> str:
    """How many notes are accepted, and how many of those that were proposed have no place under the hand."""
    asked = sum(len(do.source_at(score, place).proposed) for place in places)
    found = (event_at(fitted, place) for place in places)
    written = sum(len(each[1].notes) for each in found if each)
    lost = f"; {asked - written} left out: one hand cannot hold them all" if written < asked else ""
    return f"{counted(written, 'note')} accepted{lost}"


@command("drop-heard", "Reject the proposal here or those in the selection", Group.RECORD)
def drop_heard(session: Session) -> None:
    """It goes from its row; undo brings it back."""
    selected = session.here.selection()
    places = [session.here.cursor.place] if selected is None else _pending(session, selected)
    _expect(session, places)
    if _on_chords(session):
        session.edit(do.drop_chords(session.score, places), "reject heard chords")
    else:
        session.edit(do.drop_heard(session.score, places), "reject heard notes")
    session.here.anchor = None
    session.proposals.wonder(session.host.soon)


def _candidates(session: Session) -> tuple[str, ...]:
    """The likeliest pitches with where each lies on the neck; they are heard one after another meanwhile."""
    place = session.here.cursor.place
    proposed = do.source_at(session.score, place).proposed[0]
    pitches = (proposed.pitch, *proposed.others[:2])
    instrument = session.score.head.instrument
    letters = instrument.course_letters()
    _hear_candidates(session, place, pitches)
    lines = []
    for pitch in pitches:
        spots = [f"{fret} on {letters[course - 1]}" for course, fret in instrument.places_of(pitch)]
        where = f"fret {' or '.join(spots)}" if spots else "not on this neck"
        lines.append(f"{pitch_name(pitch)}  {where}")
    return tuple(lines)


def _hear_candidates(session: Session, place: Place, pitches: tuple[int, ...]) -> None:
    """The recording at a place and each pitch after it, in turn."""
    from tabterm.performance.model import Part, Passage, Pluck, Record

    own, instrument = session.recording, session.score.head.instrument
    if own.tied is None:
        return
    from_s = max(own.line.at(place) - BEFORE_S, 0.0)
    passages, plucks = [], []
    for number, pitch in enumerate(pitches):
        at_s, spots = number * 2 * SPOT_S, list(instrument.places_of(pitch))
        passages.append(Passage(at_s, from_s, from_s + SPOT_S))
        if spots:
            begin_s = at_s + SPOT_S
            plucks.append(Pluck(Part.SOLO, spots[0][0], pitch, begin_s, begin_s + SPOT_S - 0.1, 90))
    heard = Record(
        own.tied.path,
        own.tied.mark,
        semitones=-own.tied.tuning_cents / 100,
        mix=session.transport.practice.mix,
        passages=tuple(passages),
    )
    session.transport.play_alone(heard, plucks=plucks, instrument=instrument)


@command(
    "other-heard",
    "Compare other pitches for the proposed note with the recording, and choose",
    Group.RECORD,
    asks="pitch",
    choices=_candidates,
)
def other_heard(session: Session, text: str) -> None:
    """Any other pitch may be named; the note stays a proposal until it is taken."""
    session.transport.stop()
    pitch = parse_pitch((text.split() or [""])[0])
    session.edit(do.change_heard(session.score, session.here.cursor.place, pitch), "another pitch")
    session.proposals.wonder(session.host.soon)
