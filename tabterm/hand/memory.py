"""Remembering what has been worked out, and forgetting the oldest of it."""

from __future__ import annotations

from collections import OrderedDict
from typing import TypeVar

K = TypeVar("K")
V = TypeVar("V")


class Memory(OrderedDict[K, V]):
    """Values by key, at most so many; what is kept alive by a value may have its identity in the key."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self._most = most

    def keep(self, key: K, value: V) -> V:
        """Remember a value, and give it back."""
        self[key] = value
        while len(self) > self._most:
            self.popitem(last=False)
        return value
