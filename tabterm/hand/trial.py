"""Trying remedies: only those are offered that remove their finding and bring nothing worse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import TabtermError
from tabterm.hand.finding import Severity
from tabterm.hand.onsets import phrases
from tabterm.hand.review import findings
from tabterm.hand.strokes import with_proposals
from tabterm.score.change import Change
from tabterm.score.operations import delete_measures
from tabterm.score.place import Place

if TYPE_CHECKING:
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.hand.player import Player
    from tabterm.score.model import Score

RANK = {severity: number for number, severity in enumerate(Severity)}
"""The lower the worse."""


def offered(score: Score, player: Player, finding: Finding) -> tuple[Remedy, ...]:
    """The remedies of a finding that remove it and bring no new finding of a higher severity, the best first."""
    piece, first = surroundings(score, finding.place.measure)
    place = Place(finding.place.measure - first, finding.place.offset)
    before = {_key(each): each for each in findings(piece, player)}
    wanted = (finding.code, place, finding.course)
    return tuple(
        remedy for remedy in finding.remedies if wanted in before and _helps(piece, player, remedy, wanted, before)
    )


def _helps(
    piece: Score,
    player: Player,
    remedy: Remedy,
    wanted: tuple[object, ...],
    before: dict[tuple[object, ...], Finding],
) -> bool:
    try:
        after = done(piece, player, remedy, before[wanted].place)
    except TabtermError:
        return False
    if after is piece:
        return False
    found = {_key(each): each for each in findings(after, player)}
    worst = RANK[before[wanted].severity]
    new = (each for key, each in found.items() if key not in before or _worse(each, before[key]))
    return wanted not in found and all(RANK[each.severity] >= worst for each in new)


def done(score: Score, player: Player, remedy: Remedy, place: Place) -> Score:
    """The score with a remedy applied, and with the strokes that are proposed then.

    Raises:
        TabtermError: It cannot be done.
    """
    after = remedy.operation(score, place)
    change = Change.between(score, after)
    return score if change is None else with_proposals(after, player, change)


def _worse(one: Finding, other: Finding) -> bool:
    return RANK[one.severity] < RANK[other.severity]


def _key(finding: Finding) -> tuple[object, ...]:
    return finding.code, finding.place, finding.course


def surroundings(score: Score, index: int) -> tuple[Score, int]:
    """The measures of the phrases that touch a measure and one more at each end, and the index of the first."""
    first = last = index
    for phrase in phrases(score):
        begins, ends = phrase[0].place.measure, phrase[-1].place.measure
        if begins <= index + 1 and ends >= index - 1:
            first, last = min(first, begins), max(last, ends)
    first, last = max(first - 1, 0), min(last + 1, len(score.measures) - 1)
    piece = score
    if last + 1 < len(score.measures):
        piece = delete_measures(piece, last + 1, len(score.measures) - 1)
    if first:
        piece = delete_measures(piece, 0, first - 1)
    return piece, first


def mended(
    score: Score, player: Player, *, keep_tempo: bool = False
) -> tuple[Score, list[tuple[Finding, Remedy]]]:
    """The score with the first remedy that helps of each finding applied, and what was applied to what.

    One finding after the other, since a remedy may see to several; none is tried twice. With `keep_tempo`
    remedies that slow the score down are left out.
    """
    applied: list[tuple[Finding, Remedy]] = []
    tried: set[tuple[object, ...]] = set()
    while (
        finding := next((each for each in findings(score, player) if _key(each) not in tried), None)
    ) is not None:
        tried.add(_key(finding))
        for remedy in offered(score, player, finding):
            after = done(score, player, remedy, finding.place)
            if not keep_tempo or after.tempos == score.tempos:
                score = after
                applied.append((finding, remedy))
                break
    return score, applied
