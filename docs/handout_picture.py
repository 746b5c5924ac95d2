"""A finished handout of a sample, and a picture of it: a page of the booklet beside the page on a phone."""

from __future__ import annotations

import io
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tabterm.piece.handout.lesson import Lesson

DOCS = Path(__file__).parent
SAMPLE = DOCS.parent / "samples" / "quarry-road-breakdown.tabterm"
PICTURE = "handout.png"

FOREWORD = (
    "This break has two spots that decide it: the jump to the ninth fret in measure 6, and the wide reach in "
    "measure 11. Learn those two first, slowly, and the rest falls into place. Let the low course ring under the "
    "double stops."
)

HEIGHT = 900
"""Of the picture, in pixels."""

PHRASE_PAGE = 3
"""Index of the page of the booklet that is shown."""


def lesson() -> Lesson:
    """The sample, with words of a teacher, at the usual tempos."""
    import tabterm
    from tabterm.piece.handout.lesson import Lesson
    from tabterm.piece.handout.pack import TEMPOS
    from tabterm.score.operations import set_foreword

    piece = tabterm.open(SAMPLE, player=tabterm.Player()).fingered().stroked()
    return Lesson(replace(piece, score=set_foreword(piece.score, FOREWORD)), TEMPOS)


def booklet() -> bytes:
    """The booklet."""
    from tabterm.piece.handout import booklet
    from tabterm.piece.handout.folder import CAUTIONS

    return booklet.booklet(lesson(), CAUTIONS)


def picture() -> bytes:
    """The picture, in sixteen greys; as it was where no browser is here."""
    import pypdfium2
    from PIL import Image

    phone = _phone()
    if phone is None:
        return (DOCS / PICTURE).read_bytes()
    page = pypdfium2.PdfDocument(booklet())[PHRASE_PAGE]
    shown = [page.render(scale=HEIGHT / page.get_height()).to_pil(), Image.open(io.BytesIO(phone))]
    shown = [each.resize((round(each.width * HEIGHT / each.height), HEIGHT)) for each in shown]
    whole = Image.new("RGB", (sum(each.width for each in shown) + 60, HEIGHT + 40), "#d8d4ca")
    left = 20
    for each in shown:
        whole.paste(each, (left, 20))
        left += each.width + 20
    made = io.BytesIO()
    whole.quantize(32).save(made, "PNG", optimize=True)
    return made.getvalue()


def _phone() -> bytes | None:
    """The page as a phone shows it while the second phrase plays."""
    from tabterm.piece.handout.folder import CAUTIONS
    from tabterm.piece.handout.page import PlayerPage
    from tabterm.piece.practice import Practice

    sys.path.insert(0, str(DOCS.parent))
    from tests.browser import CHROMIUM, Browser

    if CHROMIUM is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "index.html"
        page = PlayerPage(replace(lesson(), tempos=(60, 80, 100)), Practice(parts="both"), CAUTIONS)
        file.write_text(page.html(lambda _: None), encoding="utf-8")
        browser = Browser(Path(folder) / "profile")
        try:
            browser.open(file.as_uri(), 390, 900)
            browser.run("find = id => document.getElementById(id), find('count').click()")
            browser.run("document.querySelector('button[data-phrase=\"2\"]').click()")
            browser.run("scrollTo(0, document.getElementById('phrase-2').offsetTop)")
            browser.run("new Promise(done => setTimeout(done, 2500))")
            return browser.picture()
        finally:
            browser.close()
