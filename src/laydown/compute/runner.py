"""One small seam for doing the same pure function to many things: here, or in several processes.

Only module-level functions and plain data cross the border, so a result never depends on which runner did
the work; a contract test holds every runner to that.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import connection
from typing import Protocol, TypeVar

T = TypeVar("T")
R = TypeVar("R")


def _start_worker() -> None:
    """Leave interrupts to the parent, and end with it however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)


class Runner(Protocol):
    """Maps a function over items, in order, yielding each result as soon as its turn comes."""

    def map(self, function: Callable[[T], R], items: Sequence[T]) -> Iterator[R]:
        """Yield ``function(item)`` for every item, in the order of the items."""
        ...


class SerialRunner:
    """Does the work in this process, one item after the other."""

    def map(self, function: Callable[[T], R], items: Sequence[T]) -> Iterator[R]:
        """Yield ``function(item)`` for every item, in the order of the items."""
        for item in items:
            yield function(item)


class ProcessRunner:
    """Does the work in several processes; for few items it is not worth their start and stays serial."""

    def __init__(self, *, workers: int | None = None, at_least: int = 16) -> None:
        self.workers = workers or os.cpu_count() or 1
        self.at_least = at_least

    def map(self, function: Callable[[T], R], items: Sequence[T]) -> Iterator[R]:
        """Yield ``function(item)`` for every item, in the order of the items."""
        if len(items) < self.at_least or self.workers < 2:
            yield from SerialRunner().map(function, items)
            return
        # spawn and not fork: the workbench runs threads, and a fork of a threaded process may hang.
        context = multiprocessing.get_context("spawn")
        # Small pieces: a worker keeps a piece's results until the piece is done.
        chunk = max(1, min(4, len(items) // (self.workers * 4)))
        with ProcessPoolExecutor(self.workers, mp_context=context, initializer=_start_worker) as pool:
            yield from pool.map(function, items, chunksize=chunk)
