"""Our dataclasses are those of the standard library, whatever is asked of them."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from dataclasses import FrozenInstanceError, field

import pytest

from tabterm.dataclass import dataclass
from tabterm.score.place import Place


def made(decorate, **options):
    """The same class by either."""

    @decorate(**options)
    class Held:
        """What is held."""

        name: str
        counts: list[int] = field(default_factory=list)
        size: float = 1.5
        twice: float = field(init=False, compare=False, repr=False)
        at: int = field(default=0, kw_only=True)

        def __post_init__(self):
            object.__setattr__(self, "twice", 2 * self.size)

    return Held


def told(make):
    """What comes of something, or the kind of error that it is."""
    try:
        return repr(make())
    except (TypeError, AttributeError) as error:
        return type(error)


@pytest.mark.parametrize(
    "options", [{}, {"frozen": True}, {"frozen": True, "order": True}, {"eq": False}, {"slots": True}]
)
@pytest.mark.parametrize(
    "asked",
    [
        lambda kind: kind("a", [1], 2.0, at=3),
        lambda kind: kind(),
        lambda kind: kind("a", [], 1.0, 4),
        lambda kind: kind(name="a", other=1),
        lambda kind: kind("a").twice,
        lambda kind: kind("a").counts is kind("a").counts,
        lambda kind: kind("a") == kind("a", size=1.5),
        lambda kind: kind("a") == kind("a", at=1),
        lambda kind: kind("a") == ("a", [], 1.5, 0),
        lambda kind: len({hash(each) for each in [kind("a", ()), kind("a", ())]}),
        lambda kind: kind("a") < kind("b"),
        lambda kind: sorted([kind("b"), kind("a", at=2), kind("a")]),
        lambda kind: dataclasses.replace(kind("a", [1]), size=3.0),
        lambda kind: dataclasses.asdict(kind("a", [1])),
        lambda kind: copy.copy(kind("a", [1])),
        lambda kind: setattr(kind("a"), "name", "b"),
        lambda kind: delattr(kind("a"), "name"),
        lambda kind: kind.__match_args__,
        lambda kind: [each.name for each in dataclasses.fields(kind)],
    ],
)
def test_what_is_asked_of_one_comes_out_the_same(asked, options):
    ours, theirs = made(dataclass, **options), made(dataclasses.dataclass, **options)
    assert told(lambda: asked(ours)) == told(lambda: asked(theirs))


def test_one_can_be_pickled_and_never_changes():
    place = Place(3)
    assert pickle.loads(pickle.dumps(place)) == place
    with pytest.raises(FrozenInstanceError, match="Place never changes"):
        place.measure = 4
