"""What was worked out for a page and still holds: kept a while, made once."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING, TypeVar, cast

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

T = TypeVar("T")
KEPT_MAX = 48


class Kept:
    """Things by key, the least used forgotten first. What is asked for twice at once is made once.

    A key has to name the state of the book that its thing was made from.
    """

    def __init__(self, most: int = KEPT_MAX) -> None:
        """Begin with nothing."""
        self._most = most
        self._things: OrderedDict[Hashable, object] = OrderedDict()
        self._making: dict[Hashable, Lock] = {}
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what is kept under a key, else what ``make`` makes; raises what that raises."""
        with self._lock:
            if key in self._things:
                self._things.move_to_end(key)
                return cast("T", self._things[key])
            turn = self._making.setdefault(key, Lock())
        with turn:
            with self._lock:
                if key in self._things:
                    return cast("T", self._things[key])
            try:
                made = make()
                self._put(key, made)
            finally:
                with self._lock:
                    self._making.pop(key, None)
        return made

    def _put(self, key: Hashable, made: object) -> None:
        """Keep a thing, and forget the least used where there are too many."""
        with self._lock:
            self._things[key] = made
            if len(self._things) > self._most:
                self._things.popitem(last=False)
