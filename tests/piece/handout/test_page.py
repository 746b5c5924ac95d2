"""The page of a handout in a real browser: how it looks at three widths, what is heard, where the cursor is.

Buttons of 44 px: WCAG 2.1, success criterion 2.5.5 (target size). Contrast, names, roles: the rules of axe-core,
which CI fetches from npm; `TABTERM_AXE` names its file.
"""

from __future__ import annotations

import base64
import os
import re
from io import BytesIO
from itertools import product
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import soundfile
import soxr

import tabterm
from tabterm import formats
from tabterm.cli.main import main
from tabterm.piece.handout.lesson import Lesson
from tabterm.piece.handout.page import PlayerPage
from tabterm.piece.practice import Practice
from tabterm.score.operations import set_remark, set_title
from tabterm.score.tempo import Tempo
from tabterm.sheet.engrave import engrave
from tabterm.sheet.layout import Layout
from tabterm.sound.rendering import TAIL_S
from tests.browser import CHROMIUM, Browser
from tests.build import measure, score
from tests.sound.analysis import RATE, onsets_s

pytestmark = pytest.mark.xdist_group("browser")
AXE = os.environ.get("TABTERM_AXE", "")
RECORDER = (Path(__file__).parent / "recorder.js").read_text()
NOTES = 10
LENGTH_S = 2.0
"""Of the first phrase."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A phrase of a pickup and two measures, and one that repeats, at 240 quarters a minute."""
    made = tmp_path_factory.mktemp("handout")
    chords = [{"offset": "0", "symbol": "G"}]
    tune = score(
        measure("4 3.0", short=True),
        "4 3.2,8 2.0,8 2.3,4 1.0,4 1.3",
        measure("8 1.5,8 1.3,4 1.0,2 2.3", chords=chords, barline="double"),
        measure("4 2.5 3.5,4 2.3,2 2.0", chords=chords, repeat_start=True, section="B", repeat_times=2),
        tempo=Tempo(270.0),
    )
    formats.write(made / "tune.tabterm", set_remark(set_title(tune, "春の歌 </script>"), 1, "let it & ring"))
    assert (
        main(["handout", str(made / "tune.tabterm"), str(made / "out"), "--only", "page", "--tempos", "100%,200%"])
        == 0
    )
    return made / "out"


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    if CHROMIUM is None:
        pytest.skip("no browser is here: Debian's package chromium has one")
    one = Browser(tmp_path_factory.mktemp("profile"))
    yield one
    one.close()


@pytest.fixture
def page(browser, folder):
    """Opens the page; it must have logged nothing and fetched nothing else when the test ends."""
    browser.log.clear()
    browser.fetched.clear()

    def opened(width=1280, **how):
        browser.open((folder / "index.html").as_uri(), width, **how)
        return browser

    yield opened
    assert browser.log == []
    assert {re.match(r"\w+:", url)[0] for url in browser.fetched} <= {"file:", "data:", "blob:"}
    assert {url for url in browser.fetched if url.startswith("file:")} == {(folder / "index.html").as_uri()}


SMALL = """[...document.querySelectorAll("button, summary, input")].filter(each => !each.hidden)
  .map(each => each.getBoundingClientRect()).filter(box => box.width < 44 || box.height < 44).length"""
WIDTHS = """[...document.querySelectorAll("figure:not(.neck) svg")].map(each => each.getBoundingClientRect().width)
  .filter(width => width)"""


def test_nothing_overflows_and_buttons_are_large_at_any_width(page):
    for width, dark in product((360, 768, 1280), (False, True)):
        shown = page(width, dark=dark)
        assert shown.run("document.documentElement.scrollWidth") == width
        assert shown.run(SMALL) == 0
        assert shown.run("document.title") == "春の歌 </script>"
        assert "let it & ring" in shown.run("document.body.innerText")
        widths = shown.run(WIDTHS)
        assert len(widths) == 2  # of each phrase the picture for this width
        assert min(widths) > 0.85 * min(width, 960)


@pytest.mark.skipif(not AXE, reason="no accessibility checker is here: TABTERM_AXE names the file of axe-core")
def test_a_checker_of_accessibility_finds_nothing(page):
    for width, dark in ((360, True), (1280, False)):
        shown = page(width, dark=dark)
        shown.run("document.querySelector('summary').click()")
        shown.run(Path(AXE).read_text() + ";0")
        found = shown.run("axe.run().then(all => all.violations.map(v => [v.id, v.nodes.map(n => n.html)]))")
        assert found == []
        assert shown.run("axe.run({runOnly: ['color-contrast']}).then(all => all.passes.length)") == 1


class Heard(NamedTuple):
    """What the page played, from its first frame, and the cursor meanwhile: time, phrase, system, percent."""

    samples: np.ndarray
    rate: float
    first_s: float
    cursor: list


@pytest.fixture(scope="module")
def heard(browser, folder):
    """More than two turns of the first phrase at 200 percent, without count-in and backing."""
    browser.open((folder / "index.html").as_uri(), before=RECORDER)
    browser.run("find = id => document.getElementById(id), find('count').click(), find('backing').click()")
    browser.run("document.querySelector('input[value=\"200\"]').click()")
    browser.run("document.querySelector('button[data-phrase=\"1\"]').click()")
    browser.run(f"window.playedFor({2.5 * LENGTH_S / 2})")
    said = browser.run("document.getElementById('status').textContent")
    assert said == "Phrase 1, 200%, repeating."
    found = browser.run("window.recorded()")
    browser.run("document.querySelector('button[data-phrase=\"1\"]').click()")
    assert browser.run("document.getElementById('status').textContent") == "Stopped."
    assert browser.run("[...document.querySelectorAll('.cursor')].every(each => each.hidden)")
    samples = np.frombuffer(base64.b64decode(found["data"]), dtype=np.float32)
    return Heard(samples, found["rate"], found["first"] / found["rate"], browser.run("window.heard.cursor"))


