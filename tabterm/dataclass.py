"""The standard library's dataclasses, of which only those that are used are made in full.

There the methods are source that is written and compiled, 0.25 ms a class (measured here): a third of the time in
which the editor shows a picture. Here equality, hash, order and text are functions of ours, and `__init__` is
written when the first one of a class is made. `slots` changes nothing; all the rest is as it is there.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, FrozenInstanceError, fields
from functools import partial
from operator import attrgetter, ge, gt, le, lt
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass  # noqa: TID251 - what it is made of
else:

    def dataclass(
        kind: type | None = None,
        /,
        *,
        frozen: bool = False,
        eq: bool = True,
        order: bool = False,
        slots: bool = False,  # noqa: ARG001 - as there
    ) -> Any:
        """Make a dataclass of a class, or give what does that."""
        return partial(_made, frozen=frozen, eq=eq, order=order) if kind is None else _made(kind)


__all__ = ["dataclass"]

_set = object.__setattr__


def _made(kind: type, *, frozen: bool = False, eq: bool = True, order: bool = False) -> type:
    dataclasses.dataclass(init=False, repr=False, eq=False)(kind)  # noqa: TID251 - what it is made of
    own, key = vars(kind), _key(tuple(each.name for each in fields(kind) if each.compare))
    methods: dict[str, Any] = {"__init__": _first_init(kind, frozen), "__repr__": _repr}
    if eq:
        methods |= {"__eq__": _comparing(key, _equal), "__hash__": _hashing(key) if frozen else None}
    if order:
        methods |= {f"__{each.__name__}__": _comparing(key, each) for each in (lt, le, gt, ge)}
    if frozen:
        methods |= {"__setattr__": _refuse, "__delattr__": _refuse}
    for name, method in methods.items():
        if own.get(name) is None:  # as a class that has equality of its own has no hash
            setattr(kind, name, method)
    return kind


def _key(names: tuple[str, ...]) -> Callable[[Any], Any]:
    return attrgetter(*names) if names else lambda _: ()


def _equal(one: object, other: object) -> bool:
    return one == other


def _comparing(key: Callable[[Any], Any], holds: Callable[[Any, Any], bool]) -> Callable[[Any, Any], Any]:
    def compare(self: Any, other: Any) -> Any:
        return holds(key(self), key(other)) if other.__class__ is self.__class__ else NotImplemented

    return compare


def _hashing(key: Callable[[Any], Any]) -> Callable[[Any], int]:
    return lambda self: hash(key(self))


def _repr(self: Any) -> str:
    told = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in fields(self) if each.repr)
    return f"{type(self).__qualname__}({told})"


def _refuse(self: Any, name: str, *_: Any) -> None:
    raise FrozenInstanceError(f"a {type(self).__name__} never changes, and so does its {name}")


def _first_init(kind: Any, frozen: bool) -> Callable[..., None]:
    """What puts the real `__init__` into its own place, and calls it."""

    def init(self: Any, *arguments: Any, **named: Any) -> None:
        kind.__init__ = _init_of(kind, frozen)
        kind.__init__(self, *arguments, **named)

    return init


def _init_of(kind: Any, frozen: bool) -> Any:
    known: dict[str, Any] = {"_set": _set, "MISSING": MISSING}
    taken, by_name, body = ["self"], list[str](), list[str]()
    for each in fields(kind):
        name, made = each.name, each.default_factory is not MISSING
        known[f"_of_{name}"] = each.default_factory if made else each.default
        value = name
        if made:
            value = f"_of_{name}() if {name} is MISSING else {name}" if each.init else f"_of_{name}()"
        if each.init:
            default = "=MISSING" if made else "" if each.default is MISSING else f"=_of_{name}"
            (by_name if each.kw_only else taken).append(name + default)
        if each.init or made:
            body.append(f"_set(self, '{name}', {value})" if frozen else f"self.{name} = {value}")
    if hasattr(kind, "__post_init__"):
        body.append("self.__post_init__()")
    if by_name:
        taken += ["*", *by_name]
    exec(f"def __init__({', '.join(taken)}):\n " + "\n ".join(body or ["pass"]), known)  # noqa: S102 - as there
    return known["__init__"]
