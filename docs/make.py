"""Make the documents that are drawn from the program: tables, the JSON Schema, pictures.

python docs/make.py            writes them
python docs/make.py keys       writes one of: hand, strokes, hand-picture, keys ...
python docs/make.py pictures DIR [NAME ...]  draws the editor on terminals of every size and kind into a folder
"""

from __future__ import annotations

import io
import json
import os
import shlex
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from functools import partial
from pathlib import Path
from unittest.mock import patch

DOCS = Path(__file__).parent
SAMPLE = DOCS.parent / "samples" / "quarry-road-breakdown.tabterm"
sys.path.insert(0, str(DOCS))
KEYS_HEAD = """# Keys

```sh
tabterm keys      # your keys; `?` shows them in the editor
```

These are the default keys; [two pages to print](cheat-sheet.pdf) have them too. A key of one row goes before the
same key elsewhere. On the chord row a capital letter begins a chord symbol. On the remark row every character is
text.

To change keys, write a `config.toml` in the folder that your system keeps configurations in (Linux:
`~/.config/tabterm`), or name a file in the variable `TABTERM_CONFIG`:

```toml
[keys.anywhere]
"ctrl+up" = "export"    # a key, a command
"w" = "step 2"          # a command with its word
"x" = ""                # nothing
[keys.stroke]           # only on the stroke row
"b" = "stroke-down"

[hand]                  # `tabterm hand` writes this for you
span_mm = 150           # flat span from index to little finger
weak = [4]              # weak fingers
[hand.speeds]           # notes per second
strokes = 9.3

[chords]
names = "german"        # B is B flat, H is B; english; without this line: german where a chord is an H

[fingering]
learn = true            # learn, on saving, from the fingers you set against a proposal

[sound]
output = "port:synth"   # where the sound goes; auto follows the rule on the page of outputs
count_in = 1
click = "beats"         # off, offbeats
parts = "both"          # solo; both: with chords and bass; chords: without the solo
style = "waltz"         # of chords and bass; without this line: by metre and swing
groove = true
tone = "room 50"        # of the built-in strings: brightness, body, room, detuning in percent

[outputs."port:synth"]  # what is sent to the synthesiser behind this port
parts = ["solo", "chords", "bass"]
programs = { solo = 26, bass = 33 }
pans = { solo = 20, chords = -20 }

[screen]
theme = "light"         # dark, light, terminal (its own 16 colours)
characters = "auto"     # unicode, ascii; auto goes by the locale
plain = false           # for a screen reader
mouse = false
```

A setting or binding that cannot be used is reported in one line, with the file and the line. Its default is used,
and the rest of the file counts.

"""

PICKED = {
    "by-the-beat": (
        ("beat",),
        """metre: 4/4

rhythm  4       8   8   8   8   4        8   4       4       4       8
E      |--------------------------------|--------------------0-------2---|
A      |------------0---2---h3----------|0---2-------3-------------------|
D      |2-------4---------------0-------|--------------------------------|
G      |--------------------------------|--------------------------------|
""",
    ),
    "jig": (
        ("beat", "alternate"),
        """metre: 6/8

rhythm  8   8   8   8   8   8    4       8   4.
E      |------------------------|0-----------2-----------|
A      |----------------0---3---|--------0---------------|
D      |0---2---4---0-----------|------------------------|
G      |------------------------|------------------------|
""",
    ),
    "new-course": (
        ("beat", "course-change"),
        """metre: 2/4

rhythm  16  16  16  16  16  16  16  16
E      |----0---2-----------------------|
A      |2-----------2---3---5---3---2---|
D      |--------------------------------|
G      |--------------------------------|
""",
    ),
    "glide": (
        ("beat", "glide"),
        """metre: 4/4

rhythm  8   8   8   8   8   8   8   8
E      |------------0---2---3---5---3---|
A      |--------2-----------------------|
D      |----2---------------------------|
G      |2-------------------------------|
""",
    ),
    "roll": (
        ("roll-down-down-up", "roll-down-up-up", "roll-alternate"),
        """metre: 4/4

rhythm  8   8   8   8   8   8   8   8    8   8   8   8   8   8   8   8
E      |--------0-----------0-------0---|----0-----------0-----------0---|
A      |----2-----------2---------------|--------2-----------2-----------|
D      |2-----------2-----------2-------|2-----------2-----------2-------|
G      |--------------------------------|--------------------------------|
""",
    ),
    "tremolo": (
        ("beat", "tremolo"),
        """metre: 4/4

rhythm  2       4   4    4   2.
E      |----------------|----0-----------|
A      |2-------3---5---|(5)-------------|
D      |----------------|----------------|
G      |----------------|----------------|
""",
    ),
}
"""Passages of the page of the strokes, with the schools that pick them there."""


