"""The search: the easiest way through the layers of a phrase, exactly, and the next best ones.

A way takes one state (a grip in a frame) of each layer. Its moments are the points for each onset: holding the
grip, and getting there from the one before. The score of a way is the sum of its moments and, beside it, the
worst of them times `WORST`, so that an easy phrase with one bad spot does not win over an even one.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from operator import add
from typing import TYPE_CHECKING, NamedTuple

from tabterm.hand.effort import changing, shifting
from tabterm.hand.leisure import give_way
from tabterm.hand.terms import WORST

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tabterm.hand.grips import Layer
    from tabterm.hand.neck import Neck
    from tabterm.hand.stops import Grip, Transition

Columns = tuple[list[float], ...]
"""Points of a moment: a list for each state of the later layer, an entry for each of the earlier one."""

EPSILON = 1e-9  #: points; implementation limit


class Way(NamedTuple):
    """A way through a phrase.

    Attributes:
        states: Number of the state taken in each layer.
        moments: Points of each onset.
    """

    states: tuple[int, ...]
    moments: tuple[float, ...]

    @property
    def points(self) -> float:
        """What the search makes least."""
        return sum(self.moments) + WORST * max(self.moments, default=0.0)


class Search:
    """The layers of one phrase with what is between them.

    The forward sums hold, for each state, the least points of any way up to it; the backward sums, of any way
    on from it. Both are worked out when first asked for.
    """

    def __init__(self, layers: Sequence[Layer], columns: Sequence[Columns]) -> None:
        """Take the layers of a phrase, at least one, and the points between each and the next."""
        self.layers = layers
        self.columns = columns
        self.start: Sequence[float] = layers[0].points
        self.end: Sequence[float] = [0.0] * len(layers[-1].states)
        self._forward: list[list[float]] = []
        self._backward: list[list[float]] = []

    @classmethod
    def of(cls, layers: Sequence[Layer], passages: Sequence[Transition]) -> Search:
        """The search through layers with these passages into each but the first."""
        pairs = zip(pairwise(layers), passages, strict=True)
        return cls(layers, [columns(before, layer, transition) for (before, layer), transition in pairs])

    def part(self, first: int, last: int, way: Way) -> Search:
        """The search from one layer to another, both included, while all else goes the given way."""
        part = Search(self.layers[first : last + 1], self.columns[first:last])
        if first > 0:
            part.start = [column[way.states[first - 1]] for column in self.columns[first - 1]]
        if last + 1 < len(self.layers):
            part.end = self.columns[last][way.states[last + 1]]
        return part

    @property
    def forward(self) -> list[list[float]]:
        """Least points up to each state, the state's own moment included."""
        if not self._forward:
            sums = list(self.start)
            self._forward.append(sums)
            for matrix in self.columns:
                give_way()
                sums = [min(map(add, sums, column)) for column in matrix]
                self._forward.append(sums)
        return self._forward

    @property
    def backward(self) -> list[list[float]]:
        """Least points on from each state, its own moment not included."""
        if not self._backward:
            sums = list(self.end)
            self._backward.append(sums)
            for matrix in reversed(self.columns):
                give_way()
                sums = [min(map(add, sums, row)) for row in zip(*matrix, strict=True)]
                self._backward.append(sums)
            self._backward.reverse()
        return self._backward

    def best(self) -> Way:
        """The way of least points."""
        return self._evened(self.through(len(self.layers) - 1, _least(self.forward[-1])))

    def least_through(self, layer: int) -> list[float]:
        """For each state of a layer, the least sum of any way through it."""
        return list(map(add, self.forward[layer], self.backward[layer]))

    def way(self, states: Sequence[int]) -> Way:
        """The way that takes these states."""
        moments = [self.start[states[0]]]
        for (one, other), matrix in zip(pairwise(states), self.columns, strict=True):
            moments.append(matrix[other][one])
        return Way(tuple(states), tuple(moments))

    def through(self, layer: int, state: int, along: Way | None = None) -> Way:
        """The way of the least sum through a state; it stays on the way `along` where it meets it."""
        back, on = [state], [state]
        for number in range(layer - 1, -1, -1):
            if along and along.states[number + 1] == back[-1]:
                back.extend(along.states[number::-1])
                break
            back.append(_least(list(map(add, self.forward[number], self.columns[number][back[-1]]))))
        for number in range(layer, len(self.columns)):
            if along and along.states[number] == on[-1]:
                on.extend(along.states[number + 1 :])
                break
            here, onward = on[-1], self.backward[number + 1]
            on.append(
                _least([column[here] + rest for column, rest in zip(self.columns[number], onward, strict=True)])
            )
        return self.way((*back[:0:-1], *on))

    def _evened(self, easiest: Way) -> Way:
        """The best way with the worst moment counted, given the one of the least sum.

        Only states that lie on a way whose sum is within reach of the best can be on a better one; along
        these, the ways are carried on that are not beaten in both their sum and their worst moment.
        """
        bound, total = easiest.points, sum(easiest.moments)
        lightest = max([min(self.start), *(min(map(min, matrix)) for matrix in self.columns)], default=0.0)
        if total + WORST * lightest >= bound - EPSILON:
            return easiest
        limit = bound - WORST * lightest - EPSILON
        return _Evening(self, limit, bound, lightest).best() or easiest


