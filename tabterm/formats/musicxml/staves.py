"""One staff of several: the notation with what a tablature adds, and with its voices where they cross over."""

from __future__ import annotations

from collections import Counter, defaultdict
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.formats.musicxml.bars import XmlBar
    from tabterm.formats.musicxml.notes import WrittenNote
    from tabterm.formats.musicxml.report import XmlReporter
    from tabterm.formats.musicxml.tuning import Tablature

OnsetKey = tuple[Fraction, bool]
"""Onset, and whether it is a grace note."""


def one_staff(bars: Sequence[XmlBar], tablature: Tablature | None, report: XmlReporter) -> None:
    """Leave in each measure the notes of one staff: the notation with what the tablature adds, or the only one.

    A voice of that staff is followed where it crosses over to another one.
    """
    staffs = {note.staff for bar in bars for note in bar.notes if note.pitch is not None}
    tab_staff = tablature.staff if tablature is not None else 0
    notation = min(staffs - {tab_staff}, default=tab_staff or 1)
    if len(staffs - {tab_staff}) > 1:
        _follow(bars, notation, tab_staff)
    for bar in bars:
        if tab_staff and notation != tab_staff:
            _fold(bar, notation, tab_staff, report)
        elsewhere = [note for note in bar.notes if note.staff != notation and note.pitch is not None]
        for note in elsewhere:
            if note.staff != tab_staff:
                report.left_out(
                    f"notes of staff {note.staff} are left out: only staff {notation} is read", note.line
                )
        bar.notes = [note for note in bar.notes if note.staff == notation]


def _follow(bars: Sequence[XmlBar], notation: int, tab_staff: int) -> None:
    """Bring the voices that belong to the notation staff back onto it, chords together with their first note.

    A voice belongs there that has most of its notes there; where none has, all that have some. One that sounds on
    two staves at a time is not one voice: some programs count voices from 1 on each staff.
    """
    counts = Counter((note.voice, note.staff) for bar in bars for note in bar.notes if note.pitch is not None)
    there = {voice for voice, staff in counts if staff == notation}
    totals = Counter(note.voice for bar in bars for note in bar.notes if note.pitch is not None)
    home = {voice for voice in there if 2 * counts[voice, notation] > totals[voice]} or there
    crossing = {voice for voice in home if not any(_sounds_twice(bar, voice, notation) for bar in bars)}
    for bar in bars:
        follows = False
        for note in bar.notes:
            follows = follows if note.is_chord else note.voice in crossing
            if follows and note.staff != tab_staff:
                note.staff = notation


def _sounds_twice(bar: XmlBar, voice: str, notation: int) -> bool:
    """Whether notes or rests of a voice on the notation staff overlap others of it elsewhere."""
    ends = {True: Fraction(0), False: Fraction(0)}
    for note in sorted((note for note in bar.notes if note.voice == voice), key=lambda note: note.onset):
        here = note.staff == notation
        if note.length and not note.is_chord:
            if note.onset < ends[not here]:
                return True
            ends[here] = max(ends[here], note.end)
    return False


def _fold(bar: XmlBar, notation: int, tab_staff: int, report: XmlReporter) -> None:
    """Give the notes of the notation what the tablature says of them; what is on it alone stays."""
    waiting: dict[OnsetKey, list[WrittenNote]] = defaultdict(list)
    for note in bar.notes:
        if note.staff == notation and note.pitch is not None:
            waiting[note.onset, note.is_grace].append(note)
    alone = []
    for note in bar.notes:
        if note.staff != tab_staff or note.pitch is None:
            continue
        partner = _partner(waiting[note.onset, note.is_grace], note)
        if partner is None:
            alone.append(note)
        else:
            waiting[note.onset, note.is_grace].remove(partner)
            _merge(partner, note)
    if not any(note.staff == notation and note.pitch is not None for note in bar.notes):
        bar.notes = [note for note in bar.notes if note.staff != notation]
        for note in bar.notes:
            note.staff = notation if note.staff == tab_staff else note.staff
    elif alone:
        report.left_out("notes that are only in the tablature are left out", alone[0].line)


def _partner(there: list[WrittenNote], note: WrittenNote) -> WrittenNote | None:
    """The note of the same pitch, or octaves away: some programs write tablature as it sounds, notation not."""
    same = [each for each in there if each.pitch == note.pitch]
    octaves = [each for each in there if ((each.pitch or 0) - (note.pitch or 0)) % 12 == 0]
    return next(iter(same or octaves), None)


def _merge(partner: WrittenNote, note: WrittenNote) -> None:
    partner.marks |= note.marks
    partner.string = note.string if partner.string is None else partner.string
    partner.fret = note.fret if partner.fret is None else partner.fret
    partner.finger = note.finger if partner.finger is None else partner.finger
    partner.bend = note.bend if partner.bend is None else partner.bend
    partner.slurs = partner.slurs or note.slurs
