"""What of a recording is heard, in words."""

from __future__ import annotations

import pytest

from tabterm.errors import ScoreError
from tabterm.score.record_mix import AS_IT_IS, RecordMix, Side


@pytest.mark.parametrize(
    ("text", "mix"),
    [
        ("", AS_IT_IS),
        ("both", AS_IT_IS),
        ("Centre", RecordMix(Side.CENTRE)),
        ("left balance -40", RecordMix(Side.LEFT, -40)),
        ("balance +100 190-1400 Hz", RecordMix(balance=100, register=(190, 1400))),
        ("sides 82.5-330", RecordMix(Side.SIDES, register=(82.5, 330))),
    ],
)
def test_words_and_what_they_mean(text, mix):
    assert RecordMix.parse(text) == mix
    assert RecordMix.parse(str(mix)) == mix


@pytest.mark.parametrize(
    "text", ["middle", "balance", "balance 101", "1400-190", "190-", "left right", "9-99999", "\u0661-\u0662"]
)
def test_what_is_no_way_to_hear_it_is_refused_in_one_line(text):
    with pytest.raises(ScoreError) as refused:
        RecordMix.parse(text)
    assert "\n" not in str(refused.value)
    assert refused.value.hint
