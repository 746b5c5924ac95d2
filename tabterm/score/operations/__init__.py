"""Operations: pure functions from a score and arguments to a score.

Each raises ScoreError, with the place and what to do, for what cannot be done; untouched measures stay the
same objects; an operation that changes nothing gives the score itself back. None has an inverse of its own:
`tabterm.score.change.Change` is derived by comparing.
"""

from tabterm.score.operations.bars import delete_measures, insert_measures, replace_measures, set_pickup
from tabterm.score.operations.chords import set_chord
from tabterm.score.operations.clipboard import Clip, copy, cut, paste
from tabterm.score.operations.courses import move_course, transpose, transpose_to_key
from tabterm.score.operations.draft import map_events
from tabterm.score.operations.entry import (
    delete_time,
    erase,
    hold,
    insert_time,
    put_note,
    remove_note,
    write,
)
from tabterm.score.operations.head import (
    set_credits,
    set_hand,
    set_instrument,
    set_school,
    set_swing,
    set_title,
)
from tabterm.score.operations.marks import (
    scale_tempos,
    section_round,
    set_barline,
    set_endings,
    set_key,
    set_remark,
    set_repeat_start,
    set_repeat_times,
    set_school_of,
    set_section,
    set_tempo,
    tempos_of,
)
from tabterm.score.operations.metres import set_metre
from tabterm.score.operations.notes import (
    add_grace,
    clear_grace,
    set_accent,
    set_bend,
    set_course_held,
    set_finger,
    set_muted,
    set_reached,
    set_ring,
    set_roll,
    set_slide_in,
    set_slide_out,
    set_staccato,
    set_stroke,
    set_tremolo,
    set_vibrato,
)
from tabterm.score.operations.rhythm import join, make_tuplet, set_dots, set_duration, split, toggle_tie
from tabterm.score.operations.values import set_values

__all__ = [
    "Clip",
    "add_grace",
    "clear_grace",
    "copy",
    "cut",
    "delete_measures",
    "delete_time",
    "erase",
    "hold",
    "insert_measures",
    "insert_time",
    "join",
    "make_tuplet",
    "map_events",
    "move_course",
    "paste",
    "put_note",
    "remove_note",
    "replace_measures",
    "scale_tempos",
    "section_round",
    "set_accent",
    "set_barline",
    "set_bend",
    "set_chord",
    "set_course_held",
    "set_credits",
    "set_dots",
    "set_duration",
    "set_endings",
    "set_finger",
    "set_hand",
    "set_instrument",
    "set_key",
    "set_metre",
    "set_muted",
    "set_pickup",
    "set_reached",
    "set_remark",
    "set_repeat_start",
    "set_repeat_times",
    "set_ring",
    "set_roll",
    "set_school",
    "set_school_of",
    "set_section",
    "set_slide_in",
    "set_slide_out",
    "set_staccato",
    "set_stroke",
    "set_swing",
    "set_tempo",
    "set_title",
    "set_tremolo",
    "set_values",
    "set_vibrato",
    "split",
    "tempos_of",
    "toggle_tie",
    "transpose",
    "transpose_to_key",
    "write",
]
