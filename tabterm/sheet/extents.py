"""Extents: how much room each moment needs to both sides of its zero line, the left of its noteheads."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from tabterm.score.kinds import BendShape, Reached
from tabterm.sheet import fonts
from tabterm.sheet.ink import Words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tabterm.score.model import Note
    from tabterm.score.source import Bend
    from tabterm.sheet.reading import Chord, Head

HEAD = 1.18
"""Width of a notehead (Bravura 1.392, `noteheadBlack`)."""

CENTRE = HEAD / 2
"""Where digits, strokes and fingers stand in the middle of, from the zero line."""

SMALL = 0.66
"""Size of grace notes; two thirds of a note: Gould 2011, from memory."""

FLAG = 1.1
"""How far a flag stands out; Bravura 1.392."""

DIGIT, SMALL_DIGIT = 1.9, 1.4
"""Em of the digits on the courses; tuned here."""

ACCIDENTALS = {
    "flat-flat": "accidentalDoubleFlat",
    "flat": "accidentalFlat",
    "natural": "accidentalNatural",
    "sharp": "accidentalSharp",
    "double-sharp": "accidentalDoubleSharp",
}
"""Signs of the names that MusicXML has."""

ACCIDENTAL_GAP, DOT_GAP, DOT = 0.28, 0.3, 0.4
GRACE_GAP, FLAG_GAP, SLASH = 0.5, 0.9, 0.55
ROLL, SLIDE, LEDGER_ROOM, TREMOLO_OUT = 1.3, 1.5, 0.35, 0.6
"""Room for signs beside the heads: roll, slide from or to nowhere, ledger lines, tremolo; tuned here."""

SLIDE_OFF, BEND, BEND_BACK, BEND_TIP, RING = 1.5, 1.5, 2.8, 1.2, 1.9
"""Room beside a digit for what is drawn there; tuned here."""


RESTS = {
    1: ("restWhole", 1.0),
    2: ("restHalf", 2.0),
    4: ("restQuarter", 2.0),
    8: ("rest8th", 2.0),
    16: ("rest16th", 2.0),
    32: ("rest32nd", 2.0),
    64: ("rest64th", 2.0),
    128: ("rest128th", 2.0),
    256: ("rest256th", 2.0),
}
"""The sign of each rest, and where its zero point stands on the staff."""

HELD = 0.5
"""Room of a bracket around a digit."""


AMOUNTS = {50: "¼", 100: "½", 150: "¾", 200: "1", 250: "1¼", 300: "1½", 350: "1¾", 400: "2"}
"""What is said of a bend by its cents, in whole tones: common practice, no source."""

LETTER_EM = 1.45
"""Of letters over arcs and the amounts of bends; tuned here."""


class Extent(NamedTuple):
    """Room to the left (positive) and to the right of the zero line."""

    left: float
    right: float


def tab_text(note: Note) -> str:
    """What stands on the course: the fret, or a cross for a dead note."""
    return "\N{MULTIPLICATION SIGN}" if note.muted else str(note.fret)


def tab_width(note: Note, size: float) -> float:
    """Width of that, with its brackets where it is held."""
    return fonts.width_mm(tab_text(note), size, "bold") + (2 * HELD if note.tied else 0.0)


def beside_tabs(notes: Sequence[Note], size: float) -> Extent:
    """Room that notes need to both sides of their digits' middle, with what is drawn beside the widest of them."""
    half = max(tab_width(note, size) for note in notes) / 2
    bends = [note.bend for note in notes if note.bend is not None]
    bend = max((_bend_room(each) for each in bends), default=0.0)
    ring = RING if any(note.ring for note in notes) else 0.0
    right = half + bend + ring + (SLIDE_OFF if any(note.slide_out for note in notes) else 0.0)
    return Extent(half + (SLIDE_OFF if any(note.slide_in for note in notes) else 0.0), right)


def _bend_room(bend: Bend) -> float:
    """Room of a bend's arrows, and of the amount over its tip."""
    arrows = BEND if bend.shape is BendShape.RISE else BEND_BACK
    return max(arrows, BEND_TIP + words_width(amount(bend), LETTER_EM) / 2)


def amount(bend: Bend) -> str:
    """What is said of how far a bend goes."""
    return AMOUNTS.get(bend.cents, f"{bend.cents} ct")


def head_glyph(value: int, *, muted: bool) -> str:
    """The notehead of a value."""
    form = {1: "Whole", 2: "Half"}.get(value, "Black")
    return f"noteheadX{form}" if muted else f"notehead{form}"


def head_width(chord: Chord) -> float:
    """Width of the widest head of a chord."""
    notes = [head.note for head in chord.heads]
    forms = {note is not None and note.muted for note in notes}
    return max(fonts.sign_box(head_glyph(chord.duration.value, muted=muted))[2] for muted in forms)


def rest_width(chord: Chord) -> float:
    """Width of the sign of a rest."""
    return fonts.sign_box(RESTS[chord.duration.value][0])[2]


