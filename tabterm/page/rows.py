"""The rows of a system, top to bottom: ONE table that screen, text tab, keys, cursor and screen readers draw from.

Each entry says what the row shows, what a key writes on it, how a file keeps it and what gives way to what. A
new row is one entry here, with a function for its cells.
"""

from __future__ import annotations

import re
from dataclasses import field
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from tabterm.dataclass import dataclass
from tabterm.page import cells
from tabterm.page.cells import Weight
from tabterm.page.signs import BRACKET

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from types import ModuleType

    from tabterm.page.cells import Cells, Texts, View
    from tabterm.score.model import Score
    from tabterm.score.place import Place

    Operation = Callable[[Score, Place, int], Score]


def operations() -> ModuleType:
    """The operations on scores, loaded when the first is carried out: a screen is drawn without them."""
    from tabterm.score import operations

    return operations


class Clear(NamedTuple):
    """How what stands on a row is taken away: the name of the change, and the operation at a place and course."""

    label: str
    operation: Operation


@dataclass(frozen=True, slots=True)
class Words:
    """How words are typed on a row.

    Attributes:
        starts: Whether a character begins a word.
        begun: What stands on the line that is typed on, at a place, before the first character.
        width: Cells of that line.
        whole_measure: It begins at the left end of the system rather than at the place.
        hint: What the message line says meanwhile, "" for nothing.
        goes_on: Where a key leads, as a key, that ends the word in front of it; "" where it belongs to the word.
    """

    starts: Callable[[str], bool]
    begun: Callable[[Score, Place], str]
    width: int
    whole_measure: bool = False
    hint: str = ""
    goes_on: Callable[[str, str], str] = lambda _word, _typed: ""


def _after_chord(word: str, typed: str) -> str:
    """A space goes on to the next beat, a capital that can only begin another symbol to the next measure."""
    if typed == " ":
        return "ctrl+right"
    return "tab" if typed in "ABCDEFGH" and word[-1:] not in {"", "/", ".", "("} else ""


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """A kind of line of a system.

    Attributes:
        name: What key map, configuration, commands and text tab call it; the command that writes it, too.
        shows: What stands on it, as a line of help.
        gives_way: Order in which rows are left out on a screen that is too low, the lowest first; 0 never is.
        spare: It is left out, too, where another system has room without it.
        cells: What stands in a measure by offset, for the screen; None where the screen draws it otherwise.
        takes: What a key writes on it: `fret`, `finger` ...; "" where the cursor does not stand on it.
        clear: How what stands here is taken away.
        of_note: What stands here belongs to a note, so there has to be one.
        walks: A key that writes here goes on to the next event.
        words: Words are typed on it.
        keys: Bindings that hold on it alone.
        hidden: It is shown only when asked for.
        hangs: A character at the start of a cell that stands left of its column, "" for none.
        widens: Where it is shown, its cells make the columns of a measure wider.
        printed: What stands in a measure by offset, for a text tab; None where that has no such row.
        above: It stands over the courses in a text tab.
        unasked: It stands in a text tab without being asked for.
        word: What a word of it looks like in a text tab, where others are reported.
        told_by: Whether the words of a line without a name are those of this row.
    """

    name: str
    shows: str
    gives_way: int = 0
    spare: bool = False
    cells: Callable[[View, int], Cells] | None = None
    takes: str = ""
    clear: Clear | None = None
    of_note: bool = False
    walks: bool = False
    words: Words | None = None
    keys: Mapping[str, str] = field(default_factory=dict)
    hidden: bool = False
    hangs: str = ""
    widens: bool = False
    printed: Callable[[Score, int], Texts] | None = None
    above: bool = False
    unasked: bool = True
    word: re.Pattern[str] | None = None
    told_by: Callable[[Sequence[str]], bool] | None = None

    def lead(self, text: str) -> int:
        """How many characters of a cell stand left of its column."""
        return int(bool(self.hangs) and text.startswith(self.hangs))

    def __repr__(self) -> str:
        return f"<row {self.name}>"


# Lines of a text tab without a name

