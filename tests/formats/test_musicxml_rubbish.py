"""What is no MusicXML, is damaged, or means harm: one clear line, in bounded time and memory."""

from __future__ import annotations

import io
import time
import zipfile
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tabterm import formats
from tabterm.errors import FormatError
from tabterm.formats import musicxml
from tabterm.formats.musicxml.archive import CONTAINER
from tabterm.formats.musicxml.tree import MAX_DEPTH
from tests.build import score
from tests.formats import musicxml_fuzz
from tests.formats.musicxml_build import attributes, document, note, sounded
from tests.thorough import many

GOOD = document(note("D5", 16))
ROOT = b"<score-partwise"
STANDARD = (
    b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" '
    b'"http://www.musicxml.org/dtds/partwise.dtd">'
)


def with_doctype(doctype: bytes, data: bytes = GOOD) -> bytes:
    return data.replace(ROOT, doctype + b"\n" + ROOT, 1)


def test_the_document_type_of_the_standard_is_allowed():
    assert sounded(musicxml.read(with_doctype(STANDARD)).music) == [(0, 4, (74,))]


LAUGHS = b"".join(b'<!ENTITY l%d "%s">' % (n, b"&l%d;" % (n - 1) * 10) for n in range(1, 10))


@pytest.mark.parametrize(
    "doctype",
    [
        b'<!DOCTYPE s [<!ENTITY x "y">]>',
        b'<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
        b'<!DOCTYPE s [<!ENTITY % x SYSTEM "http://example.org/x.dtd"> %x;]>',
        b'<!DOCTYPE s [<!ENTITY l0 "lol">' + LAUGHS + b"]>",
    ],
)
def test_entities_are_refused(doctype):
    """XML 1.0, section 4: internal, external and parameter entities; none is expanded or fetched."""
    data = with_doctype(doctype, GOOD.replace(b"Fiddle", b"Fiddle &l9;"))
    start = time.perf_counter()
    with pytest.raises(FormatError, match=r"the entity .* is refused") as caught:
        musicxml.read(data)
    assert caught.value.place.startswith("line ")
    assert time.perf_counter() - start < 1


def test_an_entity_that_only_a_fetched_document_type_could_tell_is_refused():
    with pytest.raises(FormatError, match="the entity 'eacute' is refused"):
        musicxml.read(with_doctype(STANDARD, GOOD.replace(b"Fiddle", b"Fiddl&eacute;")))


def test_deep_nesting_is_refused():
    deep = GOOD.replace(b"<note>", b"<note>" + b"<a>" * MAX_DEPTH, 1)
    with pytest.raises(FormatError, match="nested too deeply"):
        musicxml.read(deep + b"<b>" * 500_000)


def test_too_many_elements_are_refused(monkeypatch):
    monkeypatch.setattr("tabterm.formats.musicxml.tree.MAX_ELEMENTS", 100)
    with pytest.raises(FormatError, match="too large") as caught:
        musicxml.read(document(note("D5", 1) * 100))
    assert "at most 100 elements" in caught.value.hint


def test_one_huge_word_is_refused_or_read_in_time():
    huge = GOOD.replace(b"Fiddle", b"F" * 20_000_000)
    start = time.perf_counter()
    with suppress(FormatError):
        musicxml.read(huge)
    assert time.perf_counter() - start < 5


def test_two_voices_of_a_thousand_notes_a_measure_are_read_in_time():
    """No note of the second voice begins with one of the first, so that each is looked for among all of them."""
    first = note("D5", 2) * 990 + "<backup><duration>1980</duration></backup>"
    bar = first + "<forward><duration>1</duration></forward>" + note("G4", 2, voice="2") * 990
    data = document(attributes(divisions=64) + bar, *[bar] * 7)
    start = time.process_time()
    remarks = musicxml.read(data).report.remarks
    assert any("between the first voice's notes are left out (7920 times)" in each.message for each in remarks)
    assert time.process_time() - start < 5


# Archives