def place_accidentals(heads: Iterable[Head], left: float, size: float = 1.0) -> float:
    """Give each accidental of a chord its place, the outer ones nearest, and return how far left they reach.

    Those a sixth or more apart share a column.
    """
    signed = sorted((head for head in heads if head.accidental), key=lambda head: head.step)
    order = []
    while signed:
        order.append(signed.pop())
        order += [signed.pop(0)] if signed else []
    columns: list[list[Head]] = []
    for head in order:
        for column in columns:
            if all(abs(head.step - other.step) >= 6 for other in column):
                column.append(head)
                break
        else:
            columns.append([head])
    reach = left
    for column in columns:
        width = max(fonts.sign_box(ACCIDENTALS[head.accidental])[2] for head in column) * size
        reach += ACCIDENTAL_GAP * size + width
        for head in column:
            head.accidental_x = -reach
    return reach


def staff_extent(chord: Chord) -> Extent:
    """Room of a chord on the staff, without its grace notes; it is kept in the chord as well."""
    if chord.is_rest:
        return Extent(0.0, rest_width(chord) + _dots(chord.duration.dots))
    shifted = any(head.shifted for head in chord.heads)
    trembles = chord.event is not None and chord.event.tremolo_shown
    base = HEAD if shifted and not chord.stem_up else 0.0
    base = max(base, TREMOLO_OUT if trembles and not chord.stem_up else 0.0)
    base += LEDGER_ROOM if any(head.has_ledger for head in chord.heads) else 0.0
    chord.reach = place_accidentals(chord.heads, base)
    notes = [head.note for head in chord.heads if head.note is not None]
    chord.left = chord.reach + (SLIDE if any(note.slide_in for note in notes) else 0.0)
    if chord.event is not None and chord.event.roll is not None:
        chord.left += ROLL
    chord.right = head_width(chord) + (HEAD if shifted and chord.stem_up else 0.0)
    if chord.duration.dots:
        chord.right = dots_x(chord) - DOT_GAP + _dots(chord.duration.dots)
    right = chord.right
    if chord.flags and not chord.beams and chord.stem_up:
        right = max(right, HEAD + FLAG)
    right = max(right, HEAD + TREMOLO_OUT if trembles and chord.stem_up else 0.0)
    if any(note.slide_out or note.ring for note in notes):
        right += SLIDE + LEDGER_ROOM
    return Extent(chord.left, right)


def rhythm_extent(chord: Chord) -> Extent:
    """Room of the rhythm under a digit, and of a rest between the courses."""
    dots = _dots(chord.duration.dots)
    if chord.is_rest:
        return Extent(0.0, rest_width(chord) + 0.1 + dots)
    flag = FLAG if chord.flags and not chord.beams else 0.0
    return Extent(0.0, CENTRE + flag + 0.1 + dots)


def _dots(count: int) -> float:
    return count * (DOT + DOT_GAP) if count else 0.0


def dots_x(chord: Chord) -> float:
    """Where the dots of a chord begin, from its zero line."""
    shifted = any(head.shifted for head in chord.heads) and chord.stem_up
    if chord.is_rest:
        return rest_width(chord) + DOT_GAP
    if chord.flags and not chord.beams and chord.stem_up:
        return HEAD + FLAG + DOT_GAP
    return head_width(chord) + (HEAD if shifted else 0.0) + DOT_GAP


class Grace(NamedTuple):
    """Where a grace note stands: its zero line, from that of the note it is before."""

    x: float
    head: Head


def tab_extent(chord: Chord) -> Extent:
    """Room of a chord on the courses, from its zero line."""
    if chord.event is None or not chord.event.notes:
        return Extent(0.0, 0.0)
    side = beside_tabs(chord.event.notes, DIGIT)
    roll = ROLL if chord.event.roll is not None else 0.0
    return Extent(side.left - CENTRE + roll, side.right + CENTRE)


def graces(chord: Chord, left: float, *, tab: bool, staff: bool) -> tuple[list[Grace], float]:
    """Where the grace notes of a chord stand, which itself reaches so far left; and how far left they reach."""
    placed: list[Grace] = []
    gap = FLAG_GAP if staff and len(chord.graces) == 1 else GRACE_GAP
    for head in reversed(chord.graces):
        accidentals = place_accidentals([head], 0.28 if head.has_ledger else 0.0, SMALL) if staff else 0.0
        side = beside_tabs([head.note], SMALL_DIGIT) if head.note is not None else Extent(0.0, 0.0)
        centre = CENTRE * SMALL
        right = max(HEAD * SMALL if staff else 0.0, centre + side.right if tab else 0.0)
        own_left = max(accidentals, SLASH if gap is FLAG_GAP else 0.0, side.left - centre if tab else 0.0)
        joined = 0.9 if _leads_on(chord, head) else 0.0
        x = -(left + gap + joined + right)
        placed.append(Grace(x, head))
        left = -x + own_left
    return placed[::-1], left


def _leads_on(chord: Chord, head: Head) -> bool:
    """Whether the note after a grace note is slurred from it."""
    following = [*chord.graces, None]
    after = following[following.index(head) + 1]
    notes = [after.note] if after is not None else [each.note for each in chord.heads]
    return any(note is not None and note.reached is not Reached.STRUCK for note in notes)


def words_width(text: str, size: float, style: fonts.Style = "regular") -> float:
    """Width of a text."""
    return Words(text, 0.0, 0.0, size, style).width
