"""Short ways to write MusicXML by hand in tests."""

from __future__ import annotations

from fractions import Fraction

from tabterm.formats import musicxml
from tests.midi import sounding

PART_LIST = '<part-list><score-part id="P1"><part-name>{name}</part-name></score-part></part-list>'
TYPES = {1: "16th", 2: "eighth", 3: "eighth", 4: "quarter", 6: "quarter", 8: "half", 12: "half", 16: "whole"}
"""Note values in divisions of 4 to a quarter; 3, 6 and 12 have a dot."""


def note(
    pitch: str, length: int = 4, *, notations: str = "", before: str = "", after: str = "", **inside: str
) -> str:
    """A note such as `E5` or `F#4`, a rest `r`, in divisions of 4 to a quarter; `inside` sets elements."""
    if pitch == "r":
        what = "<rest/>"
    else:
        alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
        what = f"<pitch><step>{pitch[0]}</step>{alter}<octave>{pitch[-1]}</octave></pitch>"
    kind = inside.get("type", TYPES.get(length, ""))
    value = (f"<type>{kind}</type>" if kind else "") + ("<dot/>" if length in {3, 6, 12} else "")
    voice = f"<voice>{inside.get('voice', '1')}</voice>"
    staff = f"<staff>{inside['staff']}</staff>" if "staff" in inside else ""
    marks = f"<notations>{notations}</notations>" if notations else ""
    duration = "" if "<grace" in before else f"<duration>{length}</duration>"
    return f"<note>{before}{what}{duration}{voice}{value}{after}{staff}{marks}</note>"


def technical(string: int, fret: int, *more: str) -> str:
    """String and fret, and what stands beside them."""
    return f"<technical><string>{string}</string><fret>{fret}</fret>{''.join(more)}</technical>"


def attributes(*more: str, time: tuple[int | str, int] = (4, 4), divisions: int = 4) -> str:
    """Divisions and a time signature."""
    signature = f"<time><beats>{time[0]}</beats><beat-type>{time[1]}</beat-type></time>"
    return f"<attributes><divisions>{divisions}</divisions>{signature}{''.join(more)}</attributes>"


def bars(*contents: str) -> str:
    """Measures; the first gets attributes where it has none."""
    first = contents[0] if "<divisions>" in contents[0] else attributes() + contents[0]
    return "".join(f'<measure number="{n}">{each}</measure>' for n, each in enumerate((first, *contents[1:]), 1))


def document(*contents: str, head: str = "", name: str = "Fiddle", part_list: str = "") -> bytes:
    """A partwise file of one part with these measures."""
    parts = part_list or PART_LIST.format(name=name)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">{head}{parts}\n'
        f'<part id="P1">{bars(*contents)}</part></score-partwise>'
    ).encode()


def read(*contents: str, **more: str):
    """The score of these measures."""
    return musicxml.read(document(*contents, **more)).music


def remarks(*contents: str, **more: str) -> list[str]:
    """What is remarked on these measures."""
    return [remark.message for remark in musicxml.read(document(*contents, **more)).report.remarks]


def sounded(score) -> list[tuple[Fraction, Fraction, tuple[int, ...]]]:
    """Onset, length and pitches of everything that is struck or slurred, tied parts joined."""
    found: list[tuple[Fraction, Fraction, tuple[int, ...]]] = []
    at = Fraction(0)
    for measure in score.measures:
        for event in measure.events:
            pitches = tuple(sounding(score, each) for each in event.notes)
            if pitches and all(each.tied for each in event.notes):
                onset, length, before = found.pop()
                found.append((onset, length + event.length, before))
            elif pitches:
                found.append((at, event.length, pitches))
            at += event.length
    return found