def archive(**members: bytes) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in members.items():
            file.writestr(name, content)
    return buffer.getvalue()


def container(path: str, *more: str) -> bytes:
    roots = "".join(f'<rootfile full-path="{each}"/>' for each in (path, *more))
    return f"<container><rootfiles>{roots}</rootfiles></container>".encode()


def test_the_container_says_which_file_is_the_score():
    """MusicXML 4.0: the first rootfile is the score, others are other forms of it."""
    data = archive(**{CONTAINER: container("b/s.xml", "a.pdf"), "a.xml": b"<x/>", "b/s.xml": GOOD, "a.pdf": b""})
    assert sounded(musicxml.read(data).music) == [(0, 4, (74,))]
    assert sounded(musicxml.read(archive(**{"only.xml": GOOD})).music) == [(0, 4, (74,))]


@pytest.mark.parametrize(
    ("members", "message"),
    [
        ({CONTAINER: container("../../etc/passwd"), "s.xml": GOOD}, "names no score"),
        ({CONTAINER: b"<container/>", "s.xml": GOOD}, "names no score"),
        ({"a.xml": GOOD, "b.xml": GOOD}, "to name the score"),
        ({"a.txt": b""}, "to name the score"),
        ({CONTAINER: b" " * 200_000, "s.xml": GOOD}, "too large"),
        ({f"{n}.txt": b"" for n in range(1100)}, "too many files"),
    ],
)
def test_archives_that_cannot_be_read(members, message):
    with pytest.raises(FormatError, match=message):
        musicxml.read(archive(**members))


