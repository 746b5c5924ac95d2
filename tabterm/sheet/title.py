"""The title block over the first system, and the line at each page's foot."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.instrument import PRESETS
from tabterm.instrument.model import pitch_name
from tabterm.sheet.extents import words_width
from tabterm.sheet.ink import Words
from tabterm.sheet.overhead import wrapped
from tabterm.sheet.panel import Panel
from tabterm.sheet.rows import with_accidentals

if TYPE_CHECKING:
    from tabterm.score.model import Score

TITLE_EM, CREDIT_EM, FOOT_EM = 4.6, 2.0, 1.8
USUAL = PRESETS["mandolin"]
"""The instrument whose tuning is not printed."""


def title_panel(score: Score, width: float) -> tuple[Panel, float]:
    """Title at the left, credits under it, and what instrument and tuning it is for; and how high that is."""
    panel, head, y = Panel(width + 2), score.head, 0.0
    for line in wrapped(head.title, width, TITLE_EM, "bold") if head.title else []:
        y += TITLE_EM
        panel.put("title", Words(line, 0.0, y, TITLE_EM, "bold"), text=line)
    y += 0.6 if head.title else 0.0
    for credit in head.credits:
        for line in wrapped(credit, width, CREDIT_EM, "italic"):
            y += CREDIT_EM * 1.3
            panel.put("credit", Words(line, 0.0, y, CREDIT_EM, "italic"), text=line)
    tuning = tuning_line(score)
    if tuning:
        y += CREDIT_EM * 1.45
        panel.put("tuning", with_accidentals(tuning, 0.0, y, CREDIT_EM), text=tuning)
    return panel, y + 3.0 if y else 0.0


def tuning_line(score: Score) -> str:
    """The instrument and its open courses from the lowest up; "" for a mandolin in its usual tuning."""
    instrument = score.head.instrument
    if [course.pitch for course in instrument.courses] == [course.pitch for course in USUAL.courses]:
        return ""
    courses = " ".join(pitch_name(course.pitch) for course in reversed(instrument.courses))
    return f"{instrument.name}: {courses}"


def foot_panel(title: str, number: int, count: int, width: float) -> Panel:
    """The piece at the left and the page at the right."""
    panel, page = Panel(width + 2), f"{number} / {count}"
    right = width - words_width(page, FOOT_EM)
    panel.put("page-number", Words(page, right, 0.0, FOOT_EM), text=page)
    lines = wrapped(title, right - 2.0, FOOT_EM, "italic") if title else []
    if lines:
        panel.put("running-title", Words(lines[0], 0.0, 0.0, FOOT_EM, "italic"), text=lines[0])
    return panel
