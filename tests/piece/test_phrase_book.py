"""The phrase book: kept, found by anything, shared, mended, carried to other machines."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tabterm.errors import ScoreError, StorageError
from tabterm.formats import native
from tabterm.hand.finding import Severity
from tabterm.hand.proposals import with_hands
from tabterm.hand.review import findings
from tabterm.harmony.figures import apart
from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.entry import (
    LEVELS,
    Label,
    cut_out,
    facts,
    figure,
    identity,
    kept,
    label_of,
    labelled,
    said,
    tags_of,
    whole,
)
from tabterm.piece.phrase_book.folder import starting_book, taken_in, written_out
from tabterm.piece.phrase_book.tables import FIRST, insert
from tabterm.piece.phrase_book.wish import SAME_CHORDS, SAME_STEPS, SAME_TIME, Wish, setting_at
from tabterm.score.key import Key
from tabterm.score.metre import Metre
from tabterm.score.operations import set_chord, set_metre, transpose_to_key
from tabterm.score.place import Place, Span
from tabterm.storage.database import Database
from tabterm.storage.lock import Lock
from tests.build import PLAYER, music, text

NAMES = (
    "lowland-stroll",
    "blue-kettle",
    "gate-bolt",
    "stone-step",
    "blue-umbrella",
    "market-day",
    "lift-the-latch",
)


def over(piece, *symbols):
    for index, symbol in enumerate(symbols):
        piece = set_chord(piece, Place(index), symbol) if symbol else piece
    return piece


PIECE = over(
    music("1 | 2 3.0, 8 3.5, 8 2.0, 8 2.2, 8 2.5 | 4 1.0, 4 2.2, 2 3.5 | 1", key="G"), "G", "D7", "G", "C"
)
RUN = Span(Place(1, 2), Place(3))


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    folder = tmp_path_factory.mktemp("few")
    for name in NAMES:
        shutil.copy(starting_book() / f"{name}.tabterm", folder)
    return folder


@pytest.fixture(scope="module")
def filled(few):
    book = Book(few / "filled.sqlite")
    assert taken_in(book, few, PLAYER)[:2] == (len(NAMES), 0)
    return book.file


@pytest.fixture
def book(filled, tmp_path):
    shutil.copy(filled, tmp_path / "phrases.sqlite")
    return Book(tmp_path / "phrases.sqlite")


def names(found):
    return [each.entry.label.name for each in found]


# Kept


def test_a_selection_is_a_score_of_its_own_with_its_pickup_and_chords(tmp_path):
    phrase = cut_out(PIECE, RUN)
    assert text(phrase) == "< 8 3.5, 8 2.0, 8 2.2, 8 2.5 | 4 1.0, 4 2.2, 2 3.5"
    assert [[mark.symbol for mark in measure.chords] for measure in phrase.measures] == [[], ["G"]]
    entry = Book(tmp_path / "b").add(phrase, said("Up and Over #Fill #bluegrass"), PLAYER)
    assert entry.label == Label("Up and Over", ("fill", "bluegrass"))
    assert (entry.chords, entry.degrees, entry.metre, entry.measures) == ("I", "1 2 3 5 6 3 1", "4/4", 1)
    assert Book(tmp_path / "b").entry(entry.number) == entry


@pytest.mark.parametrize(
    ("piece", "span", "words"),
    [
        (PIECE, Span(Place(0), Place(1)), "no notes"),
        (music(" | ".join(["1 2.0"] * 18)), Span(Place(0), Place(18)), "too long"),
        (set_metre(music("1 2.0 | 1 2.2"), 1, Metre.parse("3/4")), Span(Place(0), Place(2)), "metre changes"),
    ],
)
def test_what_is_no_phrase_is_refused(piece, span, words):
    with pytest.raises(ScoreError, match=words):
        cut_out(piece, span)


def test_a_phrase_is_kept_once_unless_asked(book):
    phrase = book.score(1)
    with pytest.raises(ScoreError, match="already has this phrase: 1"):
        book.add(transpose_to_key(phrase, Key.parse("Bb")), said("Again"), PLAYER)
    assert book.add(phrase, said("Again"), PLAYER, again=True).number == len(NAMES) + 1
    with pytest.raises(ScoreError, match="no name"):
        book.add(phrase, said("#tag"), PLAYER)


@pytest.mark.parametrize("words", [["a b"], ["#"], ["x" * 41], [str(n) for n in range(21)], ["a\x1b"]])
def test_what_is_no_tag_is_refused(words):
    with pytest.raises(ScoreError, match="tag"):
        tags_of(words)


def test_removed_numbers_do_not_come_back(book):
    book.remove(2, len(NAMES))
    with pytest.raises(ScoreError, match="no phrase 2"):
        book.remove(1, 2)
    assert book.count() == len(NAMES) - 2
    assert book.add(cut_out(PIECE, RUN), said("New"), PLAYER).number == len(NAMES) + 1
    for ask in (book.entry, book.score):
        with pytest.raises(ScoreError, match="no phrase 2"):
            ask(2)


def test_a_wide_reach_is_hard_however_slow_it_is(book):
    """Common practice, no source: what a teacher would warn of is not called easy because it is slow."""
    slow = music("2 1.8 3.2, 2 1.5 | 1 1.3")
    assert [each.severity for each in findings(with_hands(slow, PLAYER), PLAYER)] == [Severity.HARD]
    assert facts(slow, PLAYER)["percent"] > LEVELS["advanced"]
    assert book.add(slow, said("Slow Reach"), PLAYER).level == "hard"
    assert facts(music("2 1.3, 2 1.5 | 1 1.3"), PLAYER)["percent"] < LEVELS["easy"]


# Found


@pytest.mark.parametrize(
    ("wish", "found"),
    [
        (Wish(text="STONE"), {"Stone Step"}),
        (Wish(text="third hammer"), {"Blue Kettle"}),
        (Wish(tags=("#Bluegrass",)), {"Blue Kettle", "Gate Bolt", "Lift the Latch"}),
        (Wish(tags=("blue",)), set()),
        (Wish(chords="V7 I"), {"Gate Bolt", "Stone Step", "Market Day"}),
        (Wish(chords="iim7-V7-Imaj7"), {"Blue Umbrella"}),
        (Wish(degrees="1 b3 3"), {"Blue Kettle"}),
        (Wish(degrees="2 b3 3 2"), {"Lift the Latch"}),
        (Wish(contour="falls and rises"), {"Gate Bolt"}),
        (Wish(rhythm="8 8 8 4 8 8 8 8 4"), {"Lift the Latch"}),
        (Wish(rhythm="jig"), set()),
        (Wish(metre="6/8"), {"Market Day"}),
        (Wish(level="easy"), {"Lowland Stroll", "Stone Step"}),
        (Wish(level="hard"), set()),
        (Wish(most_percent=30), {"Lowland Stroll", "Stone Step"}),
        (Wish(text="open", metre="4/4", chords="V I", level="easy"), {"Stone Step"}),
        (Wish(text="%' OR 1=1 --"), set()),
    ],
)
def test_found_by_any_of_it(wish, found, filled):
    assert set(names(Book(filled).find(wish))) == found


@pytest.mark.parametrize(
    "wish", [Wish(chords="G D"), Wish(degrees="8"), Wish(level="soft"), Wish(metre="four"), Wish(metre="4/5")]
)
def test_what_cannot_be_looked_for_is_said(wish, filled):
    with pytest.raises(ScoreError):
        Book(filled).find(wish)


def test_found_by_a_phrase_like_it_as_the_measure_says(filled):
    book = Book(filled)
    one = figure(book.score(1))
    found = book.find(Wish(like=one, within=100.0))
    assert len(found) == len(NAMES)
    assert [each.apart for each in found] == sorted(each.apart for each in found)
    for each in found:
        assert each.apart == pytest.approx(apart(one, figure(book.score(each.entry.number))))
    assert names(book.find(Wish(like=one, within=0.1))) == [book.entry(1).label.name]


@pytest.mark.parametrize(
    ("key", "chords", "found"),
    [
        ("A", ("E7", "A"), {"Gate Bolt": SAME_TIME, "Stone Step": SAME_TIME}),
        ("Eb", ("Bb", "Eb"), {"Gate Bolt": SAME_TIME, "Stone Step": SAME_TIME}),
        ("C", ("A7", "D7"), {"Gate Bolt": SAME_STEPS, "Stone Step": SAME_STEPS}),
        ("C", ("Dm7", "G7", "C"), {"Blue Umbrella": SAME_TIME}),
        ("D", ("D", "A7"), {"Lift the Latch": SAME_TIME}),
        ("D", ("C", "Bm"), {"Lift the Latch": SAME_STEPS}),
    ],
)
def test_found_by_the_chords_under_the_cursor(key, chords, found, filled):
    piece = over(music(" | ".join(["1"] * (len(chords) + 1)), key=key), *chords, "Bdim")
    fits = {each.entry.label.name: each.fit for each in Book(filled).find(Wish(fits=setting_at(piece, 0)))}
    assert {name: fit for name, fit in fits.items() if name in found} == found
    assert set(fits) - set(found) <= {"Lift the Latch", "Lowland Stroll", "Blue Kettle"}  # one chord fits more


def test_chords_in_other_places_fit_after_those_in_the_same(filled, tmp_path):
    shutil.copy(filled, tmp_path / "b")
    book = Book(tmp_path / "b")
    halves = set_chord(set_chord(music("2 2.0, 2 2.2 | 1 3.5", key="G"), Place(0), "D7"), Place(0, 2), "G")
    book.add(halves, said("Early Home"), PLAYER)
    piece = over(music("1 | 1", key="G"), "D7", "G")
    fits = {each.entry.label.name: each.fit for each in book.find(Wish(fits=setting_at(piece, 0)))}
    assert (fits["Gate Bolt"], fits["Early Home"]) == (SAME_TIME, SAME_CHORDS)


def test_without_chords_nothing_fits(filled):
    with pytest.raises(ScoreError, match="this measure has no chord"):
        setting_at(music("1 2.0"), 0)
    assert Book(filled).find(Wish(fits=setting_at(over(music("1, 4", metre="5/4", key="G"), "G"), 0))) == []


# Carried


def test_written_out_and_taken_in_it_is_the_same(book, tmp_path):
    assert written_out(book, [1, 2, 3], tmp_path / "out") == 3
    other = Book(tmp_path / "other.sqlite")
    assert taken_in(other, tmp_path / "out", PLAYER) == (3, 0, ())
    assert taken_in(other, tmp_path / "out", PLAYER) == (0, 3, ())
    for number in (1, 2, 3):
        same = next(each.entry for each in other.find(Wish(text=book.entry(number).label.name)))
        assert other.score(same.number) == book.score(number)
        assert same.label == book.entry(number).label
    with pytest.raises(StorageError, match="not empty"):
        written_out(book, [1], tmp_path / "out")


def test_equal_names_become_files_of_their_own(book, tmp_path):
    book.add(cut_out(PIECE, RUN), said(book.entry(1).label.name), PLAYER)
    written_out(book, [1, len(NAMES) + 1], tmp_path / "out")
    stem = next(tmp_path.joinpath("out").glob("*-2.tabterm")).stem.removesuffix("-2")
    assert (tmp_path / "out" / f"{stem}.tabterm").exists()


def test_what_cannot_be_taken_in_is_said_and_the_rest_is(few, tmp_path):
    folder = tmp_path / "in"
    folder.mkdir()
    shutil.copy(few / "stone-step.tabterm", folder)
    (folder / "a.tabterm").write_bytes(b"{")
    (folder / "b.tabterm").write_bytes(native.write(music("1")))
    (folder / "c.tabterm").write_bytes(b"x" * 1_000_001)
    (folder / "d.tabterm").write_bytes(native.write(music("4 2.0, 2. 2.2")))
    (folder / "e.tabterm").mkdir()
    book = Book(tmp_path / "b")
    taken = taken_in(book, folder, PLAYER)
    assert (taken.new, taken.known, len(taken.refused)) == (2, 0, 4)
    assert all("\n" not in line for line in taken.refused)
    assert set(names(book.find(Wish()))) == {"Stone Step", "d"}
    with pytest.raises(StorageError, match=r"no \.tabterm file"):
        taken_in(book, tmp_path / "nowhere", PLAYER)


SIGNS = st.text(st.sampled_from("aZ9 äß漢字🎻#,:'\"%_\\<&"), max_size=20)
LABELS = st.builds(
    Label,
    SIGNS.map(lambda text: f"x{text}"),
    st.lists(st.text(st.sampled_from("az9-ä'+"), min_size=1, max_size=9), max_size=4, unique=True).map(tuple),
    SIGNS,
    SIGNS,
)


@given(LABELS)
@settings(max_examples=20)
def test_any_label_comes_back(label):
    phrase = labelled(cut_out(PIECE, RUN), label)
    assert label_of(kept(native.read(native.write(phrase)))) == label


# Shared, killed, damaged

WRITER = """
import sys
from pathlib import Path
from tabterm.piece.phrase_book.book import Book
from tabterm.piece.phrase_book.entry import said
from tests.build import PLAYER, music
book, who = Book(Path(sys.argv[1])), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for turn in range(int(sys.argv[3])):
    book.add(music("4 2.0, 4 2.2, 2 2.4", key="A"), said(f"{who} {turn}"), PLAYER, again=True)
    print(turn, flush=True)
