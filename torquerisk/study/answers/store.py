"""A small memory of results, each made once for all who ask."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, TypeVar

T = TypeVar("T")


class Store:
    """A small memory of results by key, the least used forgotten first; safe between threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = threading.Lock()
        self._making: dict[Hashable, threading.Lock] = {}

    def has(self, key: Hashable) -> bool:
        """True where the result is at hand."""
        with self._lock:
            return key in self._kept

    def peek(self, key: Hashable) -> Any:
        """The result at hand, or None."""
        with self._lock:
            return self._kept.get(key)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """The result at hand, or made now, once for all who ask at once; errors are not kept."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            making = self._making.setdefault(key, threading.Lock())
        with making:
            with self._lock:
                if key in self._kept:
                    return self._kept[key]
            try:
                made = make()
            finally:
                with self._lock:
                    self._making.pop(key, None)
            with self._lock:
                self._kept[key] = made
                while len(self._kept) > self._most:
                    self._kept.popitem(last=False)
            return made
