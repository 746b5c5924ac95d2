"""From a score to timed MIDI messages: repeats, swing, slurs, bends, click; pure functions."""

from tabterm.performance.model import Mark, Options, Performance, TimedMessage
from tabterm.performance.order import playing_order
from tabterm.performance.perform import perform

__all__ = ["Mark", "Options", "Performance", "TimedMessage", "perform", "playing_order"]