def keys() -> str:
    """The key table."""
    return KEYS_HEAD + _key_table()


def _key_table() -> str:
    """Every command by group: its keys with their words, what it does, its name for the configuration file."""
    from tabterm.workspace.keymap import ANYWHERE, Keymap
    from tabterm.workspace.registry import REGISTRY, Group

    keymap = Keymap()
    lines: list[str] = []
    for group in Group:
        lines += [f"## {group.value}", "", "| keys | what it does | command |", "|---|---|---|"]
        for command in REGISTRY.values():
            if command.group is group:
                keys = ", ".join(
                    _code(key) + f" {word}".rstrip() + ("" if context == ANYWHERE else f" ({context} row)")
                    for context, key, word in keymap.keys_of(command.name)
                )
                lines.append(f"| {keys} | {command.title} | `{command.name}` |")
        lines.append("")
    return "\n".join(lines)


def _code(key: str) -> str:
    """A key as Markdown code that may hold a back-tick or a bar."""
    shown = key.replace("|", "\\|")
    return f"`` {shown} ``" if "`" in shown else f"`{shown}`"


def schema() -> str:
    """The JSON Schema of the native file."""
    from tabterm.formats.native import json_schema

    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def hand() -> str:
    """The page of the hand, with the tables of terms and habits as the program has them."""
    from tabterm.hand.terms import HABITS, TERMS, WORST

    terms = ["| term | what takes effort | unit | points a unit | source |", "|---|---|---|---|---|"]
    terms += [
        f"| `{name}` | {term.words} | {term.unit} | {term.weight:g} | {term.source} |"
        for name, term in TERMS.items()
        if name not in HABITS
    ]
    habits = ["| habit | what is counted | points above 0 | points below 0 |", "|---|---|---|---|"]
    habits += [
        f"| `{name}` | {TERMS[name].words}, a {TERMS[name].unit} | {more} | {less or 'not learnt'} |"
        for name, (more, less) in HABITS.items()
    ]
    tables = {
        "terms": terms,
        "habits": habits,
        "worst": [f"This second time, it counts {WORST:g} times."],
        "frames": _frames(),
    }
    return _filled("hand.md", tables)


def findings() -> str:
    """The page of the findings, with them and the kinds of remedies as the program has them."""
    from tabterm.hand.finding import CODES, KINDS, UNASKED

    codes = [
        "| finding | what it means |",
        "|---|---|",
        *(f"| `{code}` | {words} |" for code, words in CODES.items()),
    ]
    kinds = [
        "| kind | what it changes | by one key and `--fix` |",
        "|---|---|---|",
        *(f"| `{kind}` | {words} | {'yes' if kind in UNASKED else 'no'} |" for kind, words in KINDS.items()),
    ]
    return _filled("findings.md", {"findings": codes, "remedies": kinds})


def _frames() -> list[str]:
    """A table of what the little finger reaches from fret 2, on necks of several lengths."""
    from tabterm.hand.bands import BANDS, TOLERANCE, judge
    from tabterm.instrument import PRESETS, stretch_mm
    from tabterm.score.profile import REFERENCE_HAND

    span_mm, easy_mm = REFERENCE_HAND.span_mm, BANDS[1, 4].comfortable_mm
    finding = f"a finding from {TOLERANCE * easy_mm:.1f} mm"
    rows = [
        f"| neck | fret | reach (comfortable up to {easy_mm:g} mm, {finding}) | the next fret |",
        "|---|---|---|---|",
    ]
    for word in ("mandolin", "octave-mandolin", "tenor-banjo"):
        length_mm = PRESETS[word].scale_length_mm
        within = [fret for fret in range(3, 13) if stretch_mm(length_mm, 2, fret) <= TOLERANCE * easy_mm]
        mm, next_mm = (stretch_mm(length_mm, 2, fret) for fret in (within[-1], within[-1] + 1))
        words = f"{next_mm:.1f} mm, {judge((1, 4), next_mm, span_mm)}"
        rows.append(f"| {PRESETS[word].name}, {length_mm:g} mm | {within[-1]} | {mm:.1f} mm | {words} |")
    return rows


