"""Hypothesis strategies shared by all tests: valid scores, and sequences of operations on them."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.instrument import PRESETS
from tabterm.score import operations as do
from tabterm.score.duration import Duration, Tuplet
from tabterm.score.key import MODE_FIFTHS, Key
from tabterm.score.kinds import Barline, BendShape, Break, Direction, Reached, Stroke, StrokeSchool
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Head, HeardChord, Measure, Note, Score, Swing
from tabterm.score.operations.spelling import spell
from tabterm.score.place import Place, Span
from tabterm.score.profile import HandProfile, Speeds
from tabterm.score.source import Bend, Marks, Proposed, SourceEvent, Tone
from tabterm.score.tempo import Tempo

METRES = [
    Metre.parse(text) for text in ("4/4", "3/4", "2/4", "6/8", "9/8", "12/8", "5/4", "7/8", "C|", "7/8(3+2+2)")
]
CHORDS = ["G", "C", "D7", "Am", "F#m7b5", "Bb", "N.C.", "G/B"]
hands = st.builds(
    HandProfile,
    span_mm=st.sampled_from([120.0, 143.0, 160.5]),
    weak=st.lists(st.integers(1, 4), max_size=4).map(tuple),
    speeds=st.builds(Speeds, fingers_12=st.sampled_from([8.0, 6.5]), strokes=st.floats(1, 25)),
)
words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), max_size=12)
fingers = st.none() | st.integers(0, 4)
durations = st.builds(
    Duration,
    st.sampled_from([1, 2, 4, 8, 16, 32]),
    st.integers(0, 2),
    st.none() | st.sampled_from([Tuplet(3, 2), Tuplet(5, 4), Tuplet(6, 4), Tuplet(7, 4)]),
)


def notes(course: st.SearchStrategy[int]) -> st.SearchStrategy[Note]:
    """Struck notes: plain ones, and ones of every shade."""
    frets = st.integers(0, 20)
    shaded = st.builds(
        Note,
        course=course,
        fret=frets,
        finger=fingers,
        proposed_finger=fingers,
        bend=st.none() | st.builds(Bend, cents=st.integers(5, 400), shape=st.sampled_from(BendShape)),
        slide_in=st.none() | st.sampled_from(Direction),
        slide_out=st.none() | st.sampled_from(Direction),
        muted=st.booleans(),
        course_set=st.booleans(),
        ring=st.booleans(),
        vibrato=st.booleans(),
    )
    return st.builds(Note, course=course, fret=frets) | shaded


marks_of_events = st.just({}) | st.fixed_dictionaries(
    {
        "stroke": st.none() | st.sampled_from(Stroke),
        "proposed_stroke": st.none() | st.sampled_from([Stroke.DOWN, Stroke.UP]),
        "tremolo": st.booleans(),
        "proposed_tremolo": st.booleans(),
        "accent": st.booleans(),
        "staccato": st.booleans(),
        "damp": st.booleans(),
        "roll": st.none() | st.sampled_from(Direction),
        "grace": st.lists(notes(st.integers(1, 4)), max_size=2).map(tuple),
    }
)


@st.composite
def events(draw: st.DrawFn, duration: Duration, before: Event | None) -> Event:
    """A rest, note or double stop of a duration; tied or slurred only where that has a partner."""
    chosen = []
    for course in sorted(draw(st.lists(st.integers(1, 4), unique=True, max_size=3))):
        note = draw(notes(st.just(course)))
        partner = before.on_course(course) if before else None
        how = draw(st.integers(0, 3))
        if how == 1 and partner is not None and not partner.muted:
            note = note.with_(fret=partner.fret, tied=True, muted=False)
        elif how == 2 and before is not None and not before.is_rest:
            note = note.with_(reached=draw(st.sampled_from([Reached.HAMMER, Reached.PULL, Reached.SLIDE])))
        chosen.append(note)
    if not chosen:
        return Event(duration=duration)
    return Event(duration=duration, notes=tuple(chosen), **draw(marks_of_events))


@st.composite
def filled(draw: st.DrawFn, length: Fraction, metre: Metre, before: Event | None) -> list[Event]:
    """Events that fill a length."""
    result: list[Event] = []
    at = Fraction(0)
    while at < length:
        duration = draw(durations)
        fits = at + duration.length <= length
        for piece in [duration] if fits else spell(at, length - at, metre):
            before = draw(events(piece, before))
            result.append(before)
            at += piece.length
    return result


keys = st.builds(
    Key, st.sampled_from("ABCDEFG"), st.sampled_from([-1, 0, 1]), st.sampled_from(sorted(MODE_FIFTHS))
)
tempos = st.builds(
    Tempo,
    st.integers(10, 400).map(float),
    st.sampled_from([Duration.parse(text) for text in ("2", "4", "4.", "8")]),
)
marks_of_measures = st.just({}) | st.fixed_dictionaries(
    {
        "key": st.none() | keys,
        "tempo": st.none() | tempos,
        "barline": st.sampled_from(Barline),
        "repeat_start": st.booleans(),
        "repeat_times": st.sampled_from([0, 0, 2, 3]),
        "endings": st.sets(st.integers(1, 3), max_size=2).map(sorted).map(tuple),
        "school": st.none() | st.sampled_from(StrokeSchool),
        "section": st.just("") | words,
        "remark": st.just("") | words,
        "break_before": st.none() | st.sampled_from(Break),
    }
)


@st.composite
def chord_marks(draw: st.DrawFn, length: Fraction) -> tuple[ChordMark, ...]:
    """Chord symbols on the first moments of a measure."""
    moments = [Fraction(0), Fraction(1, 2), Fraction(1)]
    offsets = draw(st.sets(st.sampled_from([at for at in moments if at < length]), max_size=2))
    return tuple(ChordMark(offset=at, symbol=draw(st.sampled_from(CHORDS))) for at in sorted(offsets))


@st.composite
def heard_chords(draw: st.DrawFn, length: Fraction) -> tuple[HeardChord, ...]:
    """Chords that are only proposed, mostly none."""
    marks = draw(st.just(()) | chord_marks(length))
    return tuple(
        HeardChord(offset=mark.offset, symbol=mark.symbol, sure=draw(st.integers(0, 100))) for mark in marks
    )


def tones(pitches: st.SearchStrategy[int], how: st.SearchStrategy[Reached]) -> st.SearchStrategy[Tone]:
    """Notes of an original line, plain ones and ones with marks."""
    directions = st.none() | st.sampled_from(Direction)
    shaded = st.builds(
        Tone,
        pitch=pitches,
        reached=how,
        bend=st.none() | st.builds(Bend, cents=st.integers(5, 400), shape=st.sampled_from(BendShape)),
        slide_in=directions,
        slide_out=directions,
        muted=st.booleans(),
        ring=st.booleans(),
        vibrato=st.booleans(),
    )
    return st.builds(Tone, pitch=pitches) | shaded


@st.composite
def sources(draw: st.DrawFn, length: Fraction, metre: Metre) -> tuple[SourceEvent, ...]:
    """No source line, or one that fills a measure."""
    if not draw(st.booleans()):
        return ()
    middle = length / 2
    parts = [*spell(Fraction(0), middle, metre), *spell(middle, length - middle, metre)]
    pitches = [tuple(draw(st.lists(st.integers(40, 90), max_size=2))) for _ in parts]
    return tuple(
        draw(proposed_sources(SourceEvent.of(part, each, [pitch for pitch in each if draw(st.booleans())])))
        for part, each in zip(parts, pitches, strict=True)
    )


@st.composite
def proposed_sources(draw: st.DrawFn, plain: SourceEvent) -> SourceEvent:
    """A moment of a source line with marks, or with pitches that are not confirmed, or with neither."""
    begun = [pitch for pitch in dict.fromkeys(plain.pitches) if not plain.holds(pitch)]
    if not begun or draw(st.booleans()):
        return draw(marked_sources(plain))
    others = draw(st.lists(st.integers(40, 90), max_size=3).map(tuple))
    return plain.with_(
        proposed=tuple(Proposed(pitch=pitch, sure=draw(st.integers(0, 100)), others=others) for pitch in begun)
    )


@st.composite
def marked_sources(draw: st.DrawFn, plain: SourceEvent) -> SourceEvent:
    """A moment of a source line with or without marks."""
    if len(set(plain.pitches)) < max(len(plain.pitches), 1) or draw(st.booleans()):
        return plain
    drawn = [
        draw(tones(st.just(pitch), st.just(Reached.STRUCK) if plain.holds(pitch) else st.sampled_from(Reached)))
        for pitch in plain.pitches
    ]
    marked = tuple(tone for tone in drawn if tone != Tone(pitch=tone.pitch))
    graces = st.lists(tones(st.integers(40, 90), st.sampled_from(Reached)), max_size=2).map(tuple)
    of_moment = {
        name: draw(marks_of_events).get(name, False) for name in ("tremolo", "accent", "staccato", "damp")
    }
    marks = Marks(notes=marked, grace=draw(st.just(()) | graces), **of_moment)
    return plain if marks == Marks() else plain.with_(marks=marks)


@st.composite
def scores(draw: st.DrawFn, max_measures: int = 5) -> Score:
    """Valid scores with everything the model knows."""
    metre = draw(st.sampled_from(METRES))
    first_metre, measures, before = metre, [], None
    for index in range(draw(st.integers(1, max_measures))):
        change = draw(st.none() | st.none() | st.sampled_from(METRES)) if index else None
        metre = change or metre
        short = draw(st.sampled_from([True, False] if index == 0 else [True, False, False, False]))
        length = metre.length - draw(st.sampled_from([Fraction(1, 2), Fraction(1)])) if short else metre.length
        chosen = draw(filled(length, metre, before))
        before = chosen[-1]
        measures.append(
            Measure(
                events=tuple(chosen),
                short=short,
                metre=change,
                chords=draw(chord_marks(length)),
                heard_chords=draw(heard_chords(length)),
                source=draw(sources(length, metre)),
                **draw(marks_of_measures),
            )
        )
    head = Head(
        title=draw(words),
        foreword=draw(words),
        credits=tuple(draw(st.lists(words.filter(bool), max_size=2))),
        metre=first_metre,
        key=draw(keys),
        tempo=draw(tempos),
        swing=draw(st.none() | st.builds(Swing, unit=st.sampled_from([8, 16]), long=st.integers(1, 9))),
        school=draw(st.sampled_from(StrokeSchool)),
        hand=draw(st.none() | hands),
    )
    return Score(head=head, measures=tuple(measures))


@st.composite
def places(draw: st.DrawFn, score: Score, *, end: bool = True) -> Place:
    """A place on the eighth grid, an onset, or (with `end`) the one after the last measure."""
    index = draw(st.integers(0, len(score.measures) - (0 if end else 1)))
    if index == len(score.measures):
        return Place(index)
    measure = score.measures[index]
    offsets = [Fraction(n, 2) for n in range(8) if Fraction(n, 2) < measure.length] + list(measure.onsets)
    return Place(index, draw(st.sampled_from(offsets)))


@st.composite
def spans(draw: st.DrawFn, score: Score) -> Span:
    """A span between two places, never empty."""
    start = draw(places(score, end=False))
    other = draw(places(score))
    return Span(start, other) if other > start else Span(start, Place(start.measure + 1))


@st.composite
def operations(draw: st.DrawFn, score: Score) -> Score:
    """The score after one operation drawn from all of them; itself when the operation refuses."""
    place, span, index = (
        draw(places(score)),
        draw(spans(score)),
        draw(st.integers(0, len(score.measures) - 1)),
    )
    course, flag = draw(st.integers(1, 4)), draw(st.booleans())
    value = draw(durations)
    note = Note(course=course, fret=draw(st.integers(0, 22)), reached=draw(st.sampled_from(Reached)))
    choices = {
        "write": lambda: do.write(score, place, value, (note.with_(reached=Reached.STRUCK),) if flag else ()),
        "put_note": lambda: do.put_note(score, place, note, value),
        "write_notes": lambda: do.write_notes(score, place, (note,), value, (note,) * draw(st.integers(0, 1))),
        "write_again": lambda: do.write_again(score, place, span.start, draw(st.integers(-1, 1))),
        "hold": lambda: do.hold(score, place, value),
        "remove_note": lambda: do.remove_note(score, place, course),
        "erase": lambda: do.erase(score, span),
        "insert_time": lambda: do.insert_time(score, span, Place(span.start.measure + 1)),
        "delete_time": lambda: do.delete_time(score, span, Place(span.start.measure + 1)),
        "push_all": lambda: do.push_all(score, span),
        "pull_all": lambda: do.pull_all(score, span),
        "swap_measures": lambda: do.swap_measures(score, index, 1, chords=flag),
        "set_duration": lambda: do.set_duration(score, place, value),
        "set_dots": lambda: do.set_dots(score, place, draw(st.integers(0, 2))),
        "make_tuplet": lambda: do.make_tuplet(
            score, place, Tuplet(draw(st.integers(2, 9)), draw(st.integers(1, 8)))
        ),
        "set_values": lambda: do.set_values(score, index, draw(st.sampled_from(["8", "4 8 8", "8t", "r4 4"]))),
        "toggle_tie": lambda: do.toggle_tie(score, place),
        "split": lambda: do.split(score, place),
        "join": lambda: do.join(score, place),
        "set_finger": lambda: do.set_finger(score, place, course, draw(fingers)),
        "set_reached": lambda: do.set_reached(score, place, course, draw(st.sampled_from(Reached))),
        "set_bend": lambda: do.set_bend(score, place, course, Bend(cents=50)),
        "set_slide_in": lambda: do.set_slide_in(score, place, course, Direction.UP),
        "set_slide_out": lambda: do.set_slide_out(score, place, course, Direction.DOWN),
        "set_course_held": lambda: do.set_course_held(score, place, course, flag),
        "set_muted": lambda: do.set_muted(score, place, course, flag),
        "set_ring": lambda: do.set_ring(score, place, course, flag),
        "set_vibrato": lambda: do.set_vibrato(score, place, course, flag),
        "set_accent": lambda: do.set_accent(score, place, flag),
        "set_staccato": lambda: do.set_staccato(score, place, flag),
        "set_damp": lambda: do.set_damp(score, place, flag),
        "set_tremolo": lambda: do.set_tremolo(score, place, flag),
        "set_roll": lambda: do.set_roll(score, place, Direction.UP),
        "set_stroke": lambda: do.set_stroke(score, place, Stroke.UP),
        "add_grace": lambda: do.add_grace(score, place, note.with_(reached=Reached.STRUCK)),
        "clear_grace": lambda: do.clear_grace(score, place),
        "drop_heard": lambda: do.drop_heard(score, list(do.pending(score, span))),
        "take_heard": lambda: do.take_heard(score, score, list(do.pending(score, span))),
        "change_heard": lambda: do.change_heard(score, place, draw(st.integers(40, 90))),
        "set_heard_chords": lambda: do.set_heard_chords(
            score, span, {place: ("Am7", 61)} if place in span else {}
        ),
        "take_chords": lambda: do.take_chords(score, list(do.pending_chords(score, span))),
        "drop_chords": lambda: do.drop_chords(score, list(do.pending_chords(score, span))),
        "set_heard": lambda: do.set_heard(
            score, {index: draw(sources(score.measures[index].length, score.metres[index]))}
        ),
        "set_chord": lambda: do.set_chord(score, place, draw(st.none() | st.sampled_from(CHORDS))),
        "insert_measures": lambda: do.insert_measures(score, index, 2),
        "delete_measures": lambda: do.delete_measures(score, index, min(index + 1, len(score.measures) - 1)),
        "replace_measures": lambda: do.replace_measures(score, index, 1, score.measures[:2]),
        "set_metre": lambda: do.set_metre(score, index, draw(st.sampled_from(METRES))),
        "scale_tempos": lambda: do.scale_tempos(score, draw(st.sampled_from([0.5, 1.1]))),
        "tempos_of": lambda: do.tempos_of(score, do.scale_tempos(score, 0.9)),
        "set_key": lambda: do.set_key(score, index, draw(keys)),
        "set_tempo": lambda: do.set_tempo(score, index, draw(tempos)),
        "set_pickup": lambda: do.set_pickup(score, draw(st.sampled_from([None, Fraction(1), Fraction(3, 2)]))),
        "set_repeat_start": lambda: do.set_repeat_start(score, index, flag),
        "set_repeat_times": lambda: do.set_repeat_times(score, index, 2 if flag else 0),
        "set_endings": lambda: do.set_endings(score, index, index, (1, 2) if flag else ()),
        "set_barline": lambda: do.set_barline(score, index, Barline.DOUBLE),
        "set_section": lambda: do.set_section(score, index, "A" if flag else ""),
        "set_break": lambda: do.set_break(score, index, Break.PAGE if flag else None),
        "set_remark": lambda: do.set_remark(score, index, "slow here" if flag else ""),
        "move_course": lambda: do.move_course(score, span, -1 if flag else 1),
        "move_slur": lambda: do.move_slur(score, place, -1 if flag else 1, course),
        "transpose": lambda: do.transpose(score, span, draw(st.integers(-4, 4))),
        "transpose_to_key": lambda: do.transpose_to_key(score, draw(keys)),
        "paste": lambda: do.paste(score, place, do.copy(score, span), 2 if flag else 1, chords=flag),
        "cut": lambda: do.cut(score, span)[0],
        "set_instrument": lambda: do.set_instrument(score, PRESETS["tenor-banjo" if flag else "mandola"]),
        "set_title": lambda: do.set_title(score, "Kiln Lane"),
        "set_foreword": lambda: do.set_foreword(score, "Listen first." if flag else ""),
        "set_credits": lambda: do.set_credits(score, ("typed by hand",)),
        "set_swing": lambda: do.set_swing(score, Swing() if flag else None),
        "set_school": lambda: do.set_school(score, draw(st.sampled_from(StrokeSchool))),
        "set_school_of": lambda: do.set_school_of(
            score, index, draw(st.integers(index, len(score.measures) - 1)), draw(st.sampled_from(StrokeSchool))
        ),
        "section_round": lambda: do.set_school_of(score, *do.section_round(score, index), StrokeSchool.GLIDE),
        "set_hand": lambda: do.set_hand(score, HandProfile(span_mm=130)),
    }
    try:
        return choices[draw(st.sampled_from(sorted(choices)))]()
    except ScoreError:
        return score
