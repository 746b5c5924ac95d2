"""What was heard in the recording and waits to be confirmed, as it lies on the neck."""

from __future__ import annotations

from threading import Thread
from typing import TYPE_CHECKING

from tabterm.dataclass import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from tabterm.score.key import Key
    from tabterm.score.model import Score
    from tabterm.workspace.document import Document


@dataclass
class Proposals:
    """The proposals of a document, fitted to the neck beside the keys.

    Attributes:
        document: Whose.
        stops: The ear is to stop.
        key: The key that the notes seem to be in, where the score has none of the player's yet.
    """

    document: Document
    stops: bool = False
    key: Key | None = None
    _lines: dict[int, Any] | None = None
    _fitted: Score | None = None
    _asked: dict[int, Any] | None = None

    @property
    def there(self) -> bool:
        """Whether anything waits."""
        return any(measure.proposes for measure in self.document.score.measures)

    def known(self) -> Score | None:
        """The score with all that is proposed on courses; None while that is not worked out."""
        lines = _lines_of(self.document.score)
        return self._fitted if self._fits(lines) else None

    def fitted(self) -> Score:
        """The same, worked out now where it is not known."""
        from tabterm.piece.proposing import fitted

        lines = _lines_of(self.document.score)
        if self._fitted is None or not self._fits(lines):
            self._lines, self._fitted = lines, fitted(self.document.score, self.document.player)
        return self._fitted

    def wonder(self, soon: Callable[[Callable[[], None]], None]) -> None:
        """Have it worked out by a thread where it is not known; it is there when the next key has come."""
        from tabterm.piece.proposing import fitted

        score, player = self.document.score, self.document.player
        lines = _lines_of(score)
        if not lines or self._fits(lines) or lines == self._asked:
            return
        self._asked = lines

        def take(found: Score) -> None:
            self._lines, self._fitted, self._asked = lines, found, None

        def work() -> None:
            found = fitted(score, player)
            soon(lambda: take(found))

        Thread(target=work, daemon=True).start()

    def _fits(self, lines: dict[int, Any]) -> bool:
        known = self._lines
        return known is not None and all(known.get(index) == line for index, line in lines.items())


def _lines_of(score: Score) -> dict[int, Any]:
    """The line of each measure in which something is proposed, whatever of it has been confirmed since."""
    return {
        index: tuple(event.with_(proposed=()) for event in measure.source)
        for index, measure in enumerate(score.measures)
        if measure.proposes
    }
