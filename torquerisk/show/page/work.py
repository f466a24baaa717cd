"""What the page computes: frozen results, kept by what went in, and proofs in the background."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Any, TypeVar

from torquerisk.case import Policy
from torquerisk.show.page.case_in import Case
from torquerisk.study.answers import edits as changed
from torquerisk.study.answers.edits import Edits
from torquerisk.study.answers.results import Assessment

T = TypeVar("T")
DELAY = 0.8
"""Slow work begins this long after it is asked for, so that one slider's way does not start a dozen
of it [s]. The first of its kind in a visit begins at once, but for a proof, which would hold up the
page that is being drawn."""


@dataclass(frozen=True, kw_only=True)
class AssessKey:
    """What an assessment depends on."""

    digest: str
    edits: Edits
    draws: int
    seed: int
    pulls: int
    abnormal: bool
    version: str


def assessed(case: Case, edits: Edits, policy: Policy) -> Assessment:
    """The assessment behind every view; at the policy's draws and seed."""
    return changed.assessed(*changed.edited(case.engine, case.run, edits), policy)


class Dropped(Exception):
    """Raised in place of a result that nobody waits for any more."""


class Background:
    """Slow results, made beside the page: proofs in one line, all else in another.

    A new wish drops the outdated ones.
    """

    def __init__(self) -> None:
        self._proofs, self._others = (
            ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
            for name in ("proofs", "others")
        )
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, Future[Any]] = OrderedDict()
        self._latest: OrderedDict[tuple[str, str], Hashable] = OrderedDict()

    def ask(self, who: str, what: str, key: Hashable, make: Callable[[], T]) -> Future[T]:
        """The result under a key, started if need be. who: the session; what: kind of result."""
        key = (what, key)
        with self._lock:
            again = what == "proof" or (who, what) in self._latest
            self._latest[who, what] = key
            self._latest.move_to_end((who, what))
            while len(self._latest) > 400:
                self._latest.popitem(last=False)
            found = self._kept.get(key)
            if found is None or found.cancelled() or _dropped(found):
                due = time.monotonic() + DELAY * again
                pool = self._proofs if what == "proof" else self._others
                found = pool.submit(self._after_a_while, due, key, make)
                self._kept[key] = found
            self._kept.move_to_end(key)
            while len(self._kept) > 48:
                self._kept.popitem(last=False)
            return found

    def settle(self) -> None:
        """Wait until all that was asked for is there, or could not be made."""
        with self._lock:
            under_way = list(self._kept.values())
        wait(under_way)

    def _after_a_while(self, due: float, key: Hashable, make: Callable[[], T]) -> T:
        while time.monotonic() < due:
            time.sleep(0.05)
            if self._unwanted(key):
                raise Dropped
        if self._unwanted(key):
            raise Dropped
        return make()

    def _unwanted(self, key: Hashable) -> bool:
        with self._lock:
            return key not in self._latest.values()


def _dropped(future: "Future[Any]") -> bool:
    return future.done() and isinstance(future.exception(), Dropped)