def test_a_zip_bomb_is_refused():
    """64 MB of blanks in as many kB: only the first 32 MB are ever unpacked."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as file, file.open("s.xml", "w") as member:
        for _ in range(16):
            member.write(b" " * (1 << 22))
    start = time.perf_counter()
    with pytest.raises(FormatError, match=r"'s\.xml' in the archive is too large"):
        musicxml.read(buffer.getvalue())
    assert time.perf_counter() - start < 5


def test_encrypted_and_damaged_archives():
    good = archive(**{"s.xml": GOOD})
    locked = bytearray(good)
    locked[6] |= 1
    locked[good.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(FormatError, match="damaged archive"):
        musicxml.read(bytes(locked))
    for end in (5, 30, len(good) // 2, len(good) - 5):
        with pytest.raises(FormatError, match="damaged archive"):
            musicxml.read(good[:end])


@pytest.mark.parametrize("method", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_member_whose_packing_is_corrupt_is_refused(method):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as file:
        file.writestr("s.xml", GOOD, compress_type=method)
    whole, refused = buffer.getvalue(), 0
    end = whole.index(b"PK\x01\x02")
    for at in range(34, end, max(end // 60, 1)):
        data = bytearray(whole)
        data[at] ^= 0xFF
        try:
            musicxml.read(bytes(data))
        except FormatError:
            refused += 1
    assert refused


# Encodings


@pytest.mark.parametrize(
    ("declared", "codec"),
    [
        ("UTF-8", "utf-8"),
        ("UTF-8", "utf-8-sig"),
        ("UTF-16", "utf-16"),
        ("UTF-16", "utf-16-le"),
        ("UTF-16BE", "utf-16-be"),
        ("ISO-8859-1", "latin-1"),
        ("windows-1252", "cp1252"),
        ("Shift_JIS", "shift_jis"),
        ("UTF-16", "utf-8"),
    ],
)
def test_encodings(declared, codec):
    """XML 1.0, appendix F; the last one is a file that was saved anew by a careless program."""
    name = "琴" if codec == "shift_jis" else "Flöte"
    text = GOOD.decode().replace("UTF-8", declared).replace("<score-partwise", f"<!--{name}-->\n<score-partwise")
    head = f"<work><work-title>{name}</work-title></work><part-list>"
    reading = musicxml.read(text.replace("<part-list>", head).encode(codec))
    assert reading.music.head.title == name


@pytest.mark.parametrize("ends", ["\r\n", "\r", "\n\n"])
def test_line_ends(ends):
    assert sounded(musicxml.read(GOOD.replace(b"\n", ends.encode())).music) == [(0, 4, (74,))]


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "not well-formed XML: no element found"),
        (b"MThd", "not well-formed XML"),
        (b"<html></html>", "the outermost element is <html>"),
        (b"<opus/>", "the outermost element is <opus>"),
        (b"<score-partwise/>", "has no measures"),
        (b"<score-partwise><part id='P1'/></score-partwise>", "has no measures"),
        (GOOD[:-20], "not well-formed XML"),
        (GOOD.replace(b"Fiddle", b"Fl\xf6te"), "not well-formed XML"),
        (GOOD.replace(b"UTF-8", b"zlib"), "unknown encoding 'zlib'"),
        (GOOD.replace(b"UTF-8", b"x-no-such"), "unknown encoding 'x-no-such'"),
        (GOOD.replace(b"UTF-8", b"ascii").replace(b"Fiddle", b"Fl\xf6te"), "declared as ascii"),
        (GOOD.replace(b">16<", b">999999999<"), "longer than any metre"),
    ],
)
def test_what_cannot_be_read_is_one_clear_line(data, message):
    with pytest.raises(FormatError, match=message) as caught:
        musicxml.read(data)
    assert "\n" not in str(caught.value)
    assert caught.value.hint


def test_nothing_is_written_on_failure(tmp_path):
    path = tmp_path / "a.musicxml"
    with pytest.raises(FormatError):
        formats.write(path, score("1 2.3"), view="page")
    assert list(tmp_path.iterdir()) == []


# At random


def test_damaged_files_are_read_or_refused():
    """Some of the inputs of `python -m tests.formats.musicxml_fuzz`."""
    result = musicxml_fuzz.run(150, seed=5)
    assert result.read > 20
    assert result.slowest_s < musicxml_fuzz.SLOWEST_S


SCRAPS = [
    *(note("D5", 4), note("r", 16), note("B4", 8, before="<chord/>"), note("D5", before="<grace/>"), "<note/>"),
    *(
        "<backup><duration>9</duration></backup>",
        "<forward><duration>7</duration></forward>",
        "<note><rest/></note>",
    ),
    "<attributes><divisions>3</divisions><time><beats>5</beats><beat-type>16</beat-type></time></attributes>",
    "<attributes><time><beats>0</beats><beat-type>4</beat-type></time><key><fifths>40</fifths></key></attributes>",
    "<attributes><time><senza-misura/></time><transpose><chromatic>-90</chromatic></transpose></attributes>",
    "<attributes><measure-style><measure-repeat type='start'>2</measure-repeat></measure-style></attributes>",
    "<attributes><staff-details><staff-tuning line='99999999'/></staff-details></attributes>",
    "<attributes><clef><sign>TAB</sign></clef></attributes>",
    "<harmony><root><root-step>H</root-step></root><kind>no such</kind><offset>-3</offset></harmony>",
    "<direction><direction-type><metronome><per-minute>9999</per-minute></metronome></direction-type></direction>",
    "<sound tempo='nan'><swing><first>0</first><second>0</second></swing></sound>",
    "<barline location='left'><ending number='' type='start'/><repeat direction='backward' times='1'/></barline>",
    note(
        "D5",
        4,
        notations="<technical><string>0</string><fret>99</fret><bend/><hammer-on type='stop'/></technical>",
    ),
    note("D5", 4, notations="<tied type='stop'/><slur type='stop'/><ornaments><tremolo>x</tremolo></ornaments>"),
]


@settings(max_examples=many(80, 200), deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.lists(st.sampled_from(SCRAPS), max_size=8), min_size=1, max_size=3))
def test_any_heap_of_elements_is_read_or_refused(heap):
    with suppress(FormatError):
        musicxml.read(document(*("".join(scraps) for scraps in heap)))