_COUNT_WORD = re.compile(r"^(?:1?\d|&|\+|and|ah|e|a)++$", re.IGNORECASE | re.ASCII)
_RHYTHM_WORD = re.compile(r"^[whqestWHQS]\.{0,2}$")
_VALUE_WORD = re.compile(r"^(?:1|2|4|8|16|32)(?:t|\.{1,2})?$")
FINGER_WORD = re.compile(r"^(?:\{((?:[.0-4]\??)+)\})?((?:[.0-4]\??)*)$")
"""Fingers of an event: those of its grace notes in braces, then its own."""

_STROKE_WORD = re.compile(r"^(?:[DUNduVvn⊓]%?|%)$")


def _all(pattern: re.Pattern[str]) -> Callable[[Sequence[str]], bool]:
    return lambda words: all(pattern.match(word) for word in words)


BETWEEN_CHORDS = frozenset({"%", "-", "\N{EN DASH}", "/", "x2", "(x2)", "2x", "(2x)"})
"""Signs that stand among chord symbols and are none."""

_LIKE_A_CHORD = re.compile(r"^[(\[]?[A-H](?:(?=.*[^a-z])\S+|(?:m|maj|min|dim|aug|sus|add)\S*)$|[\d#♯♭△Δ°ø/]")


def _are_chords(words: Sequence[str]) -> bool:
    """Whether most of the words are chord symbols, and the others look like some."""
    from tabterm.harmony.chords import parse_chord

    told = [word for word in words if word not in BETWEEN_CHORDS]
    known = [any(parse_chord(word, german=german) is not None for german in (False, True)) for word in told]
    others = (word for word, is_known in zip(told, known, strict=True) if not is_known)
    return 2 * sum(known) > len(told) and all(map(_LIKE_A_CHORD.search, others))


def _are_counts(words: Sequence[str]) -> bool:
    return words[0][0].isdigit() and _all(_COUNT_WORD)(words) and not _are_values(words)


def _are_values(words: Sequence[str]) -> bool:
    """Whether figures are note values (`4 8 8`), not a count (`1 2 3 4`), its beats 2 and 4, or measures."""
    if len(words) < 2 or not _all(_VALUE_WORD)(words):
        return False
    if not all(map(str.isdigit, words)):
        return True
    numbers = list(map(int, words))
    back_beats = (
        numbers[:2] == [2, 4] and set(numbers) == {2, 4} and all(one != two for one, two in pairwise(numbers))
    )
    counts = numbers[0] == 1 and all(two in {1, one + 1, one + 2} for one, two in pairwise(numbers))
    return not (back_beats or counts)


def _in_cells(texts: Callable[[Score, int], Texts], weight: Weight = Weight.FAINT) -> Callable[[View, int], Cells]:
    return lambda view, index: cells.in_one_weight(texts(view.score, index), weight)


def _told_of_notes(
    name: str, shows: str, texts: Callable[[Score, int], Texts], gives_way: int, *, shown: bool = False
) -> Row:
    """A row that says something of each note, below the others."""
    told = _in_cells(texts, Weight.DEGREE)
    return Row(name, shows, gives_way, shown, told, hidden=not shown, widens=True, printed=texts, unasked=False)


# The table

