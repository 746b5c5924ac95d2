"""A player at the keys of an editor without a screen."""

from __future__ import annotations

from pathlib import Path
from queue import SimpleQueue

from tabterm.hand.strokes import with_proposals
from tabterm.workspace.document import Document
from tabterm.workspace.keymap import Keymap
from tabterm.workspace.registry import REGISTRY
from tabterm.workspace.session import Session
from tabterm.workspace.transport import Transport
from tests.build import PLAYER, text

KEYMAP = Keymap()


class Listening:
    """A host without a screen; remembers what is said, and answers what is asked.

    Attributes:
        said: What was said, in order.
        troubles: What of that could not be done.
        asked: Questions with what was suggested for an answer, and what there was to choose from.
        answers: What the next questions get for an answer; another is typed up to Enter.
        opened: Panels, by name.
        clipboard: What the terminal's clipboard was given.
        waiting: What is to be done soon.
        parts: How far long work was, now and then, from 0 to 1.
    """

    def __init__(self):
        self.said = []
        self.troubles = []
        self.asked = []
        self.answers = []
        self.opened = []
        self.clipboard = ""
        self.parts = []
        self.waiting = SimpleQueue()
        self._asked = None

    def say(self, text, *, trouble=False):
        """Remember a line."""
        self.said.append(text)
        self.troubles += [text] * trouble

    def ask(self, question, suggestion, answer, choices=()):
        """Answer a question."""
        self.asked.append((question, suggestion, tuple(choices)))
        if self.answers:
            answer(self.answers.pop(0))
        else:
            self._asked, self._typed = answer, []

    def open_panel(self, name):
        """Remember a panel."""
        self.opened.append(name)

    def soon(self, action):
        """Keep it for whoever looks."""
        self.waiting.put(action)

    def work(self, job):
        """Do it at once."""
        self.say(job(self.parts.append))

    def to_clipboard(self, text):
        """Keep it."""
        self.clipboard = text

    def redraw(self):
        """There is no screen."""

    def leave(self):
        """There is no program."""


class Typist(Listening):
    """Presses keys as the key map has them, on a session that it is the host of."""

    def __init__(self, score, *, at=None, propose=with_proposals):
        super().__init__()
        document = Document(Path("typed.tabterm"), score, PLAYER)
        if propose is not None:
            document.begin_proposing(propose)
        self.session = Session(document, self, Transport())
        if at is not None:
            self.session.here.go(at)

    @property
    def score(self):
        """The score as it stands."""
        return self.session.score

    @property
    def text(self):
        """The same as a line of text."""
        return text(self.score)

    @property
    def place(self):
        """Where the cursor is."""
        return self.session.here.cursor.place

    def press(self, *keys):
        """Press keys one after the other."""
        for key in keys:
            if self._asked is not None:
                self._type(key)
                continue
            binding = KEYMAP.find(self.session.here.cursor.row.name, key)
            if binding is not None:
                name, _, word = binding.partition(" ")
                self.run(name, word or None)
        return self

    def _type(self, key):
        """Type an answer, up to Enter."""
        if key == "enter":
            answer, self._asked = self._asked, None
            answer("".join(self._typed))
        else:
            self._typed.append(key)

    def run(self, name, word=None):
        """Carry a command out."""
        self.session.run(REGISTRY[name], word)
        return self