def difficulty() -> str:
    """The page of the difficulty, with what the command prints of the sample."""
    from tabterm.cli.main import main as tabterm

    with tempfile.TemporaryDirectory() as nobodys, redirect_stdout(io.StringIO()) as printed:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{nobodys}/none")
        with patch.dict(os.environ, homes):
            tabterm(["hard", str(SAMPLE)])
    lines = printed.getvalue().replace(shlex.quote(str(SAMPLE)), "tune.tabterm").splitlines()
    first = next(number for number, line in enumerate(lines) if line.startswith("1. "))
    count = next(number for number, line in enumerate(lines) if line.startswith("   count"))
    blocks = {"phrase": lines[: first - 1], "passage": lines[first:count]}
    return _filled("difficulty.md", {name: ["```", *block, "```"] for name, block in blocks.items()})


def analysis() -> str:
    """The page of analysis, with what the command prints of the sample."""
    from tabterm.cli.main import main as tabterm

    with redirect_stdout(io.StringIO()) as printed:
        tabterm(["explain", str(SAMPLE)])
    return _filled("analysis.md", {"explained": ["```", *printed.getvalue().rstrip().splitlines(), "```"]})


def double_stops() -> str:
    """The page of double stops, with what the commands print."""
    from tabterm.cli.main import main as tabterm

    tables = {}
    lists = {"of-chord": ["D7", "--frets", "0-7"], "of-solo": ["--file", str(SAMPLE)]}
    with tempfile.TemporaryDirectory() as nobodys:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{nobodys}/none")
        for name, words in lists.items():
            with redirect_stdout(io.StringIO()) as printed, patch.dict(os.environ, homes):
                tabterm(["dyads", *words])
            tables[name] = ["```", *printed.getvalue().rstrip().splitlines(), "```"]
    return _filled("double-stops.md", tables)


def new_phrases() -> str:
    """The page of new phrases, with what the command prints and the rules of a melody."""
    from tabterm.cli.main import main as tabterm
    from tabterm.hand.invention import APART, LEAST_APART
    from tabterm.harmony.craft import RULES
    from tabterm.harmony.inventing import WORDS, Way

    rules = [
        "| rule | weight | |",
        "|---|---|---|",
        *(f"| `{r.name}` | {r.weight:g} | {r.words} |" for r in RULES),
    ]
    ways = ["| `--way` | what you get | how much any two differ |", "|---|---|---|"]
    ways += [f"| `{way}` | {WORDS[way]} | {APART.get(way, LEAST_APART):.0%} of the notes |" for way in Way]
    tables = {"rules": rules, "ways": ways}
    lists = {
        "ornamented": ["--from", "5", "--to", "8", "--way", "ornamented", "--count", "2"],
        "pool": [
            "--from",
            "5",
            "--to",
            "6",
            "--pool",
            "D mixolydian",
            "--contour",
            "rises and falls",
            "--count",
            "1",
        ],
    }
    tune = str(SAMPLE.parent / "lantern-waltz.tabterm")
    with tempfile.TemporaryDirectory() as nobodys:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{nobodys}/none")
        for name, words in lists.items():
            with redirect_stdout(io.StringIO()) as printed, patch.dict(os.environ, homes):
                tabterm(["invent", tune, *words])
            tables[name] = ["```", *printed.getvalue().rstrip().splitlines(), "```"]
    return _filled("new-phrases.md", tables)


def lesson() -> str:
    """The example that leads from a solo to a lesson, with what its commands print."""
    from tabterm.cli.main import main as tabterm

    part = ["--from", "5", "--to", "8"]
    lists = {
        "explained": ["explain", str(SAMPLE), *part],
        "dyads": ["dyads", "--file", str(SAMPLE), *part],
        "invented": ["invent", str(SAMPLE), "--from", "7", "--to", "8", "--count", "3"],
    }
    tables = {}
    with tempfile.TemporaryDirectory() as nobodys:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{nobodys}/none")
        for name, words in lists.items():
            with redirect_stdout(io.StringIO()) as printed, patch.dict(os.environ, homes):
                tabterm(words)
            tables[name] = ["```", *printed.getvalue().rstrip().splitlines(), "```"]
    return _filled("lesson.md", tables)


