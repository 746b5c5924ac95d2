"""From a file's tablature to an instrument: its courses, or another's whose pitches alone are read."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass
from tabterm.errors import TabtermError
from tabterm.formats.musicxml.bars import notes_of
from tabterm.formats.musicxml.parts import COURSES
from tabterm.formats.musicxml.values import pitch_of, whole
from tabterm.instrument import PRESETS, Course, Instrument
from tabterm.instrument.model import MAX_FRETS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.musicxml.bars import XmlBar
    from tabterm.formats.musicxml.parts import XmlPart
    from tabterm.formats.musicxml.report import XmlReporter

SOUNDS = {
    "pluck.mandolin": "mandolin",
    "pluck.mandola": "mandola",
    "pluck.mandolin.octave": "octave-mandolin",
    "pluck.mandocello": "mandocello",
    "pluck.banjo.tenor": "tenor-banjo",
}
"""Names of sounds and the presets that they mean; `pluck.mandolin` and `pluck.mandolin.octave` stand in the
standard's list, the others are formed like them."""


@dataclass(frozen=True, slots=True)
class Strings:
    """How the strings and frets of a part are to be read.

    Attributes:
        instrument: The instrument of the score.
        is_ours: Strings and frets of the file are courses and frets of it; otherwise pitches alone are read.
    """

    instrument: Instrument
    is_ours: bool


@dataclass(frozen=True, slots=True)
class Tablature:
    """A tablature staff: its number and open pitches, highest course first (None: not told), and capo."""

    staff: int
    pitches: tuple[int | None, ...] = ()
    capo: int = 0


def tablature_of(bars: Sequence[XmlBar]) -> Tablature | None:
    """The first tablature staff of a part, by its clef or its tuning; None where it has none."""
    staffs: dict[int, Tablature] = {}
    for bar in bars:
        for _, node in bar.signs:
            staff = whole(node.get("number") or "1") or 1
            if node.tag == "clef" and node.word("sign") == "TAB":
                staffs.setdefault(staff, Tablature(staff))
            elif node.tag == "staff-details" and not (staff in staffs and staffs[staff].pitches):
                by_line = {
                    whole(each.get("line")): pitch_of(each, "tuning-")[0] for each in node.all("staff-tuning")
                }
                if by_line:
                    count = max(min(whole(node.word("staff-lines")) or 0, 8), *(line or 0 for line in by_line))
                    pitches = tuple(by_line.get(line) for line in range(min(count, 99), 0, -1))
                    capo = min(max(whole(node.word("capo")) or 0, 0), MAX_FRETS)
                    staffs[staff] = Tablature(staff, pitches, capo)
    return staffs[min(staffs)] if staffs else None


def strings_of(
    part: XmlPart, bars: Sequence[XmlBar], tablature: Tablature | None, own: Instrument | None, report: XmlReporter
) -> Strings:
    """The instrument of a part, and whether its strings are courses of it.

    A file of our own says its instrument. Otherwise the tuning of a tablature of four lines tells it, or the
    pitches that the frets of up to four strings sound. Strings of any other number are another instrument's.
    """
    if own is not None:
        return Strings(own, is_ours=True)
    named = _named(part)
    open_pitches = tablature.pitches if tablature is not None else ()
    line = tablature.staff if tablature is not None else 0
    if not any(pitch is not None for pitch in open_pitches):
        open_pitches = _sounded(bars)
    if not open_pitches:
        if part.strings:
            report.left_out("strings are left out: frets and pitches agree on no tuning", line)
        return Strings(named or PRESETS["mandolin"], is_ours=False)
    if len(open_pitches) != COURSES:
        report.left_out(
            f"the strings, frets and fingers are for {len(open_pitches)} strings: only the pitches are read"
        )
        return Strings(PRESETS["mandolin"], is_ours=False)
    capo = tablature.capo if tablature is not None else 0
    instrument = _tuned(open_pitches, capo, part.name, named)
    if instrument is None:
        report.left_out("strings are left out: frets and pitches agree on no tuning", line)
        return Strings(named or PRESETS["mandolin"], is_ours=False)
    if capo:
        report.changed(f"the capo at fret {capo} is read as an instrument tuned higher")
    return Strings(instrument, is_ours=True)


def _sounded(bars: Sequence[XmlBar]) -> tuple[int | None, ...]:
    """The open pitch of each string by what its frets sound; () where nothing tells, or they contradict it."""
    opens: dict[int, Counter[int]] = defaultdict(Counter)
    for note in notes_of(bars):
        if note.string is not None and note.fret is not None and note.pitch is not None and 1 <= note.string <= 12:
            opens[note.string][note.pitch - note.fret] += 1
    if not opens:
        return ()
    usual = {string: counts.most_common(1)[0] for string, counts in opens.items()}
    if any(2 * often <= sum(opens[string].values()) for string, (_, often) in usual.items()):
        return ()
    count = max(*opens, COURSES)
    return tuple(usual[string][0] if string in usual else None for string in range(1, count + 1))


def _tuned(pitches: tuple[int | None, ...], capo: int, name: str, named: Instrument | None) -> Instrument | None:
    """The preset of this tuning, or an instrument made for it; None where a string is not known."""
    same = [
        each
        for each in PRESETS.values()
        if len(each.courses) == len(pitches)
        and all(pitch in (None, course.pitch) for pitch, course in zip(pitches, each.courses, strict=True))
    ]
    if same:
        instrument = named if named in same and named is not None else same[0]
        return instrument if not capo else _with_capo(instrument, capo)
    known = [pitch for pitch in pitches if pitch is not None]
    if len(known) < len(pitches):
        return None
    middle = sum(known) / len(known)
    like = min(
        PRESETS.values(), key=lambda each: abs(sum(c.pitch for c in each.courses) / len(each.courses) - middle)
    )
    try:
        courses = tuple(Course(pitch=pitch) for pitch in known)
        made = like.with_(name=name[:60] or "Instrument", courses=courses)
        return _with_capo(made, capo) if capo else made
    except (TabtermError, ValueError):
        return None


def _with_capo(instrument: Instrument, capo: int) -> Instrument | None:
    """The instrument as it is above the capo: shorter, higher, with fewer frets."""
    if capo >= instrument.frets:
        return None
    return instrument.with_(
        name=f"{instrument.name[:45]}, capo {capo}",
        courses=tuple(course.with_(pitch=course.pitch + capo) for course in instrument.courses),
        frets=instrument.frets - capo,
        scale_length_mm=max(instrument.scale_length_mm * 2.0 ** (-capo / 12.0), 101.0),
    )


def _named(part: XmlPart) -> Instrument | None:
    """The preset that a part's names or sounds mean."""
    if part.header is None:
        return None
    instruments = part.header.all("score-instrument")
    for each in instruments:
        if each.word("instrument-sound") in SOUNDS:
            return PRESETS[SOUNDS[each.word("instrument-sound")]]
    names = {part.name.casefold(), *(each.word("instrument-name").casefold() for each in instruments)}
    return next((each for each in PRESETS.values() if each.name.casefold() in names), None)
