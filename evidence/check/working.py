"""Work that takes its time: on all cores, and told as it goes on."""

import os
import signal
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TypeVar

Item = TypeVar("Item")
Made = TypeVar("Made")

Progress = Callable[[str, int, int], None]
"""Told what is looked at (a step's name), how much of it is done, and how much there is."""

_TOLD_EVERY = 1000


def silent(_what: str, _done: int, _whole: int) -> None:
    """Progress that nobody wants to hear of."""


def told(what: str, items: Collection[Item], progress: Progress) -> Iterator[Item]:
    """The items, and word of them now and then."""
    for done, item in enumerate(items):
        if done % _TOLD_EVERY == 0:
            progress(what, done, len(items))
        yield item


def cores() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def in_threads(work: Callable[[Item], Made], items: Iterable[Item]) -> Iterator[Made]:
    """Work that leaves the interpreter, such as sums of files; the answers in order.

    What `work` raises ends it, and nothing more is begun.
    """
    pool = ThreadPoolExecutor(cores())
    try:
        yield from pool.map(work, items)
    finally:
        pool.shutdown(cancel_futures=True)


def in_processes(work: Callable[[Item], Made], items: Sequence[Item]) -> Iterator[Made]:
    """Arithmetic that holds on to the interpreter, such as signatures; the answers in order.

    Where no process can be started, or one dies, it is done here.

    Args:
        work: a function of a module, which the other processes can import.
        items: few and large, for each goes there and back.
    """
    done = 0
    if len(items) > 1 and cores() > 1:
        try:
            for made in _spread(work, items):
                done += 1
                yield made
        except (BrokenProcessPool, OSError):
            pass
    yield from map(work, items[done:])


def _spread(work: Callable[[Item], Made], items: Sequence[Item]) -> Iterator[Made]:
    # A fork would copy locks that threads hold; what is spawned starts clean on every system.
    pool = ProcessPoolExecutor(
        min(cores(), len(items)), mp_context=get_context("spawn"), initializer=_deaf
    )
    try:
        yield from pool.map(work, items)
    finally:
        pool.shutdown(cancel_futures=True)


def _deaf() -> None:
    """Ctrl-C is for the first process to answer: it ends the others."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
