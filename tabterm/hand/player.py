"""Whose hands play, as one value; and what stands behind each value of a hand profile: words, unit, source."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from tabterm.dataclass import dataclass
from tabterm.hand.bands import band_of
from tabterm.hand.terms import TERMS, Weights
from tabterm.instrument import fret_distance_mm
from tabterm.judge import json_schema
from tabterm.score.profile import REFERENCE_HAND, HandProfile, Speeds
from tabterm.values import Value, field_names

if TYPE_CHECKING:
    from tabterm.instrument import Instrument
    from tabterm.score.model import Head


class Player(Value):
    """All that is known of a player's hands; by default an adult of whom nothing is known.

    No function that needs a player has a default for it: to forget it is an error of type.

    Attributes:
        hand: How far the hands reach and how fast they move.
        weights: What the left hand finds hard, with what was learnt from the player's own fingers.
        learns: Whether more is learnt from fingers that the player sets against a proposal.
    """

    hand: HandProfile = REFERENCE_HAND
    weights: Weights = Weights()
    learns: bool = True

    def at(self, head: Head) -> Player:
        """The player as a score has it: a hand of its own stands for the player's. Nothing else decides that."""
        return self if head.hand is None else self.with_(hand=head.hand)

    @property
    def unbound(self) -> Self:
        """The player with no price on leaving a course: in a line that is only laid down, none was chosen."""
        return self.with_(weights=Weights.of(dict(self.weights.added) | {"moved": -TERMS["moved"].weight}))


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a value of the profile is, its unit, and where its default comes from."""

    what: str
    unit: str
    source: str


RATE = "notes/s"
SLOWER = (
    "a little below fingers 1 and 2, since ring and little finger are slower (Aoki, Furuya and Kinoshita 2005, "
    "Motor Control 9(1):23-39); how much: common practice, no source"
)

EVIDENCE: dict[str, Evidence] = {
    "span_mm": Evidence(
        "flat span from the tip of the index finger to the tip of the little finger",
        "mm",
        "worked out once, not repeatable here: a flat hand with the finger lengths and angles of Chatzioglou, "
        "Pinar and Govsa 2024 (Anat Cell Biol 57(2):172-182, 51 adults) and knuckles 20 mm apart (assumed); "
        "within 6% of the 152 mm that Boyle, Boyle and Booker 2015 (Pianist Hand Spans) give as the border of a "
        "small hand",
    ),
    "weak": Evidence(
        "weak fingers of the left hand",
        "fingers",
        "ring and little finger: common practice, no source",
    ),
    "fingers_12": Evidence(
        "index and middle finger in turn on one course",
        RATE,
        "two fingers in turn tap half as fast again as one (Aoki and Kinoshita 2001, Ergonomics 44(15):1368-1383, "
        "11 men), and one hand reaches 5 to 7 Hz (Fujii et al. 2009, Neurosci Lett 459(2):69-73): 7.5 to 10.5",
    ),
    "fingers_13": Evidence("index and ring finger in turn on one course", RATE, SLOWER),
    "fingers_14": Evidence("index and little finger in turn on one course", RATE, SLOWER),
    "fingers_23": Evidence("middle and ring finger in turn on one course", RATE, SLOWER),
    "fingers_24": Evidence("middle and little finger in turn on one course", RATE, SLOWER),
    "fingers_34": Evidence("ring and little finger in turn on one course", RATE, SLOWER),
    "course_change": Evidence(
        "down and up in turn on two neighbouring courses",
        RATE,
        "below strokes on one course, since the pick travels further; how much: common practice, no source",
    ),
    "strokes": Evidence(
        "down and up in turn on one course",
        RATE,
        "a hand goes to and fro 5 to 7 times a second, and strikes both ways: 10 to 14 (Fujii et al. 2009, "
        "Neurosci Lett 459(2):69-73); the lower end",
    ),
    "repeated": Evidence(
        "equal strokes in a row on one course: down, down",
        RATE,
        "a hand goes to and fro 5 to 7 times a second (Fujii et al. 2009, Neurosci Lett 459(2):69-73)",
    ),
}
"""By field of the profile, or of its speeds."""


def value_of(profile: HandProfile, name: str) -> float | tuple[int, ...]:
    """A value of a profile by its name in `EVIDENCE`."""
    value: float | tuple[int, ...] = getattr(profile.speeds if name in field_names(Speeds) else profile, name)
    return value


def bounds(name: str) -> tuple[float, float]:
    """Least and greatest value of the span or a speed."""
    model = Speeds if name in field_names(Speeds) else HandProfile
    schema = json_schema(model)["properties"][name]
    return float(schema["minimum"]), float(schema["maximum"])


def frets_above(instrument: Instrument, span_mm: float, fret: int, finger: int) -> tuple[int, int]:
    """How many frets above the index finger at `fret` a finger (2 to 4) reaches: comfortably, and hard."""
    band, start_mm = band_of((1, finger), span_mm), fret_distance_mm(instrument.scale_length_mm, fret)

    def within(reach_mm: float) -> int:
        ends = range(fret + 1, instrument.frets + 1)
        return sum(fret_distance_mm(instrument.scale_length_mm, end) - start_mm <= reach_mm for end in ends)

    return within(band.comfortable_mm), within(band.hard_mm)
