"""Commands on the findings: what a hand cannot do, or finds hard, and ways round it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tabterm.errors import ScoreError, TabtermError
from tabterm.page.rows import COURSE
from tabterm.workspace.registry import Group, command

if TYPE_CHECKING:
    from tabterm.hand.finding import Finding, Remedy
    from tabterm.workspace.session import Session


@command("next-finding", "Go to the next finding", Group.FINDINGS)
def next_finding(session: Session) -> None:
    """The next one after the cursor; after the last, the first."""
    found = _all(session)
    here = session.here.cursor.place
    current = session.hand.finding_index
    if current is not None and current < len(found) and found[current].place == here:
        index = (current + 1) % len(found)
    else:
        index = next((number for number, finding in enumerate(found) if finding.place >= here), 0)
    _show(session, found, index)


@command("previous-finding", "Go to the previous finding", Group.FINDINGS)
def previous_finding(session: Session) -> None:
    """The last one before the cursor; before the first, the last."""
    found = _all(session)
    current = session.hand.finding_index
    if current is not None and current < len(found) and found[current].place == session.here.cursor.place:
        index = (current - 1) % len(found)
    else:
        earlier = [n for n, finding in enumerate(found) if finding.place < session.here.cursor.place]
        index = earlier[-1] if earlier else len(found) - 1
    _show(session, found, index)


@command("remedy", "Apply the first remedy to the finding here", Group.FINDINGS)
def remedy(session: Session) -> None:
    """Apply the first remedy of the finding at the cursor that leaves the music as it is heard."""
    finding = finding_here(session)
    if finding is None:
        raise ScoreError("no finding here", hint="go to one first")
    remedies = session.hand.remedies(finding)
    first = next((each for each in remedies if each.is_unasked), None)
    if first is None and remedies:
        raise ScoreError(
            f"only a change to the music helps: {remedies[0].label}", hint="choose it in the list of findings"
        )
    if first is None:
        raise ScoreError("no remedy helps here", hint="change course or finger by hand, or play it slower")
    mend(session, finding, first)


@command("findings", "List the findings with their remedies", Group.FINDINGS)
def findings(session: Session) -> None:
    """Open the list."""
    session.host.open_panel("findings")


def mend(session: Session, finding: Finding, remedy: Remedy) -> None:
    """Apply a remedy of a finding, and say which; what cannot be done is said instead."""
    try:
        session.rework(remedy.operation(session.score, finding.place), remedy.label)
    except TabtermError as error:
        session.host.say(str(error), trouble=True)
    else:
        session.host.say(remedy.label)


def finding_here(session: Session) -> Finding | None:
    """The finding that was jumped to or else the first one at the cursor."""
    found = session.hand.findings()
    index = session.hand.finding_index
    if index is not None and index < len(found) and found[index].place == session.here.cursor.place:
        return found[index]
    return next((finding for finding in found if finding.place == session.here.cursor.place), None)


def _all(session: Session) -> tuple[Finding, ...]:
    found = session.hand.findings()
    if not found:
        raise ScoreError("nothing to fix: no findings")
    return found


def _show(session: Session, found: tuple[Finding, ...], index: int) -> None:
    finding = found[index]
    session.hand.finding_index = index
    row = COURSE if finding.course else session.here.cursor.row
    session.here.cursor = session.here.cursor.at(finding.place).on(row, finding.course)