def neck() -> str:
    """The page of the neck, with what the command prints."""
    from tabterm.cli.main import main as tabterm
    from tabterm.harmony.pools import SCALES

    tables = {
        "scales": ["| scale | degrees |", "|---|---|", *(f"| {name} | {told} |" for name, told in SCALES.items())]
    }
    lists = {"scale": ["G", "major", "pentatonic"], "positions": ["A", "major", "--positions"]}
    with tempfile.TemporaryDirectory() as nobodys:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "TABTERM_CONFIG"), f"{nobodys}/none")
        for name, words in lists.items():
            with redirect_stdout(io.StringIO()) as printed, patch.dict(os.environ, homes):
                tabterm(["neck", *words])
            tables[name] = ["```", *printed.getvalue().rstrip().splitlines(), "```"]
    return _filled("neck.md", tables)


def _drawn(pool: str, dyads: str | None = None) -> str:
    """A drawing of the neck."""
    from tabterm.hand.neck import neck_of
    from tabterm.hand.player import Player
    from tabterm.harmony.pools import pool_named
    from tabterm.page.neck_map import svg_of
    from tabterm.page.neck_views import maps_of
    from tabterm.score.model import Head

    return svg_of(maps_of(neck_of(Head(), Player()), pool_named(pool), 12, dyads=dyads)[0])


def neck_scale() -> str:
    """The picture of a scale on the neck."""
    return _drawn("G major")


def neck_dyads() -> str:
    """The picture of double stops on the neck."""
    return _drawn("G", "3-1")


def strokes() -> str:
    """The page of the strokes, with the table of schools as the program has it."""
    from tabterm.hand.schools import SCHOOLS

    rows = ["| school | what it does | source |", "|---|---|---|"]
    rows += [f"| `{name}` | {school.words} | {school.source} |" for name, school in SCHOOLS.items()]
    return _filled("strokes.md", {"schools": rows} | {name: _picked(*each) for name, each in PICKED.items()})


def _picked(schools: tuple[str, ...], tab: str) -> list[str]:
    """A passage as a block of text tab, with a row of strokes for each school."""
    from tabterm.formats import text
    from tabterm.hand.player import Player
    from tabterm.hand.schools import by_school, school_named
    from tabterm.hand.strokes import with_proposals

    passage = text.read(tab.encode()).music
    wide, block = max(map(len, schools)) + 1, []
    for school in schools:
        picked = with_proposals(by_school(passage, school_named(school)), Player())
        rows = text.write(picked, width=100, rows=("stroke",)).decode().partition("\n\n")[2].splitlines()
        courses = [row for row in rows if "|" in row]
        block += [] if block else [row[:1].ljust(wide) + row[row.index("|") :] for row in courses]
        block += [school.ljust(wide) + row[courses[0].index("|") :] for row in rows if row.startswith("stroke")]
    return ["```", *map(str.rstrip, block), "```"]


SHAPES = (
    "G",
    "C",
    "D",
    "A",
    "E",
    "F",
    "Bb",
    "Am",
    "Em",
    "Dm",
    "G7",
    "C7",
    "D7",
    "A7",
    "E7",
    "Bdim7",
    "Gmaj7",
    "G6",
)
"""Chords whose shapes are shown."""

METRES = ("4/4", "2/4", "3/4", "6/8", "9/8", "7/8")
"""Metres whose patterns are shown."""


STYLE_METRES = {"waltz": "3/4", "jig": "6/8"}
"""Metres in which styles are shown, where not in 4/4."""

LINE = ("G", "G", "C", "D7", "G")
"""Chords over which styles are shown."""