"""


def writer(book, who, turns):
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(book.file), who, str(turns)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
    )


def test_two_write_at_once_and_one_is_killed_in_the_middle(tmp_path):
    book = Book(tmp_path / "folder" / "phrases.sqlite")
    victim, other = writer(book, "victim", 100_000), writer(book, "other", 15)
    with victim, other:
        for each in (victim, other):
            assert each.stdout.readline() == "ready\n"
        for each in (victim, other):
            each.stdin.write("go\n")
            each.stdin.flush()
        acknowledged = [int(victim.stdout.readline()) for _ in range(8)]
        time.sleep(random.Random(5).random() / 100)
        victim.send_signal(signal.SIGKILL)
        acknowledged += map(int, victim.stdout.readlines())
        told = other.communicate(timeout=60)[0].split()
    assert (other.returncode, len(told)) == (0, 15)
    kept_names = set(names(book.find(Wish(), limit=100_000)))
    assert {f"other {turn}" for turn in range(15)} <= kept_names
    assert {f"victim {turn}" for turn in acknowledged} <= kept_names
    assert len(kept_names) <= 15 + len(acknowledged) + 1
    with closing(sqlite3.connect(book.file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert book.notes == []


def test_a_file_that_is_no_database_comes_back_from_its_copy(book):
    book.add(cut_out(PIECE, RUN), said("New"), PLAYER)  # the copy is from before that
    book.file.write_bytes(b"scribble" * 9000)
    assert book.count() == len(NAMES)
    (note,) = book.notes
    assert f"0 phrases recovered, {len(NAMES)} from its copy" in note
    assert book.file.with_name("phrases.sqlite.damaged").read_bytes() == b"scribble" * 9000
    assert {book.score(number).head.title for number in range(1, len(NAMES) + 1)} == set(names(book.find(Wish())))


def test_phrases_that_no_table_leads_to_are_found_where_they_lie(book):
    before = {each.entry.label for each in book.find(Wish())}
    music_before = {native.write(book.score(number)) for number in range(1, len(NAMES) + 1)}
    data = bytearray(book.file.read_bytes())
    data[:100] = bytes(100)  # the head of the file, and no copy beside it
    book.file.write_bytes(data)
    assert {each.entry.label for each in book.find(Wish())} == before
    assert f"{len(NAMES)} phrases recovered" in book.notes[0]
    assert {native.write(book.score(number)) for number in range(1, len(NAMES) + 1)} == music_before
    assert set(names(book.find(Wish(chords="V I")))) == {"Gate Bolt", "Stone Step", "Market Day"}


def test_two_that_notice_damage_do_not_mend_at_once(book):
    book.file.write_bytes(b"scribble" * 999)
    lock = Lock.take(book.file)
    with pytest.raises(StorageError, match="is being repaired by") as caught:
        book.count()
    assert "\n" not in str(caught.value)
    lock.release()
    assert Book(book.file).count() == 0
    assert Book(book.file).count() == 0
    assert len([*book.file.parent.glob("*.damaged*")]) == 1


def damage(file, page, size=4096):
    data = bytearray(file.read_bytes())
    data[page * size : (page + 1) * size] = b"\xff" * size
    file.write_bytes(data)


def fill(book, count):
    """Keep a phrase so many times under other names."""
    phrase = cut_out(PIECE, RUN)
    columns = facts(labelled(phrase, said("Number")), PLAYER)
    database = Database(book.file, "phrase book", (FIRST,), 1.0)
    for turn in range(count):
        named = labelled(phrase, said(f"Number {turn}"))
        with database.writing() as connection:
            insert(connection, columns | {"name": named.head.title}, native.write(named).decode())


def test_of_a_damaged_file_what_can_be_read_is_kept(book):
    fill(book, 60)
    whole_before, before = set(names(book.find(Wish(), limit=1000))), book.file.read_bytes()
    shares = []
    for page in range(1, len(before) // 4096, 5):
        book.file.write_bytes(before)
        damage(book.file, page)
        again = Book(book.file)
        for each in again.find(Wish(), limit=1000):
            with suppress(ScoreError):  # its music was on the page
                again.score(each.entry.number)
        again.remove(*[each.entry.number for each in again.find(Wish(text="gate"))])
        found = set(names(Book(book.file).find(Wish(), limit=1000)))
        assert found <= whole_before
        shares.append(len(found) / len(whole_before))
        for beside in (*book.file.parent.glob("*.damaged*"), book.copy):
            beside.unlink(missing_ok=True)
    assert min(shares) > 0.7
    assert len(shares) > 5


@pytest.mark.parametrize("table", ["phrase", "phrase_by_identity"])
def test_numbers_stay_through_a_repair(table, book):
    fill(book, 30)
    book.remove(3, 5, len(NAMES) + 30)
    book.copy.unlink()
    before = {each.entry.label.name: each.entry.number for each in book.find(Wish(), limit=1000)}
    with closing(sqlite3.connect(book.file)) as connection:
        asked = "SELECT rootpage FROM sqlite_master WHERE name = ?"
        (page,) = connection.execute(asked, (table,)).fetchone()
    damage(book.file, page - 1)
    new = book.add(cut_out(PIECE, RUN), said("New"), PLAYER, again=True)
    assert book.notes[0].startswith(f"the phrase book was damaged: {len(before)} phrases recovered")
    found = {each.entry.label.name: each.entry.number for each in book.find(Wish(), limit=1000)}
    assert found == before | {"New": new.number}
    assert new.number == len(NAMES) + 31


@pytest.mark.parametrize("damage", ["chords = x'00'", "percent = 'x'", "percent = 9e999", "measures = 'x'"])
def test_a_damaged_phrase_is_said_in_one_line(damage, book):
    with closing(sqlite3.connect(book.file, isolation_level=None)) as connection:
        connection.execute("UPDATE music SET score = '{}' WHERE phrase = 1")
        connection.execute(f"UPDATE phrase SET {damage} WHERE id = 2")
    with pytest.raises(StorageError, match="phrase 1 is damaged") as caught:
        book.score(1)
    assert "\n" not in str(caught.value)
    assert len(book.find(Wish())) == len(NAMES) - 1
    assert book.notes == ["phrase 2 is damaged: remove it"]
    with pytest.raises(StorageError, match="phrase 2 is damaged"):
        book.entry(2)
    book.remove(1, 2)
    assert len(book.find(Wish())) == len(NAMES) - 2


def test_a_copy_is_made_once_a_day_and_never_of_a_damaged_book(book):
    book.remove(1)
    assert Book(book.copy).count() == len(NAMES)
    book.remove(2)
    assert Book(book.copy).count() == len(NAMES)
    os.utime(book.copy, (0, 0))
    book.remove(3)
    assert Book(book.copy).count() == len(NAMES) - 2
    book.copy_to(book.file.with_name("mine.sqlite"))
    assert Book(book.file.with_name("mine.sqlite")).count() == len(NAMES) - 3


def test_a_book_of_the_first_version_is_one_of_today(book):
    """Later versions add their steps to this one; what the first has never changes."""
    with closing(sqlite3.connect(":memory:")) as connection:
        connection.executescript(FIRST)
        columns = [row[1] for row in connection.execute("PRAGMA table_info(phrase)")]
    assert columns[:5] == ["id", "name", "tags", "remark", "source"]
    assert len(columns) == 21


def test_an_empty_book_answers_and_makes_no_file(tmp_path):
    book = Book(tmp_path / "none.sqlite")
    assert (book.count(), book.find(Wish(text="x")), book.has(["1"])) == (0, [], set())
    assert not book.file.exists()
    with pytest.raises(StorageError, match="no phrase book yet"):
        book.copy_to(tmp_path / "copy")


def test_a_full_disk_is_said_in_one_line(book):
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (book.file.stat().st_size, before[1]))
        with pytest.raises(StorageError, match="cannot be written") as caught:
            fill(book, 200)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)
    assert "\n" not in str(caught.value)
    assert book.count() >= len(NAMES)
    book.remove(1)


def test_a_phrase_that_is_in_the_book_is_known_by_its_identity(book):
    one = identity(figure(transpose_to_key(book.score(1), Key.parse("E"))))
    other = identity(figure(cut_out(PIECE, RUN)))
    assert book.has([one, other]) == {one}
    assert whole(book.score(1)) == Span(Place(0), Place(len(book.score(1).measures)))