def expected(folder, rate):
    """A turn of the first phrase at 200 percent as another decoder reads it, with what dies away after it."""
    html = (folder / "index.html").read_text(encoding="utf-8")
    data = base64.b64decode(re.search(r'id="solo-200-0">([^<]+)<', html)[1])
    samples, own_rate = soundfile.read(BytesIO(data))
    assert len(samples) == round((LENGTH_S / 2 + TAIL_S) * own_rate)
    return soxr.resample(samples, own_rate, rate, "VHQ")


def test_a_phrase_goes_round_without_a_seam(heard, folder):
    """What is heard is the turns added up, each so many frames after the one before, and nothing else."""
    once, frames, turns = expected(folder, heard.rate), round(LENGTH_S / 2 * heard.rate), 2
    meant = np.zeros(frames * (turns - 1) + len(once))
    for turn in range(turns):
        meant[turn * frames :][: len(once)] += once
    meant = meant[: turns * frames]
    loud = np.flatnonzero(np.abs(heard.samples) > 0.01)[0]
    window = heard.samples[max(loud - 2000, 0) :]
    size = 1 << int(np.ceil(np.log2(len(window) + len(meant))))
    likeness = np.fft.irfft(np.fft.rfft(window, size) * np.conj(np.fft.rfft(meant, size)))
    begin = int(likeness[: len(window) - len(meant)].argmax())
    rest = window[begin : begin + len(meant)] - meant
    assert np.sqrt((rest**2).mean()) < 0.05 * np.sqrt((meant**2).mean())
    second_half = slice(begin + frames // 2, begin + frames)  # behind what dies away of the turn before
    later = slice(second_half.start + frames, second_half.stop + frames)
    assert np.abs(window[second_half] - window[later]).max() < 1e-5
    by_1_ms = round(0.001 * heard.rate)  # a gap or a step of so little would be seen
    late = np.concatenate([meant[:frames], np.zeros(by_1_ms), meant[frames:-by_1_ms]])
    assert np.sqrt(((window[begin : begin + len(late)] - late) ** 2).mean()) > 0.3 * np.sqrt((meant**2).mean())


def test_the_cursor_is_where_the_sound_is(heard, folder):
    """Each note is heard within 50 ms of the moment at which the cursor comes to its fret in the tab."""
    tune = tabterm.open(folder.parent / "tune.tabterm", player=tabterm.Player()).fingered().score
    wide = engrave(tune, Layout(excerpt_width_mm=178, measures=(0, 2))).pages[0]
    digits = sorted({(sign.measure, sign.onset): sign for sign in wide.signs if sign.kind == "digit"}.items())
    middles = [100 * (sign.box[0] + sign.box[2] / 2) / wide.width_mm for _, sign in digits]
    samples = soxr.resample(heard.samples.astype(float), heard.rate, RATE)
    onsets = [heard.first_s + at for at in onsets_s(samples * (0.25 / np.abs(samples).max()))]
    assert len(onsets) >= 2 * NOTES
    for turn in range(2):
        notes_s = onsets[turn * NOTES :][:NOTES]
        jumped_s = notes_s[0] + 0.05  # it has come from the end of the turn before by then
        seen = [(at, x) for at, *_, x in heard.cursor if jumped_s < at < notes_s[-1]]
        assert len(seen) > NOTES / 2
        assert np.interp([x for _, x in seen], middles, notes_s) == pytest.approx([at for at, _ in seen], abs=0.05)


def test_solo_and_backing_are_turned_off_and_the_last_turn_dies_away(page):
    shown = page(before=RECORDER)
    shown.run("document.querySelector('input[value=\"200\"]').click(), document.getElementById('count').click()")
    shown.run("document.getElementById('repeat').click(), document.getElementById('solo').click()")
    shown.run("document.getElementById('whole').click()")
    shown.run("window.playedFor(0.5).then(() => document.getElementById('backing').click())")
    shown.run("new Promise(done => setTimeout(done, 500))")
    found = shown.run("window.recorded()")
    samples = np.frombuffer(base64.b64decode(found["data"]), dtype=np.float32)
    assert np.abs(samples).max() > 0.02
    assert np.abs(samples[-round(0.2 * found["rate"]) :]).max() < 1e-4


def test_the_page_of_a_sample_is_small():
    """Reckoned from its written tempo, of which each other one needs so many times the sound."""
    sample = Path(__file__).parents[3] / "samples" / "quarry-road-breakdown.tabterm"
    piece = tabterm.open(sample, player=tabterm.Player()).fingered().stroked()
    html = PlayerPage(Lesson(piece, (100,)), Practice(parts="both"), ()).html(lambda _: None)
    sound = sum(map(len, re.findall(r'<script type="text/plain".*?</script>', html)))
    assert len(html) - sound < 300_000
    five = sound * sum(100 / tempo for tempo in (60, 70, 80, 90, 100))
    assert len(html) - sound + five == pytest.approx(4e6, rel=0.2)