def _in_notes(name: str) -> str:
    """A line of the table: what a style plays over a line of chords, one a measure, under a long high note."""
    from fractions import Fraction

    from tabterm.instrument import pitch_name
    from tabterm.performance import Options, Part, perform
    from tabterm.score.key import Key
    from tabterm.score.metre import Metre
    from tabterm.score.model import ChordMark, Event, Head, Measure, Note, Score
    from tabterm.score.operations.spelling import spell
    from tabterm.score.tempo import Tempo

    metre = Metre.parse(STYLE_METRES.get(name, "4/4"))
    duration, *_ = spell(Fraction(0), metre.length, metre)
    event = Event(duration=duration, notes=(Note(course=1, fret=7),))
    bars = [Measure(events=(event,), chords=(ChordMark(offset=Fraction(0), symbol=each),)) for each in LINE]
    score = Score(head=Head(metre=metre, key=Key.parse("G"), tempo=Tempo(60.0)), measures=tuple(bars))
    options = Options(parts=frozenset({Part.CHORDS, Part.BASS}), style=name, groove=False)
    performance = perform(score, options=options)
    bass = [
        " ".join(
            pitch_name(each.pitch)
            for each in sorted(performance.plucks, key=lambda pluck: pluck.start_s)
            if each.part is Part.BASS and bar.start_s <= each.start_s < bar.end_s
        )
        for bar in performance.measures
    ]
    chords: dict[float, list[int]] = {}
    for each in sorted(performance.plucks, key=lambda pluck: pluck.start_s):
        if each.part is Part.CHORDS and each.start_s < performance.measures[0].end_s:
            chords.setdefault(each.start_s, []).append(each.pitch)
    strokes = [f"{start_s + 1:g}: {' '.join(map(pitch_name, sorted(notes)))}" for start_s, notes in chords.items()]
    return f"| `{name}` | {metre} | {', '.join(bass)} | {'; '.join(strokes)} |"


def accompaniment() -> str:
    """The page of chords and bass, with its tables as the program has them."""
    from tabterm.harmony.chords import ALTERATIONS, QUALITIES, parse_chord
    from tabterm.harmony.voicings import shapes
    from tabterm.instrument import PRESETS
    from tabterm.performance.styles import STYLES, pattern_of
    from tabterm.score.metre import Metre

    def program(number: int | None) -> str:
        return "-" if number is None else str(number + 1)

    def frets(symbol: str, *, ringing: bool) -> str:
        chord = parse_chord(symbol)
        return str(shapes(chord, PRESETS["mandolin"], ringing=ringing)[0]) if chord else ""

    names = [", ".join(f"`C{name}`" for name in each) for each in QUALITIES]
    styles = ["| style | what it does | chords | bass | source |", "|---|---|---|---|---|"]
    styles += [
        f"| `{name}` | {style.words} | {program(style.chords_program)} | {program(style.bass_program)} "
        f"| {style.source} |"
        for name, style in STYLES.items()
    ]
    heard = ["| style | metre | bass, measure by measure | chords in the first |", "|---|---|---|---|"]
    heard += [_in_notes(name) for name in STYLES]
    patterns = ["| style | metre | bass | at the end of a phrase | chords |", "|---|---|---|---|---|"]
    for name, style in STYLES.items():
        for metre in METRES if style.patterns else ("any",):
            pattern = pattern_of(name, Metre.parse("4/4" if metre == "any" else metre))
            walk = f"`{pattern.walk}`" if pattern.walk else ""
            patterns.append(f"| `{name}` | {metre} | `{pattern.bass}` | {walk} | `{pattern.chords}` |")
    held = ["| chord | stopped | ringing |", "|---|---|---|"]
    held += [f"| {each} | {frets(each, ringing=False)} | {frets(each, ringing=True)} |" for each in SHAPES]
    tables = {
        "qualities": [f"* {each}" for each in names],
        "alterations": [", ".join(f"`{word}`" for word in ALTERATIONS)],
        "styles": styles,
        "heard": heard,
        "patterns": patterns,
        "shapes": held,
    }
    return _filled("accompaniment.md", tables)


