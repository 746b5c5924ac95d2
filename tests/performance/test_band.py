"""The band: chord tones, roots at the changes, silence where there is none to play, and the groove's switch."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError
from tabterm.harmony.chords import QUALITIES, parse_chord
from tabterm.instrument import PRESETS, parse_pitch, pitch_name
from tabterm.performance import ALL_PARTS, Attack, Click, Options, Part, perform
from tabterm.performance.comping import LOWEST, walk
from tabterm.performance.styles import STYLES, pattern_of, proposed_style
from tabterm.score.key import C_MAJOR, Key
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Head, Measure, Score, Swing
from tabterm.score.operations.spelling import spell
from tabterm.score.place import Place, Span
from tabterm.score.tempo import Tempo
from tests.build import measure, score
from tests.performance.bass_lines import LINES
from tests.strategies import METRES, spans
from tests.thorough import many

BAND = frozenset({Part.CHORDS, Part.BASS})
few = settings(max_examples=many(25, 60), deadline=None)


def chorded(text, symbols, **fields):
    """A measure with chords written as `0 G, 2 D7`: offset and symbol."""
    marks = [each.split() for each in symbols.split(",")]
    return measure(text, chords=tuple(ChordMark(offset=at, symbol=symbol) for at, symbol in marks), **fields)


def played(built, part=None, **options):
    """What the band plays: (seconds, pitch name, seconds it lasts), in order."""
    parts = BAND if part is None else {part}
    performance = perform(built, options=Options(parts=frozenset(parts), **options))
    return [(round(p.start_s, 3), pitch_name(p.pitch), round(p.end_s - p.start_s, 3)) for p in performance.plucks]


def onsets(built, part, **options):
    return sorted({time_s for time_s, *_ in played(built, part, groove=False, **options)})


def bass(built, **options):
    return [(time_s, name) for time_s, name, _ in played(built, Part.BASS, groove=False, **options)]


AT_60 = {"tempo": Tempo(60.0), "key": Key.parse("G")}
FOUR = score(chorded("1 1.0", "0 G"), "1 1.0", chorded("1 1.0", "0 C"), chorded("1 1.0", "0 G, 2 D7"), **AT_60)


def test_bass_on_the_beat_and_chop_between():
    options = {"style": "bass-and-chop"}
    assert onsets(FOUR, Part.CHORDS, **options) == [1, 3, 5, 7, 9, 11, 13, 15]
    assert {length for *_, length in played(FOUR, Part.CHORDS, groove=False, **options)} == {0.1}
    assert bass(FOUR, **options) == [
        *[(0, "G2"), (2, "D3"), (4, "G2"), (6, "D3"), (8, "C3"), (10, "G2"), (12, "G2"), (14, "D3")],
    ]


def test_a_waltz_alternates_from_measure_to_measure_and_a_jig_strums_up_and_down():
    waltz = score(chorded("2. 1.0", "0 G"), "2. 1.0", "2. 1.0", metre="3/4", **AT_60)
    assert bass(waltz) == [(0, "G2"), (3, "D3"), (6, "G2")]
    assert onsets(waltz, Part.CHORDS) == [1, 2, 4, 5, 7, 8]
    jig = score(chorded("2. 1.0", "0 G"), metre="6/8", tempo=Tempo.parse("1/8=60"))
    assert bass(jig) == [(0, "G2"), (3, "D3")]
    plucks = perform(jig, options=Options(parts=frozenset({Part.CHORDS}), groove=False)).plucks
    assert sorted({(p.start_s, p.attack) for p in plucks}) == [
        *[(1, Attack.UP), (2, Attack.DOWN), (4, Attack.UP), (5, Attack.DOWN)],
    ]


@pytest.mark.parametrize(
    ("metre", "swing", "style"),
    [
        *[("3/4", None, "waltz"), ("6/8", None, "jig"), ("9/8", Swing(), "jig"), ("4/4", None, "bass-and-chop")],
        *[("4/4", Swing(), "swing-four"), ("C|", None, "bass-and-chop"), ("7/8", None, "bass-and-chop")],
    ],
)
def test_the_style_that_metre_and_swing_propose(metre, swing, style):
    assert proposed_style(Metre.parse(metre), swing) == style


def test_the_proposal_follows_a_change_of_metre():
    built = score(
        chorded("1 1.0", "0 G"), measure("2. 1.0", metre=Metre.parse("3/4")), metre="4/4", tempo=Tempo(60.0)
    )
    assert onsets(built, Part.CHORDS) == [1, 3, 5, 6]


def test_an_unknown_style_is_refused_with_the_list():
    with pytest.raises(ScoreError, match="no style 'polka'") as refused:
        perform(FOUR, options=Options(style="polka"))
    assert "bass-and-chop" in refused.value.hint


def test_silence_before_the_first_chord_under_no_chord_and_under_what_is_not_understood():
    built = score(
        "1 1.0", chorded("1 1.0", "2 G"), chorded("1 1.0", "0 N.C."), chorded("1 1.0", "0 G7wat"), **AT_60
    )
    options = {"style": "plain-chords"}
    assert played(built, Part.BASS, groove=False, **options) == [(6, "G2", 2)]
    assert onsets(built, Part.CHORDS, **options) == [6]
    assert max(p.end_s for p in perform(built, options=Options(parts=BAND, **options)).plucks) == 8


def test_the_band_waits_in_the_pickup_unless_a_chord_stands_there():
    def first(pickup):
        return bass(score(pickup, chorded("1 1.0", "0 G"), **AT_60), style="bass-and-chop")[0]

    assert first(measure("4 1.0", short=True)) == (1, "G2")
    assert first(chorded("4 1.0", "0 D7", short=True)) == (0, "D3")


def test_the_second_time_the_band_goes_on_through_the_pickup():
    built = score(
        measure("4 1.0", short=True), chorded("2. 1.0", "0 G", short=True, repeat_times=2), tempo=Tempo(60.0)
    )
    assert [time_s for time_s, _ in bass(built, style="plain-chords")] == [1, 4, 5]


def test_a_repeat_without_a_symbol_has_the_chord_written_before_it():
    built = score(
        chorded("1 1.0", "0 C"),
        measure("1 1.0", repeat_start=True),
        chorded("1 1.0", "0 G", repeat_times=2),
        **AT_60,
    )
    assert [name for _, name in bass(built, style="plain-chords")] == ["C3", "C3", "G2", "C3", "G2"]


def test_a_selection_from_mid_measure_takes_the_chord_in_force_and_the_band_enters_at_once():
    span = Span(Place(3, Fraction(3)), Place(4))
    plucks = perform(FOUR, span=span, options=Options(parts=BAND, groove=False, style="plain-chords")).plucks
    assert {p.start_s for p in plucks} == {0}
    assert [pitch_name(p.pitch) for p in plucks if p.part is Part.BASS] == ["D3"]
    assert {p.end_s for p in plucks} == {1}


def test_the_bass_of_a_symbol_comes_before_its_root():
    built = score(chorded("1 1.0", "0 D7/F#"), **AT_60)
    assert bass(built, style="bass-and-chop") == [(0, "F#3"), (2, "D3")]


def test_a_change_off_the_pattern_is_struck_where_something_sounds():
    built = score(chorded("1 1.0", "0 G, 3/2 C"), **AT_60)
    assert bass(built, style="bass-and-chop") == [(0, "G2"), (1.5, "C3"), (2, "G2")]
    assert onsets(built, Part.CHORDS, style="bass-and-chop") == [1, 3]
    assert onsets(built, Part.CHORDS, style="plain-chords") == [0, 1.5]


@pytest.mark.parametrize(
    ("start", "end", "key", "notes"),
    [
        ("G1", "C2", "G", "A1 B1"),
        ("C2", "G1", "G", "B1 A1"),
        ("D2", "G1", "G", "B1 A1"),
        ("E2", "A1", "A", "C#2 B1"),
        ("C2", "D2", "C", "C2 C#2"),  # between two notes a whole tone apart lies the semitone (studybass.com)
        ("E2", "G1", "G", "B1 A1"),
        ("G1", "A#1", "G", "G#1 A1"),
        ("B1", "C2", "C", "B1 C#2"),
    ],
)
def test_walks(start, end, key, notes):
    found = walk(parse_pitch(start), parse_pitch(end), 2, Key.parse(key))
    assert [pitch_name(pitch) for pitch in found] == notes.split()


@given(st.integers(31, 42), st.integers(31, 42), st.integers(1, 4), st.sampled_from("CDEFGAB"))
def test_a_walk_stays_between_its_ends_and_arrives_by_a_step(start, end, count, key):
    notes = walk(start, end, count, Key(key)) if start != end else []
    assert len(notes) == (count if start != end else 0)
    assert all(min(start, end) - 1 <= pitch <= max(start, end) + 1 for pitch in notes)
    if notes:
        assert 1 <= abs(end - notes[-1]) <= 2
        assert end not in notes


@pytest.mark.parametrize(
    ("tune", "wanted"),
    [("1 1.0", "G2 G2 G#2"), ("2. 1.0,4 1.0", "G2 D3"), ("2 1.0,2 1.0", "G2 D3"), ("4 1.0,2. 1.0", "G2 G2 G#2")],
)
def test_a_tune_that_moves_over_a_walk_has_no_semitones_under_it(tune, wanted):
    """The walk is on the third and fourth quarter; from G to A there is nothing but G sharp between."""
    built = score(chorded("1 1.0", "0 G"), *["1 1.0"] * 2, tune, chorded("1 1.0", "0 A"), **AT_60)
    line = [(at, name) for at, name in bass(built, style="bass-and-chop") if 12 <= at < 16]
    assert " ".join(name for _, name in line) == wanted


def test_drones_are_bare_fifths_and_the_programs_are_the_styles():
    performance = perform(FOUR, options=Options(parts=BAND, style="drone"))
    heard = {(p.pitch - root) % 12 for p in performance.plucks if p.start_s < 8 for root in (7,)}
    assert heard == {0, 7}
    assert (bytes((0xCA, 48)), bytes((0xCB, 43))) == performance.setup[-2:]  # strings 49, contrabass 44 of GM 1
    banjo = score(chorded("1 1.0", "0 G"), instrument=PRESETS["tenor-banjo"])
    assert bytes((0xCA, 105)) in perform(banjo, options=Options(parts=BAND)).setup


def test_only_who_is_asked_for_is_heard_and_the_solo_is_as_without_a_band():
    alone, together = perform(FOUR), perform(FOUR, options=Options(parts=ALL_PARTS))
    assert {p.part for p in alone.plucks} == {Part.SOLO}
    assert [p for p in together.plucks if p.part is Part.SOLO] == list(alone.plucks)
    assert {p.part for p in perform(FOUR, options=Options(parts=frozenset({Part.BASS}))).plucks} == {Part.BASS}


def test_the_groove_moves_and_accents_and_its_switch_is_exact():
    style = {"style": "swing-four"}
    straight = perform(FOUR, options=Options(parts=BAND, groove=False, **style)).plucks
    leaning = perform(FOUR, options=Options(parts=BAND, **style)).plucks
    chords = [p for p in straight if p.part is Part.CHORDS]
    assert {p.start_s for p in chords} == {float(n) for n in range(16)}
    assert len({p.velocity for p in chords}) == 1
    louder = {round(p.start_s) % 4 for p in leaning if p.part is Part.CHORDS and p.velocity > chords[0].velocity}
    assert louder == {1, 3}
    assert [p.pitch for p in sorted(leaning)] == [p.pitch for p in sorted(straight)]
    late = [p.start_s - round(p.start_s) for p in leaning if p.part is Part.CHORDS]
    assert 0 < max(late) < 0.05


def test_a_chop_is_one_stroke_from_the_lowest_course_up():
    """Up to about 30 ms after another a sound is heard as one with it (H. Haas 1951, Acustica 1; from memory).
    All courses of a stroke sound within that time."""
    plucks = perform(FOUR, options=Options(parts=frozenset({Part.CHORDS}), style="bass-and-chop")).plucks
    strokes = [sorted(p for p in plucks if abs(p.start_s - beat) < 0.5) for beat in range(1, 16, 2)]
    assert sum(map(len, strokes)) == len(plucks)
    for stroke in strokes:
        in_turn = sorted(stroke, key=lambda each: each.start_s)
        assert [each.course for each in in_turn] == sorted((each.course for each in stroke), reverse=True)
        assert all(one.start_s < other.start_s for one, other in pairwise(in_turn))
        assert in_turn[-1].start_s - in_turn[0].start_s < 0.03
        assert len({each.end_s for each in stroke}) == 1
    assert {len(stroke) for stroke in strokes} <= {3, 4}


SIGNS = {"bass": set("R53Aw="), "chords": set("xdurlmh.="), "accents": set(">.")}


@pytest.mark.parametrize("name", STYLES)
@pytest.mark.parametrize("metre", [*METRES, Metre.parse("3/8"), Metre.parse("4/4(1+3)"), Metre.parse("11/16")])
def test_every_style_has_a_pattern_for_every_metre(name, metre):
    pattern = pattern_of(name, metre)
    for line, known in ((pattern.bass, "bass"), (pattern.walk, "bass"), (pattern.chords, "chords")):
        assert set(line) <= SIGNS[known]
        assert not line or line[0] != "="
    assert set(pattern.accents) <= SIGNS["accents"]
    assert pattern.bass
    assert "w" not in pattern.bass
    assert pattern.walk.rstrip("w=") != pattern.walk or not pattern.walk
    beats = {beat / metre.length for beat in metre.beats}
    steps = [Fraction(n, len(pattern.bass)) for n, sign in enumerate(pattern.bass) if sign != "="]
    if metre.groups:
        assert set(steps) >= beats or len(steps) == 1 or 4 in metre.groups


symbols = st.builds(
    lambda root, names, over: root + names[0] + over,
    st.sampled_from(["C", "D", "Eb", "F#", "G", "A", "Bb"]),
    st.sampled_from(sorted(QUALITIES)),
    st.sampled_from(["", "", "", "/E", "/G"]),
)


@st.composite
def songs(draw):
    """Whole measures of random metres with random chords, some of them none."""
    metre = draw(st.sampled_from(METRES))
    first, measures = metre, []
    for _ in range(draw(st.integers(1, 5))):
        change = draw(st.none() | st.none() | st.sampled_from(METRES))
        metre = change or metre
        events = tuple(Event(duration=each) for each in spell(Fraction(0), metre.length, metre))
        places = (Fraction(0), Fraction(1), Fraction(3, 2), Fraction(31, 32), Fraction(63, 64))
        offsets = draw(st.sets(st.sampled_from(places), max_size=3))
        marks = [
            ChordMark(offset=at, symbol=draw(symbols | st.just("N.C.")))
            for at in sorted(offsets)
            if at < metre.length
        ]
        repeats = {"repeat_start": draw(st.booleans()), "repeat_times": draw(st.sampled_from([0, 0, 2]))}
        tempo = draw(st.none() | st.integers(20, 300).map(float).map(Tempo))
        measures.append(Measure(events=events, metre=change, chords=tuple(marks), tempo=tempo, **repeats))
    head = Head(metre=first, key=C_MAJOR, swing=draw(st.none() | st.just(Swing())))
    return Score(head=head, measures=tuple(measures))


def sounding_at(performance, built, time_s):
    """The chord in force at a moment, found from the score by itself; None for silence.

    Where none is written before a repeated measure, the one goes on that was played before it.
    """
    number = max(n for n, m in enumerate(performance.measures) if m.start_s <= time_s + 1e-9)
    bar = performance.measures[number]
    marks = [(index, mark) for index in range(bar.index + 1) for mark in built.measures[index].chords]
    begun = [mark.symbol for index, mark in marks if index < bar.index or bar.at(mark.offset) <= time_s + 1e-9]
    if not begun:
        return sounding_at(performance, built, bar.start_s - 1e-6) if number else None
    chord = parse_chord(begun[-1])
    return chord if chord.root is not None else None


@few
@given(st.data(), songs(), st.none() | st.sampled_from(sorted(STYLES)))
def test_chord_tones_only_and_the_bass_on_the_root_at_every_change(data, built, style):
    span = data.draw(st.none() | spans(built))
    performance = perform(built, span=span, options=Options(parts=BAND, style=style, groove=False))
    heard: dict[float, set[int]] = {}
    for pluck in performance.plucks:
        chord = sounding_at(performance, built, pluck.start_s)
        if pluck.part is Part.CHORDS:
            assert chord is not None
            assert (pluck.pitch - chord.root) % 12 in chord.intervals
        else:
            assert LOWEST <= pluck.pitch < 60
            heard.setdefault(pluck.start_s, set()).add(pluck.pitch % 12)
    before = None
    for bar in performance.measures:
        changes = {bar.low, *(mark.offset for mark in built.measures[bar.index].chords)}
        for offset in sorted(offset for offset in changes if bar.low <= offset < bar.high):
            chord = sounding_at(performance, built, bar.at(offset))
            if chord is not None and chord != before:
                assert heard[bar.at(offset)] == {chord.bass}
            before = chord


@few
@given(songs(), st.none() | st.sampled_from(sorted(STYLES)), st.booleans(), st.integers(0, 2))
def test_nothing_before_the_music_beyond_its_end_or_twice_at_once(built, style, groove, count_in):
    performance = perform(built, options=Options(200, count_in, parts=BAND, style=style, groove=groove))
    last: dict[tuple[Part, int], float] = {}
    for pluck in sorted(performance.plucks, key=lambda each: each.start_s):
        if pluck.part is Part.CLICK:
            continue
        assert performance.lead_s <= pluck.start_s < pluck.end_s <= performance.duration_s
        assert last.get((pluck.part, pluck.pitch), 0.0) <= pluck.start_s
        last[pluck.part, pluck.pitch] = pluck.end_s
        assert 1 <= pluck.velocity <= 127


def test_a_chord_that_the_groove_would_begin_later_than_it_ends_is_left_out():
    """The up-stroke of a jig lies behind its beat, the down-stroke after it before; between them is no time."""
    jig = score(chorded("2. 1.0", "0 G, 63/64 C"), metre="6/8", tempo=Tempo(300.0))
    plucks = perform(jig, options=Options(200, parts=frozenset({Part.CHORDS}), style="jig")).plucks
    assert plucks
    assert all(pluck.start_s < pluck.end_s for pluck in plucks)


@few
@given(songs(), st.sampled_from(sorted(STYLES)))
def test_without_the_groove_every_note_lies_on_a_step_or_a_change(built, style):
    performance = perform(built, options=Options(parts=BAND, style=style, groove=False))
    grid: set[float] = set()
    for bar in performance.measures:
        pattern = pattern_of(style, bar.metre)
        lines = filter(None, (pattern.bass, pattern.chords, pattern.walk))
        grid |= {bar.at(n * bar.metre.length / len(line)) for line in lines for n in range(len(line))}
        grid |= {bar.at(mark.offset) for mark in built.measures[bar.index].chords}
    assert {pluck.start_s for pluck in performance.plucks} <= grid


def test_a_click_and_a_band_do_not_move_each_other():
    both = perform(FOUR, options=Options(parts=BAND, click=Click.BEATS))
    band = perform(FOUR, options=Options(parts=BAND))
    assert [p for p in both.plucks if p.part is not Part.CLICK] == list(band.plucks)
    assert all(a.time_s <= b.time_s for a, b in pairwise(both.messages))


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.style} {line.metre} {line.tune[:1]}")
def test_the_bass_plays_what_a_teacher_would(line):
    text = ",".join(f"{value} 1.0" for value in line.tune.split())
    bars = [chorded(text, f"0 {symbol}") for symbol in line.chords.split()]
    built = score(*bars, metre=line.metre, tempo=Tempo(60.0), key=Key.parse(line.key))
    options = Options(parts=frozenset({Part.BASS}), style=line.style, groove=False)
    performance = perform(built, options=options)
    heard = [
        " ".join(pitch_name(p.pitch) for p in performance.plucks if each.start_s <= p.start_s < each.end_s)
        for each in performance.measures
    ]
    assert " | ".join(heard) == line.bass


@pytest.mark.parametrize("style", sorted(STYLES))
@pytest.mark.parametrize("tune", ["1 1.0", "8 1.3,8 1.5,8 1.7,8 1.5,4 1.3,4 1.8", "2 2.7,2 1.3"])
def test_chords_stay_below_a_tune_on_the_highest_course(style, tune):
    """Common practice, no source: who accompanies leaves the top to the tune."""
    symbols = ("G", "C", "D7", "Am", "F", "Bb", "E7", "F#m", "Bm7b5", "Ebmaj7")
    built = score(*(chorded(tune, f"0 {symbol}") for symbol in symbols), tempo=Tempo(60.0))
    performance = perform(built, options=Options(parts=ALL_PARTS, style=style, groove=False))
    lowest = min(p.pitch for p in performance.plucks if p.part is Part.SOLO)
    assert max(p.pitch for p in performance.plucks if p.part is Part.CHORDS) <= lowest


@pytest.mark.parametrize(
    ("style", "instrument", "wanted"),
    [
        ("waltz", "mandolin", "G2 D3 B3 G4"),  # the ringing shape 0-0-2-3, an octave lower
        ("waltz", "octave-mandolin", "G2 D3 B3 G4"),  # as stopped: an octave lower is below a guitar's E2
        ("plain-chords", "mandolin", "G3 D4 B4 G5"),  # on the instrument of the score
    ],
)
def test_another_instrument_plays_an_octave_lower_where_it_has_the_range(style, instrument, wanted):
    built = score(chorded("1 1.12", "0 G"), instrument=PRESETS[instrument], **AT_60)
    first = [name for _, name, _ in played(built, Part.CHORDS, style=style, groove=False)][:4]
    assert sorted(first, key=parse_pitch) == wanted.split()


def test_where_no_shape_is_below_the_tune_the_lowest_are_taken():
    built = score(*(chorded("1 4.0", f"0 {symbol}") for symbol in ("G", "D", "A7")), tempo=Tempo(60.0))
    plucks = perform(built, options=Options(parts=frozenset({Part.CHORDS}), style="bass-and-chop")).plucks
    assert plucks
    assert max(pluck.pitch for pluck in plucks) <= parse_pitch("D5")


def velocities(**levels):
    """The velocities of each part at some levels, from the attacks; the MIDI messages have them too."""
    wanted = tuple((Part(part), level) for part, level in levels.items())
    performance = perform(FOUR, options=Options(parts=ALL_PARTS, click=Click.BEATS, groove=False, levels=wanted))
    found = {part: [pluck.velocity for pluck in performance.plucks if pluck.part is part] for part in Part}
    struck = [message.data[2] for message in performance.messages if message.data[0] & 0xF0 == 0x90]
    assert sorted(struck) == sorted(each for part in found.values() for each in part)
    return found


def test_each_part_is_as_loud_as_its_level():
    full, half = velocities(), velocities(solo=50, click=0)
    assert half[Part.SOLO] == [round(each / 2) for each in full[Part.SOLO]]
    assert half[Part.CLICK] == []
    assert half[Part.BASS] == full[Part.BASS]
    assert half[Part.CHORDS] == full[Part.CHORDS]
    assert max(velocities(chords=140)[Part.CHORDS]) <= 127


@pytest.mark.parametrize(("tune", "is_busy"), [("8 " * 6, False), ("16 " * 12, True)])
def test_chords_leave_room_for_a_busy_phrase(tune, is_busy):
    """Softer, and without their up-strokes; without the groove as loud as ever."""
    music = ",".join(f"{value} 1.0" for value in tune.split())
    built, plain = (score(chorded(each, "0 G"), tempo=Tempo(100.0), metre="6/8") for each in (music, "2. 1.0"))

    def chords(of, **more):
        options = Options(parts=frozenset({Part.CHORDS}), style="jig", **more)
        return [(each.velocity, each.attack) for each in perform(of, options=options).plucks]

    loud, here = chords(plain), chords(built)
    assert (Attack.UP in {attack for _, attack in here}) == (not is_busy)
    assert (max(here)[0] < max(loud)[0]) == is_busy
    assert chords(built, groove=False) == chords(plain, groove=False)
