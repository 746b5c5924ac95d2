"""The band: chords and bass for the chord symbols of a score, in a style, on the time line of a performance."""

from __future__ import annotations

from itertools import groupby, pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.harmony.chords import chord_of, symbols_at_starts
from tabterm.performance.comping import BassLine, comping, lower_by, phrase_ends, root_of, walk
from tabterm.performance.midi import program_message
from tabterm.performance.model import Attack, Options, Part, Pluck
from tabterm.performance.sounds import ROLL_S, STAGGER_S
from tabterm.performance.styles import STYLES, Lean, Style, pattern_of, proposed_style, style_named

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from tabterm.harmony.chords import Chord
    from tabterm.harmony.voicings import Voicing
    from tabterm.performance.styles import Pattern
    from tabterm.performance.timing import PlayedMeasure
    from tabterm.score.model import Score

#: MIDI velocity; tuned here
LEVELS = {
    **dict.fromkeys("RA", 74),
    **dict.fromkeys("5w", 68),
    **dict.fromkeys("xdr", 59),
    **dict.fromkeys("lmh", 54),
    "3": 66,
    "u": 52,
}
"""Velocity of each sign, below the solo's."""

ACCENT = Lean(louder=8)  #: MIDI velocity; tuned here, by ear
"""What a style's accent does where the style does not say."""

LEAN_PART, SPREAD_PART = 0.25, 0.125  #: part of a piece; tuned here, by ear
"""How much of its length a piece is early or late at most, and takes from its first to its last string."""

BUSY, BUSY_SOFTER = 2, 8  #: attacks a quarter, MIDI velocity; common practice, no source; tuned here
"""Under a solo that strikes more often the chords are softer, and their up-strokes are left out."""

UNTOUCHED = Lean()
LET_RING, STRUCK_ONCE, ALONE = "rlmh", "x.", "lmh"
"""Signs of chords that sound until the chord changes, that are not struck anew when it does, and that strike one
course."""


class ChordSpan(NamedTuple):
    """A part of a measure over one chord, by offsets in quarters; None: silence."""

    low: Fraction
    high: Fraction
    chord: Chord | None


@dataclass(frozen=True, slots=True)
class BandMeasure:
    """A played measure as the band sees it: its style, and its chords.

    Attributes:
        played: The measure.
        name: Name of the style.
        stretches: Its chords, from `played.low` to `played.high`.
        then: The chord after it, where its bar line is reached and something comes.
        ends_phrase: It ends a phrase.
    """

    played: PlayedMeasure
    name: str
    stretches: tuple[ChordSpan, ...]
    then: Chord | None
    ends_phrase: bool

    @property
    def style(self) -> Style:
        """The style."""
        return STYLES[self.name]

    @property
    def pattern(self) -> Pattern:
        """What the style makes of its metre."""
        return pattern_of(self.name, self.played.metre)


class LineSign(NamedTuple):
    """A sign of a line over one chord.

    Attributes:
        sign: See `styles`.
        low: Where it begins, in quarters from the measure's start.
        high: Where it ends.
        stretch: Number of the stretch it lies over.
        fresh: It begins here; otherwise its chord changes under it, or the playing begins in it.
    """

    sign: str
    low: Fraction
    high: Fraction
    stretch: int
    fresh: bool


@dataclass(slots=True)
class Hit:
    """A stroke of the chords, or a note of the bass: (course, pitch) in the order in which they are met."""

    start_s: float
    end_s: float
    notes: tuple[tuple[int, int], ...]
    velocity: int
    spread_s: float = 0.0
    attack: Attack = Attack.DOWN
    alone: bool = False


def band_of(score: Score, played: Sequence[PlayedMeasure], options: Options) -> list[Pluck]:
    """What chords and bass play, as far as they are heard.

    A chord goes on until the next symbol as written; before the first, and where a symbol says so or is not
    understood, there is silence. So the band waits in a pickup, unless a chord stands there.

    Raises:
        ScoreError: No such style.
    """
    if options.style is not None:
        style_named(options.style)
    if not options.parts & {Part.CHORDS, Part.BASS}:
        return []
    bars = list(_bars(score, played, options))
    plucks: list[Pluck] = []
    if Part.CHORDS in options.parts:
        plucks += _plucks(Part.CHORDS, list(_chord_hits(score, bars, groove=options.groove)), played)
    if Part.BASS in options.parts:
        plucks += _plucks(Part.BASS, list(_bass_hits(score, bars, groove=options.groove)), played)
    return plucks


