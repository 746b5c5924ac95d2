"""Scores of chance by a seed, with every sign that a sheet draws."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

from tabterm.instrument import PRESETS
from tabterm.score.duration import Duration
from tabterm.score.key import Key
from tabterm.score.kinds import Barline, BendShape, Direction, Reached, Stroke
from tabterm.score.metre import Metre
from tabterm.score.model import ChordMark, Event, Head, Measure, Note, Score, Swing
from tabterm.score.source import Bend, SourceEvent
from tabterm.score.tempo import Tempo

QUARTERS = ("4", "8 8", "8. 16", "16 16 8", "16 16 16 16", "8(3:2) 8(3:2) 8(3:2)", "8 16 16", "4(3:2) 8(3:2)")
DOTTED = ("4.", "8 8 8", "4 8", "8 4", "8. 16 8", "16 16 16 16 16 16", "8 16 16 8")
METRES = {"4/4": 4, "3/4": 3, "2/4": 2, "C": 4, "6/8": 2, "9/8": 3}
"""Beats of each metre; a beat is a dotted quarter over 8."""

KEYS = ("C", "G", "D", "A", "E", "F", "Bb", "Eb", "Am", "F#m", "G dorian", "Db", "B")
SYMBOLS = ("G", "C", "D7", "Am", "F#m7b5", "Bb", "N.C.", "G/B", "Ebmaj7", "C#dim7", "A7#9", "Gsus4", "E°7", "Bbm6")
REMARKS = (
    "let the wrist hang",
    "",
    "",
    "",
    "quietly, and with the little finger kept down over both courses",
    "up the neck",
)


def score(seed: int, measures: int = 12) -> Score:
    """A score; the same for the same seed."""
    return _Maker(Random(seed), measures).score()


class _Maker:
    def __init__(self, chance: Random, count: int) -> None:
        self.chance = chance
        self.count = count
        self.before: Event | None = None
        names = ("mandolin", "mandolin", "mandola", "mandocello", "tenor-banjo")
        self.instrument = PRESETS[chance.choice(names)]
        self.metre = Metre.parse(chance.choice(list(METRES)))

    def often(self, one_in: int) -> bool:
        """True once in so many times."""
        return self.chance.randrange(one_in) == 0

    def score(self) -> Score:
        first, measures = self.metre, [self.pickup()] if self.often(2) else []
        measures += [self.measure(index) for index in range(len(measures), self.count)]
        head = Head(
            title=self.chance.choice(("Lower Ferry", "A Tune of Chance with a Title that Runs on", "")),
            credits=("made by chance",) * self.chance.randrange(3),
            instrument=self.instrument,
            key=Key.parse(self.chance.choice(KEYS)),
            metre=first,
            tempo=Tempo.parse(self.chance.choice(("1/4=96", "1/8=180", "3/8=60"))),
            swing=self.chance.choice((None, None, Swing(), Swing(unit=16, long=3, short=2))),
        )
        return Score(head=head, measures=tuple(measures))

    def pickup(self) -> Measure:
        self.before = Event(
            duration=Duration.parse("8"), notes=(Note(course=2, fret=2),), proposed_stroke=Stroke.UP
        )
        return Measure(short=True, events=(self.before,))

    def measure(self, index: int) -> Measure:
        change = None
        if index and self.often(9):
            change = self.metre = Metre.parse(self.chance.choice(list(METRES)))
        beats, patterns = METRES[str(self.metre)], DOTTED if self.metre.unit == 8 else QUARTERS
        words = [word for _ in range(beats) for word in self.chance.choice(patterns).split()]
        if self.often(12):
            words = {4: ["1"], 3: ["2."], 2: ["2"]}[beats] if self.metre.unit == 4 else ["4."] * beats
        events = tuple(self.event(Duration.parse(word)) for word in words)
        length = sum((event.length for event in events), Fraction(0))
        offsets = sorted({Fraction(0), self.chance.choice((Fraction(1), Fraction(1, 2), Fraction(3, 2)))})
        return Measure(
            events=events,
            metre=change,
            key=Key.parse(self.chance.choice(KEYS)) if index and self.often(10) else None,
            tempo=Tempo.parse("1/4=120") if self.often(12) else None,
            chords=tuple(
                ChordMark(offset=at, symbol=self.chance.choice(SYMBOLS))
                for at in offsets[: self.chance.randrange(3)]
            ),
            barline=self.chance.choice((Barline.SINGLE,) * 6 + (Barline.DOUBLE, Barline.FINAL)),
            repeat_start=self.often(8),
            repeat_times=2 if self.often(8) else 0,
            endings=self.chance.choice(((),) * 6 + ((1,), (2,), (1, 2))),
            section=self.chance.choice(("",) * 6 + ("A", "B", "Bridge")),
            remark=self.chance.choice(REMARKS),
            source=self.source(length) if self.often(2) else (),
        )

    def source(self, length: Fraction) -> tuple[SourceEvent, ...]:
        count = int(length * 2)
        if length * 2 != count:
            return ()
        pitches = [(self.chance.randrange(57, 84),) for _ in range(count)]
        return tuple(SourceEvent.of(Duration.parse("8"), pitch, ()) for pitch in pitches)

    def event(self, duration: Duration) -> Event:
        if self.often(9):
            event = Event(duration=duration)
        else:
            size = self.chance.choice((1,) * 8 + (2, 2, 3, 4))
            courses = sorted(self.chance.sample(range(1, 5), size))
            notes = tuple(self.note(course) for course in courses)
            pitches = sorted(self.instrument.pitch(note.course, note.fret) for note in notes)
            if any(two - one == 1 for one, two in pairwise(pitches)):
                notes = notes[:1]
            plain = not any(note.tied for note in notes)
            event = Event(
                duration=duration,
                notes=notes,
                stroke=self.chance.choice((None, Stroke.DOWN, Stroke.NONE)),
                proposed_stroke=self.chance.choice((Stroke.DOWN, Stroke.UP)),
                tremolo=self.often(14),
                accent=self.often(10),
                staccato=self.often(10),
                roll=self.chance.choice(tuple(Direction)) if len(notes) > 2 and self.often(3) else None,
                grace=tuple(
                    Note(course=self.chance.randrange(1, 5), fret=self.chance.randrange(9), proposed_finger=1)
                    for _ in range(self.chance.randrange(1, 3) if plain and self.often(12) else 0)
                ),
            )
        self.before = event
        return event

    def note(self, course: int) -> Note:
        fret = self.chance.randrange(15)
        before = None if self.before is None else self.before.on_course(course)
        plain = Note(course=course, fret=fret, proposed_finger=self.chance.choice((None, 1, 2, 3, 4)))
        if before is not None and not before.muted and self.often(4):
            return Note(course=course, fret=before.fret, tied=True)
        if before is not None and before.slide_out is None and not before.ring and self.often(3):
            return plain.with_(reached=self.chance.choice((Reached.HAMMER, Reached.PULL, Reached.SLIDE)))
        if self.often(6):
            return plain.with_(
                **self.chance.choice(
                    (
                        {
                            "bend": Bend(
                                cents=self.chance.choice((50, 100, 35)), shape=self.chance.choice(tuple(BendShape))
                            )
                        },
                        {"slide_in": self.chance.choice(tuple(Direction))},
                        {"slide_out": self.chance.choice(tuple(Direction))},
                        {"muted": True},
                        {"ring": True},
                        {"vibrato": True},
                    )
                )
            )
        return plain
