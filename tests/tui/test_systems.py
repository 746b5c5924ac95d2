"""Systems wider than the screen: which of their cells are shown."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tabterm.tui.systems import window

WIDTHS = st.lists(st.integers(1, 9), min_size=1, max_size=60)


@given(WIDTHS, st.integers(20, 120), st.data())
def test_whole_moments_are_shown_and_the_wanted_one_among_them(widths, room, data):
    edges = [sum(widths[:number]) for number in range(len(widths) + 1)]
    number = data.draw(st.integers(0, len(widths) - 1))
    start, end = window(edges, edges[number], room)
    assert {start, end} <= set(edges)
    assert start <= edges[number] < edges[number + 1] <= end <= start + room


@given(WIDTHS, st.integers(20, 120))
def test_as_much_is_shown_as_fits(widths, room):
    edges = [sum(widths[:number]) for number in range(len(widths) + 1)]
    for x in edges[:-1]:
        start, end = window(edges, x, room)
        assert end == edges[-1] or end + widths[edges.index(end)] > start + room
