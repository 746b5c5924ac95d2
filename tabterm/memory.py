"""Memories: what has been worked out of scores, so much of each fact, so that an edit costs what it changes.

A fact worked out of frozen values never changes, so what is remembered shows in the time alone. Each memory is
made once, beside the function whose results it keeps; `MEMORIES` is the table of them all.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING, Any, Generic, NamedTuple, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

V = TypeVar("V")


class _Kept(NamedTuple, Generic[V]):
    """A result, what it hangs on beside its key, and the objects whose identity is in the key."""

    value: V
    hangs_on: tuple[object, ...]
    alive: tuple[object, ...]


class Memory(Generic[V]):
    """Results of one kind; beyond the most that are kept the oldest is forgotten. Any thread may ask.

    Attributes:
        name: What is remembered.
        hangs_on: What a result is worked out of, in words.
        most: How many results are kept.
    """

    def __init__(self, name: str, *, hangs_on: str, most: int) -> None:
        if name in MEMORIES:
            raise ValueError(f"two memories are called {name}")
        self.name, self.hangs_on, self.most = name, hangs_on, most
        self._kept: OrderedDict[Hashable, _Kept[V]] = OrderedDict()
        self._lock = Lock()
        MEMORIES[name] = self

    def __len__(self) -> int:
        return len(self._kept)

    def of(self, things: tuple[object, ...], hangs_on: tuple[object, ...], work: Callable[[], V]) -> V:
        """The result for things told apart by identity, worked out anew where what else it hangs on differs."""
        key = tuple(map(id, things))
        kept = self._kept.get(key)
        if kept is not None and kept.hangs_on == hangs_on:
            return kept.value
        return self.keep(key, work(), hangs_on, alive=things)

    def known(self, key: Hashable, hangs_on: tuple[object, ...] = ()) -> V | None:
        """What is remembered under a key, or None."""
        kept = self._kept.get(key)
        return None if kept is None or kept.hangs_on != hangs_on else kept.value

    def keep(
        self, key: Hashable, value: V, hangs_on: tuple[object, ...] = (), *, alive: tuple[object, ...] = ()
    ) -> V:
        """Remember a result, and give it back; objects whose identity is in the key are kept alive with it."""
        with self._lock:
            self._kept.pop(key, None)
            self._kept[key] = _Kept(value, hangs_on, alive)
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
        return value

    def latest(self) -> tuple[V, ...]:
        """All that is remembered, the latest first."""
        with self._lock:
            return tuple(kept.value for kept in reversed(self._kept.values()))

    def drop(self, key: Hashable) -> None:
        """Forget what is remembered under a key, if anything is."""
        with self._lock:
            self._kept.pop(key, None)

    def forget(self) -> None:
        """Forget everything."""
        with self._lock:
            self._kept.clear()


MEMORIES: dict[str, Memory[Any]] = {}
"""Every memory by its name; a memory is in it once the module that makes it is loaded."""


def forget() -> None:
    """Forget everything that is remembered anywhere."""
    for memory in MEMORIES.values():
        memory.forget()


def sizes() -> dict[str, tuple[int, int]]:
    """Of each memory how many results it holds, and how many at most."""
    return {name: (len(memory), memory.most) for name, memory in MEMORIES.items()}