REMARK = Row(
    "remark",
    "measure numbers, sections, changes of metre, key and tempo, endings, remarks",
    gives_way=8,
    takes="remark",
    clear=Clear("delete remark", lambda score, place, _course: operations().set_remark(score, place.measure, "")),
    words=Words(
        starts=lambda typed: len(typed) == 1,
        begun=lambda score, place: score.measures[min(place.measure, len(score.measures) - 1)].remark,
        width=60,
        whole_measure=True,
        hint="type text here; enter keeps it, down leaves this row",
    ),
)
CHORD = Row(
    "chord",
    "chord symbols; G7?6 is proposed and 60% sure",
    gives_way=9,
    cells=cells.chord_cells,
    takes="chord",
    clear=Clear("delete chord", lambda score, place, _course: operations().set_chord(score, place, None)),
    words=Words(
        starts=frozenset("ABCDEFGHN").__contains__,
        begun=lambda _score, _place: "",
        width=14,
        hint="space: next beat   another chord, tab: next measure   enter keeps it   down leaves this row",
        goes_on=_after_chord,
    ),
    keys={"enter": "take-heard", "z": "take-heard-measure", "Z": "take-all-heard", "n": "next-heard"},
    printed=cells.chords_printed,
    above=True,
    told_by=_are_chords,
)
COUNT = Row(
    "count",
    "the count, as you say it",
    gives_way=7,
    cells=_in_cells(cells.counts),
    printed=cells.counts,
    above=True,
    told_by=_are_counts,
)
RHYTHM = Row(
    "rhythm",
    "note values: 8, 4. and so on; -4 is a rest, (8) is tied, [8 8 8]3 is a triplet",
    gives_way=12,
    cells=cells.rhythm_cells,
    hangs=BRACKET,
    printed=cells.rhythms,
    above=True,
    told_by=lambda words: _all(_RHYTHM_WORD)(words) or _are_values(words),
)
SOURCE = Row(
    "source",
    "the original line, and where the tab differs from it; ?9 is proposed and 90% sure",
    gives_way=6,
    cells=cells.source_cells,
    takes="proposal",
    clear=Clear("reject proposal", lambda score, place, _course: operations().drop_heard(score, [place])),
    keys={
        "enter": "take-heard",
        "A": "take-heard-measure",
        "Z": "take-all-heard",
        "o": "other-heard",
        "n": "next-heard",
        "delete": "drop-heard",
    },
)
COURSE = Row(
    "course",
    "frets, with slurs, slides and bends; one line for each course",
    takes="fret",
    clear=Clear("delete note", lambda score, place, course: operations().remove_note(score, place, course)),
    of_note=True,
)
FINGER = Row(
    "finger",
    "left-hand fingers: set ones bright, proposed ones faint",
    gives_way=10,
    cells=cells.finger_cells,
    takes="finger",
    clear=Clear("delete finger", lambda score, place, course: operations().set_finger(score, place, course, None)),
    of_note=True,
    walks=True,
    keys={"enter": "accept-fingers", "A": "accept-all-fingers", "B": "free-fingers"},
    printed=cells.fingers_printed,
    word=FINGER_WORD,
)
STROKE = Row(
    "stroke",
    "pick strokes: set ones in capitals, proposed ones in small letters",
    gives_way=11,
    cells=cells.stroke_cells,
    takes="stroke",
    clear=Clear("clear stroke", lambda score, place, _course: operations().set_stroke(score, place, None)),
    of_note=True,
    walks=True,
    keys={
        "enter": "confirm",
        "t": "turn",
        "A": "alternate",
        "T": "turn-all",
        "B": "to-proposal",
        "n": "silent-strokes",
    },
    printed=cells.strokes,
    word=_STROKE_WORD,
    told_by=_all(re.compile(r"^[DUduVvn⊓]%?$")),
)
DEGREE = _told_of_notes(
    "degree", "the degree of each note in its chord, highest course first", cells.degrees, 5, shown=True
)
TONIC = _told_of_notes("tonic", "the degree of each note in the key", cells.tonics, 4)
CLASS = _told_of_notes("class", "what each note does: ct chord tone, pt passing tone ...", cells.classes, 2)
ROMAN = _told_of_notes("roman", "the numeral of each chord in its key: ii7, V7/V, bVII", cells.numerals, 3)
EFFORT = Row("effort", "how close to your limit each event is", gives_way=1, cells=cells.effort_cells, hidden=True)

ROWS = (REMARK, CHORD, COUNT, RHYTHM, SOURCE, COURSE, FINGER, STROKE, DEGREE, TONIC, CLASS, ROMAN, EFFORT)
"""From top to bottom."""

ON_SCREEN = tuple(row for row in ROWS if row.gives_way or row is COURSE)
"""Rows that the screen shows."""

EDITABLE = tuple(row for row in ROWS if row.takes)
"""Rows that the cursor can stand on."""

PRINTED = tuple(row for row in ROWS if row.printed is not None)
"""Rows that a text tab may have beside its courses."""

GIVE_WAY = tuple(sorted((row for row in ON_SCREEN if row.gives_way), key=lambda row: row.gives_way))
"""Rows that are left out where a screen is too low, in this order; courses never are."""


def row_named(name: str, among: Iterable[Row] = ROWS) -> Row | None:
    """The row of a name, or None."""
    return next((row for row in among if row.name == name), None)