def programs(score: Score, first: PlayedMeasure, options: Options) -> Iterator[bytes]:
    """The programs of the parts of the band that are heard, by the style of the first measure."""
    style = STYLES[_style_name(first, options)]
    chords = score.head.instrument.program if style.chords_program is None else style.chords_program
    for part, program in ((Part.CHORDS, chords), (Part.BASS, style.bass_program)):
        if part in options.parts:
            yield program_message(part, program)


def _style_name(measure: PlayedMeasure, options: Options) -> str:
    return options.style or proposed_style(measure.metre, measure.swing)


def _bars(score: Score, played: Sequence[PlayedMeasure], options: Options) -> Iterator[BandMeasure]:
    before, ends, bars = symbols_at_starts(score), phrase_ends(score), []
    chord: Chord | None = None
    for measure in played:
        symbol = before[measure.index]
        chord = chord if symbol is None else _sounding(score, symbol)
        stretches = _stretches(score, measure, chord)
        chord = stretches[-1].chord
        bars.append((measure, stretches))
    for (measure, stretches), following in zip(bars, [*bars[1:], None], strict=True):
        reached = measure.high == score.measures[measure.index].length
        then = following[1][0].chord if following and reached else None
        yield BandMeasure(measure, _style_name(measure, options), stretches, then, measure.index in ends)


def _stretches(score: Score, measure: PlayedMeasure, chord: Chord | None) -> tuple[ChordSpan, ...]:
    """The chords of a measure, which begins with one."""
    changes = {measure.low: chord}
    for mark in score.measures[measure.index].chords:
        if mark.offset < measure.high:
            changes[max(mark.offset, measure.low)] = _sounding(score, mark.symbol)
    merged = [next(same) for _, same in groupby(changes.items(), key=lambda change: change[1])]
    ends = [*(low for low, _ in merged[1:]), measure.high]
    return tuple(ChordSpan(low, high, each) for (low, each), high in zip(merged, ends, strict=True))


def _sounding(score: Score, symbol: str) -> Chord | None:
    chord = chord_of(score, symbol)
    return None if chord is None or chord.root is None else chord


def _pieces(line: str, bar: BandMeasure) -> Iterator[LineSign]:
    """The signs of a line over the played part of a bar, parted where the chord changes."""
    measure = bar.played
    step = measure.metre.length / len(line)
    starts = [number for number, sign in enumerate(line) if sign != "="]
    for number, end in pairwise([*starts, len(line)]):
        low, high = number * step - measure.missing, end * step - measure.missing
        for index, stretch in enumerate(bar.stretches):
            begin, finish = max(low, stretch.low), min(high, stretch.high)
            if begin < finish:
                yield LineSign(line[number], begin, finish, index, begin == low)


def _lean(bar: BandMeasure, piece: LineSign, *, groove: bool) -> Lean:
    """What the groove does to a piece, its accent included."""
    if not groove:
        return UNTOUCHED
    leans, accents = bar.style.leans, bar.pattern.accents
    lean = leans.get(piece.sign, UNTOUCHED)
    place = (piece.low + bar.played.missing) / bar.played.metre.length * len(accents)
    if accents and place.denominator == 1 and accents[int(place)] == ">":
        louder = leans.get(">", ACCENT).louder
        return Lean(lean.late_ms, lean.louder + louder)
    return lean


def _hit(bar: BandMeasure, piece: LineSign, notes: Sequence[tuple[int, int]], *, groove: bool) -> Hit:
    """A piece on the time line, leaning by a part of its length at most."""
    start_s, end_s = bar.played.at(piece.low), bar.played.at(piece.high)
    lean, most_s = _lean(bar, piece, groove=groove), (end_s - start_s) * LEAN_PART
    velocity = LEVELS[piece.sign] - bar.style.softer + lean.louder
    start_s += min(max(lean.late_ms / 1000, -most_s), most_s)
    return Hit(start_s, end_s, tuple(notes), min(max(velocity, 1), 127))


def _bass_hits(score: Score, bars: Sequence[BandMeasure], *, groove: bool) -> Iterator[Hit]:
    line = BassLine()
    for bar in bars:
        for piece, pitch in _bass_notes(score, bar, line):
            yield _hit(bar, piece, [(1, pitch)], groove=groove)


def _bass_notes(score: Score, bar: BandMeasure, line: BassLine) -> Iterator[tuple[LineSign, int]]:
    """The bass of a bar: as the style has it, or a walk where a phrase ends or the style walks."""
    pieces, steps = list(_pieces(bar.pattern.bass, bar)), list[int]()
    walking = list(_pieces(bar.pattern.walk, bar)) if bar.pattern.walk else []
    if (bar.ends_phrase or bar.style.walks) and len(bar.stretches) == 1 and walking:
        steps = _walk(score, bar, walking)
    on_the_way = iter(steps)
    for piece in walking if steps else pieces:
        chord = bar.stretches[piece.stretch].chord
        if chord is None:
            line.silence()
        else:
            yield piece, next(on_the_way) if piece.sign == "w" else line.note(chord, piece.sign)


