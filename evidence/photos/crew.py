"""Several workers side by side: one thread and one limited child process for each core."""

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from itertools import islice
from queue import SimpleQueue
from types import TracebackType
from typing import Self, TypeVar

from evidence.photos.worker import Worker

_Item = TypeVar("_Item")
_Made = TypeVar("_Made")

_AHEAD = 4
"""Tasks for each worker that are under way or done before the first is asked for: enough to keep it
busy, few enough that memory does not grow with the number of files."""


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Crew:
    """Lends each task a `Worker` of its own; the children start when they are first needed.

    Use it as a context manager.

    Args:
        size: how many work at once; as many as there are cores, if not given.
        hire: makes a worker, other than the usual ones.
    """

    def __init__(self, size: int | None = None, hire: Callable[[], Worker] | None = None) -> None:
        self.size = size or cores()
        self._hire = hire or Worker
        self._idle: SimpleQueue[Worker] = SimpleQueue()
        self._closing = ExitStack()

    def __enter__(self) -> Self:
        for _ in range(self.size):
            self._idle.put(self._closing.enter_context(self._hire()))
        self._threads = self._closing.enter_context(ThreadPoolExecutor(self.size))
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._closing.__exit__(kind, error, trace)

    def each(self, do: Callable[[_Item, Worker], _Made], items: Iterable[_Item]) -> Iterator[_Made]:
        """What `do` makes of each item, in their order; the first error ends it."""
        tasks = (self._threads.submit(self._lent, do, item) for item in items)
        ahead: deque[Future[_Made]] = deque(islice(tasks, self.size * _AHEAD))
        try:
            while ahead:
                yield ahead.popleft().result()
                ahead.extend(islice(tasks, 1))
        finally:
            for future in ahead:
                future.cancel()

    def _lent(self, do: Callable[[_Item, Worker], _Made], item: _Item) -> _Made:
        worker = self._idle.get()
        try:
            return do(item, worker)
        finally:
            self._idle.put(worker)