def judgement() -> str:
    """The page of the advice, with the first chord shape of each sort as the hand has it."""
    from tabterm.hand.neck import neck_of
    from tabterm.hand.player import Player
    from tabterm.hand.shapes import table
    from tabterm.harmony.chords import parse_chord
    from tabterm.harmony.voicings import Sort
    from tabterm.instrument import PRESETS
    from tabterm.score.model import Head

    def cell(symbol: str, sort: Sort, instrument: str) -> str:
        chord = parse_chord(symbol)
        found = table(neck_of(Head(instrument=PRESETS[instrument]), Player()), chord) if chord else ()
        best = next((shape for shape in found if shape.voicing.sort is sort), None)
        if best is None:
            return "-"
        fingers = "".join(map(str, reversed(best.held.fingers)))
        return f"{best.voicing} {fingers}"

    rows = [
        "| chord | open | closed | three notes | two notes | octave mandolin, closed |",
        "|---|---|---|---|---|---|",
    ]
    for symbol in SHAPES:
        cells = [cell(symbol, sort, "mandolin") for sort in Sort]
        rows.append(f"| {symbol} | {' | '.join(cells)} | {cell(symbol, Sort.CLOSED, 'octave-mandolin')} |")
    return _filled("judgement.md", {"chord-shapes": rows})


def sound() -> str:
    """The page of the built-in instrument, with its table of timbres as the program has them."""
    from tabterm.instrument.presets import PRESETS
    from tabterm.instrument.strings import hertz_of
    from tabterm.sound.timbre import TIMBRES

    rows = ["| instrument | lowest course rings (60 dB) | highest | pick from the bridge |", "|---|---|---|---|"]
    for word, instrument in PRESETS.items():
        timbre = TIMBRES[word]
        low_s, high_s = (timbre.ring_s(hertz_of(instrument.courses[index].pitch)) for index in (-1, 0))
        rows.append(f"| {instrument.name} | {low_s:.1f} s | {high_s:.1f} s | {timbre.pick_mm:g} mm |")
    return _filled("sound.md", {"timbres": rows})


def _filled(file: str, tables: dict[str, list[str]]) -> str:
    """A page with lines put between its marks `<!-- name -->` and `<!-- end -->`."""
    page = (DOCS / file).read_text(encoding="utf-8")
    for name, lines in tables.items():
        before, found, rest = page.partition(f"<!-- {name} -->\n")
        _, end, after = rest.partition("<!-- end -->")
        page = before + found + "\n".join(lines) + "\n" + end + after
    return page


def phrase_book() -> str:
    """The page of the phrase book, with what the command prints of the phrases that come along."""
    from tabterm.cli.main import main as tabterm

    lists = {"found": ["find", "swing", "ii-V-I"], "shown": ["show", "5"]}
    tables = {}
    with tempfile.TemporaryDirectory() as nobodys:
        homes = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"), f"{nobodys}/none")
        homes["TABTERM_CONFIG"] = f"{nobodys}/config"
        terminal = patch("tabterm.cli.tables.is_read_by_a_person", return_value=True)
        with patch.dict(os.environ, homes | {"COLUMNS": "78"}), terminal:
            with redirect_stdout(io.StringIO()):
                tabterm(["phrases", "import"])
            for name, words in lists.items():
                with redirect_stdout(io.StringIO()) as printed, redirect_stderr(io.StringIO()) as told:
                    tabterm(["phrases", *words])
                if told.getvalue():
                    tables[f"{name} beside"] = ["```", *told.getvalue().splitlines(), "```"]
                tables[name] = ["```", *printed.getvalue().rstrip().splitlines(), "```"]
    return _filled("phrase-book.md", tables)


def constants() -> str:
    """The page of the constants, as the code declares them."""
    import constants

    return constants.page()


def editor_picture() -> str:
    """The picture of the editor."""
    import editor_picture

    return editor_picture.picture()


def page_picture(name: str) -> str:
    """A picture of the editor on a page."""
    from editor_picture import PAGES, picture

    return picture(PAGES[name])


def hand_picture() -> str:
    """The picture of the page of the hand."""
    import hand_picture

    return hand_picture.picture()


def rooms_picture() -> str:
    """The rooms of the house, as the code has them."""
    import rooms_picture

    return rooms_picture.picture()