def _walk(score: Score, bar: BandMeasure, pieces: Sequence[LineSign]) -> list[int]:
    """The steps of a bar's walk to the next chord; none where that has the same root, or no way fits the tune."""
    only, then = bar.stretches[0].chord, bar.then
    on_the_way = [piece for piece in pieces if piece.sign == "w"]
    if only is None or then is None or root_of(only) == root_of(then) or not on_the_way:
        return []
    if pieces[0].sign == "w":  # a chord is told before it is left
        return []
    index = bar.played.index
    moves = any(
        offset >= on_the_way[0].low and event.notes and not all(note.tied for note in event.notes)
        for offset, event in score.measures[index].timed()
    )
    return walk(root_of(only), root_of(then), len(on_the_way), score.keys[index], chromatic=not moves)


def _chord_hits(score: Score, bars: Sequence[BandMeasure], *, groove: bool) -> Iterator[Hit]:
    for bar, voicings in zip(bars, comping(score, bars), strict=True):
        lower = lower_by(score, bar.style)
        softer = BUSY_SOFTER if groove and _is_busy(score, bar) else 0
        for piece in _pieces(bar.pattern.chords, bar):
            voicing = voicings[piece.stretch]
            if voicing is None or piece.sign == "." or (piece.sign in STRUCK_ONCE and not piece.fresh):
                continue
            if softer and piece.sign == "u":
                continue
            hit = _hit(bar, piece, _struck(voicing, piece.sign, lower), groove=groove)
            hit.velocity = max(hit.velocity - softer, 1)
            if piece.sign == "x":
                hit.end_s = min(hit.end_s, hit.start_s + bar.style.chop_s)
            if piece.sign in LET_RING:
                hit.end_s = bar.played.at(bar.stretches[piece.stretch].high)
            hit.attack = Attack.UP if piece.sign == "u" else Attack.DOWN
            hit.alone = piece.sign in ALONE
            spread_s = ROLL_S if piece.sign == "r" else STAGGER_S
            hit.spread_s = min(spread_s, (hit.end_s - hit.start_s) * SPREAD_PART) if groove else 0.0
            yield hit


def _is_busy(score: Score, bar: BandMeasure) -> bool:
    """Whether the solo leaves little room in a measure."""
    measure = bar.played
    onsets = [
        offset
        for offset, event in score.measures[measure.index].timed()
        if measure.low <= offset < measure.high and event.notes and not all(note.tied for note in event.notes)
    ]
    return len(onsets) > BUSY * (measure.high - measure.low)


def _struck(voicing: Voicing, sign: str, lower: int) -> Sequence[tuple[int, int]]:
    """The notes of a shape that a sign strikes, `lower` semitones lower, in the order of the stroke."""
    upwards = [(course, pitch - lower) for course, pitch in voicing.notes[::-1]]
    if sign in ALONE:
        return (upwards[{"l": 0, "m": len(upwards) // 2, "h": -1}[sign]],)
    return upwards[::-1] if sign == "u" else upwards


def _plucks(part: Part, hits: Sequence[Hit], played: Sequence[PlayedMeasure]) -> list[Pluck]:
    """Hits as attacks; nothing begins before the music or lasts beyond its end.

    A stroke stops everything before it, a course alone what sounds on it and at its pitch. What would be stopped
    before it begins, where a chord is shorter than the leaning of the groove, is left out.
    """
    start_s, end_s = played[0].start_s, played[-1].end_s
    plucks: list[Pluck] = []
    limits: dict[tuple[str, int], float] = {}
    limit_s = end_s
    for hit in reversed(hits):
        begun_s = max(hit.start_s, start_s)
        for number, (course, pitch) in enumerate(hit.notes):
            until_s = min(
                hit.end_s, limit_s, limits.get(("course", course), end_s), limits.get(("pitch", pitch), end_s)
            )
            at_s = begun_s + number * hit.spread_s
            if at_s < until_s:
                plucks.append(Pluck(part, course, pitch, at_s, until_s, hit.velocity, hit.attack))
        if hit.alone:
            stops = [stop for course, pitch in hit.notes for stop in (("course", course), ("pitch", pitch))]
            limits |= {stop: min(begun_s, limits.get(stop, end_s)) for stop in stops}
        else:
            limit_s = min(begun_s, limit_s, *limits.values())
            limits.clear()
    return plucks[::-1]