class _Evening:
    """The second pass of the search: labels (sum, worst, number of the label before) by state."""

    def __init__(self, search: Search, limit: float, bound: float, lightest: float) -> None:
        self.search, self.limit, self.bound, self.lightest = search, limit, bound, lightest
        self.history: list[dict[int, list[tuple[float, float, int, int]]]] = []

    def best(self) -> Way | None:
        """The best way under the bound, or None."""
        search = self.search
        near = {state for state, points in enumerate(search.least_through(0)) if points < self.limit}
        self.history.append({state: [(p := search.start[state], p, -1, -1)] for state in near})
        for number, matrix in enumerate(search.columns, 1):
            give_way()
            self.history.append(self._step(number, matrix))
        ends = [
            (total + WORST * worst, state, index)
            for state, labels in self.history[-1].items()
            for index, (total, worst, _, _) in enumerate(labels)
        ]
        if not ends or min(ends)[0] >= self.bound - EPSILON:
            return None
        return self._trace(*min(ends)[1:])

    def _step(self, number: int, matrix: Columns) -> dict[int, list[tuple[float, float, int, int]]]:
        before, onward = self.history[-1], self.search.backward[number]
        forward, limit, lightest = self.search.forward[number], self.limit, self.lightest
        result = {}
        for state, column in enumerate(matrix):
            rest = onward[state]
            if forward[state] + rest >= limit:
                continue
            found = []
            for old, labels in before.items():
                points = column[old]
                for index, (so_far, worst_yet, _, _) in enumerate(labels):
                    total, worst = so_far + points, max(worst_yet, points)
                    if total + rest + WORST * max(worst, lightest) < self.bound - EPSILON:
                        found.append((total, worst, old, index))
            if found:
                result[state] = _unbeaten(found)
        return result

    def _trace(self, state: int, index: int) -> Way:
        states = []
        for labels in reversed(self.history):
            states.append(state)
            _, _, state, index = labels[state][index]
        return self.search.way(states[::-1])


def _unbeaten(labels: list[tuple[float, float, int, int]]) -> list[tuple[float, float, int, int]]:
    """Labels that no other beats in both sum and worst moment."""
    labels.sort()
    kept: list[tuple[float, float, int, int]] = []
    for label in labels:
        if not kept or label[1] < kept[-1][1] - EPSILON:
            kept.append(label)
    return kept


def _least(numbers: list[float]) -> int:
    return numbers.index(min(numbers))


# Points between two layers


@lru_cache(maxsize=512)
def columns(before: Layer, layer: Layer, transition: Transition) -> Columns:
    """The points of a moment for every two states of neighbouring layers."""
    give_way()
    neck = layer.neck
    moved = [[_change(neck, a, b, transition, shifts=True) for a in before.grips] for b in layer.grips]
    kept: dict[tuple[int, int], float] = {}

    def staying(index: int, grip: int) -> float:
        if (index, grip) not in kept:
            pair = before.grips[index], layer.grips[grip]
            kept[index, grip] = _change(neck, *pair, transition, shifts=False)
        return kept[index, grip]

    frees = {is_open: transition.free_s(open_course=is_open) for is_open in set(before.is_open)}
    shifts: dict[int, list[float]] = {}
    result = []
    for (grip, frame), holding in zip(layer.states, layer.points, strict=True):
        if frame not in shifts:
            shifts[frame] = [
                _shift(neck, old, frame, frees[before.is_open[index]], opens=transition.opens)
                for index, old in before.states
            ]
        row = moved[grip]
        column = [row[index] + shift + holding for index, shift in zip(before.of_grip, shifts[frame], strict=True)]
        for number in before.by_frame.get(frame, ()):
            column[number] = staying(before.of_grip[number], grip) + holding
        result.append(column)
    return tuple(result)


def _change(neck: Neck, before: Grip, grip: Grip, transition: Transition, *, shifts: bool) -> float:
    return neck.weights.total(changing(neck, before, grip, transition, shifts=shifts))


@lru_cache(maxsize=1 << 14)
def _shift(neck: Neck, one: int, other: int, free_s: float, *, opens: bool) -> float:
    return neck.weights.total(shifting(neck, one, other, free_s, opens=opens))