def sheet_picture() -> bytes:
    """The first systems of a finished sheet, as a PNG picture in sixteen greys."""
    import io

    from PIL import Image

    from tabterm.formats import native
    from tabterm.piece.sheet import laid_out
    from tabterm.sheet.engrave import engrave
    from tabterm.sheet.files import written

    sample = DOCS.parent / "samples" / "quarry-road-breakdown.tabterm"
    score = native.read(sample.read_bytes())
    sheet = engrave(score, laid_out(score, paper="a4"))
    page = sheet.pages[0]
    shown = [sign for sign in page.signs if sign.measure is not None and sign.measure <= SHEET_MEASURES]
    bottom_mm = max(sign.box[1] + sign.box[3] for sign in shown)
    picture = Image.open(io.BytesIO(written(sheet, score, ".png", SHEET_DPI).files[0])).convert("L")
    made = io.BytesIO()
    picture = picture.crop((0, 0, picture.width, round(picture.height * (bottom_mm + 8) / page.height_mm)))
    picture.quantize(16).save(made, "PNG", optimize=True)
    return made.getvalue()


def commands() -> str:
    """The page of all commands."""
    import commands_page

    return commands_page.commands_page()


def cheat_sheet() -> bytes:
    """The printed sheet of keys and commands."""
    import cheat_sheet as sheet

    return sheet.cheat_sheet()


def handout() -> bytes:
    """The booklet of a finished handout."""
    import handout_picture

    return handout_picture.booklet()


def handout_picture() -> bytes:
    """A page of that booklet, beside the page on a phone."""
    import handout_picture

    return handout_picture.picture()


SHEET_MEASURES, SHEET_DPI = 5, 110
"""The last measure that the picture of a sheet shows, and its dots an inch."""

PICTURES = {
    "editor-picture": ("editor.svg", editor_picture),
    **{
        f"{name}-picture": (f"{name}.svg", partial(page_picture, name))
        for name in ("findings", "plain", "practice-log", "recording")
    },
    "hand-picture": ("hand.svg", hand_picture),
    "neck-scale": ("neck-scale.svg", neck_scale),
    "neck-dyads": ("neck-dyads.svg", neck_dyads),
    "rooms-picture": ("rooms.svg", rooms_picture),
}
"""Every picture of the documents; the tests compare the text in each with one made anew."""

MADE = {
    "hand": ("hand.md", hand),
    "findings": ("findings.md", findings),
    "difficulty": ("difficulty.md", difficulty),
    "analysis": ("analysis.md", analysis),
    "double-stops": ("double-stops.md", double_stops),
    "neck": ("neck.md", neck),
    "new-phrases": ("new-phrases.md", new_phrases),
    "phrase-book": ("phrase-book.md", phrase_book),
    "lesson": ("lesson.md", lesson),
    "strokes": ("strokes.md", strokes),
    "accompaniment": ("accompaniment.md", accompaniment),
    "judgement": ("judgement.md", judgement),
    "sound": ("sound.md", sound),
    "constants": ("constants.md", constants),
    "keys": ("keys.md", keys),
    "commands": ("commands.md", commands),
    "cheat-sheet": ("cheat-sheet.pdf", cheat_sheet),
    "schema": ("tabterm.schema.json", schema),
    **PICTURES,
    "sheet-picture": ("sheet.png", sheet_picture),
    "handout": ("../samples/quarry-road-breakdown-handout.pdf", handout),
    "handout-picture": ("handout.png", handout_picture),
}
"""What can be made: its file, and the function that makes its text or bytes."""


ALONG = {"keys": ("commands", "cheat-sheet")}
"""What is made of the same table."""


def pictures(folder: Path, names: list[str]) -> None:
    """Draw the editor as it looks on many terminals, to be looked at."""
    from editor_picture import SHOTS, picture

    folder.mkdir(parents=True, exist_ok=True)
    for name in names or SHOTS:
        (folder / f"{name}.svg").write_text(picture(SHOTS[name]), encoding="utf-8")
        print(folder / f"{name}.svg")


def main(names: list[str]) -> None:
    """Write the documents named, or all; or pictures into a folder."""
    if names[:1] == ["pictures"]:
        pictures(Path(names[1]), names[2:])
        return
    for name in [each for word in names for each in (word, *ALONG.get(word, ()))] or MADE:
        file, make = MADE[name]
        made = make()
        (DOCS / file).write_bytes(made if isinstance(made, bytes) else made.encode())
        print(f"docs/{file}")


if __name__ == "__main__":
    main(sys.argv[1:])
