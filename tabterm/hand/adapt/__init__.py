"""A line of any instrument as courses and frets that a hand plays.

The line is `Measure.source`, the pitches as written; `adapt` chooses octaves and, where wanted, a key, thins
chords to double stops, takes courses and frets from the fingering search, keeps the articulations that these
allow, and says of everything that it did where and why. `restore` puts the original back into an arrangement.
"""

from tabterm.hand.adapt.fitting import Adaptation, adapt
from tabterm.hand.adapt.keys import EASIEST, KeyChoice, easiest_keys
from tabterm.hand.adapt.restoring import restore

__all__ = ["EASIEST", "Adaptation", "KeyChoice", "adapt", "easiest_keys", "restore"]
