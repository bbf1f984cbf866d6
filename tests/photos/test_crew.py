"""Several workers side by side: order, errors, and what a bad file costs."""

import threading

import pytest

from evidence.errors import EvidenceError
from evidence.photos import Crew, Worker
from evidence.photos import crew as module
from tests.photos.moody import moody_worker

NOON = {"DateTimeOriginal": "2025:05:30 12:10:05"}


class Idle(Worker):
    """A worker without a child."""


def crew_of(size):
    return Crew(size, Idle)


def test_answers_come_in_the_order_of_the_items_whoever_is_done_first():
    second = threading.Event()

    def do(item, _worker):
        if item == 0:
            assert second.wait(20)
        if item == 1:
            second.set()
        return item * 10

    with crew_of(2) as crew:
        assert list(crew.each(do, range(20))) == [item * 10 for item in range(20)]


def test_no_worker_has_two_tasks_at_once():
    busy, both = set(), threading.Barrier(2, timeout=20)
    clash = []

    def do(item, worker):
        clash.append(worker in busy)
        busy.add(worker)
        if item < 2:
            both.wait()  # two are at work at the same time
        busy.discard(worker)
        return worker

    with crew_of(2) as crew:
        workers = list(crew.each(do, range(50)))
    assert len(set(workers[:2])) == 2
    assert len(set(workers)) == 2
    assert not any(clash)


def test_items_are_taken_only_a_little_ahead():
    taken = []

    def items():
        for item in range(1000):
            taken.append(item)
            yield item

    with crew_of(2) as crew:
        answers = crew.each(lambda item, _worker: item, items())
        assert next(answers) == 0
        assert len(taken) <= 2 * module._AHEAD + 1
        answers.close()
        assert len(taken) <= 2 * module._AHEAD + 1


def test_the_first_error_ends_it_and_what_was_not_begun_is_left():
    done = []

    def do(item, _worker):
        if item == 3:
            raise ValueError(item)
        done.append(item)

    with crew_of(1) as crew:
        with pytest.raises(ValueError, match="3"):
            list(crew.each(do, range(1000)))
        assert len(done) < 20
        assert list(crew.each(lambda item, _worker: item, [7])) == [7]  # it goes on working


def test_nothing_to_do_starts_no_child():
    with Crew(2) as crew:
        assert list(crew.each(lambda path, worker: worker.camera(path), [])) == []
        assert all(crew._idle.get()._child is None for _ in range(2))


def test_its_children_end_with_it(make):
    path = make("a.jpg", NOON)
    children = []

    def read(_item, worker):
        reading = worker.camera(path)
        children.append(worker._child)
        return reading

    with Crew(2) as crew:
        assert all(reading.camera for reading in crew.each(read, range(8)))
    assert 1 <= len(set(children)) <= 2
    assert all(child.poll() is not None for child in children)


def test_there_are_as_many_as_the_cores_that_it_may_use():
    with Crew() as crew:
        assert crew.size == module.cores() >= 1


def test_a_file_that_breaks_a_child_costs_that_file_only(make):
    names = [f"{'crash' if at % 9 == 4 else 'good'}-{at}.jpg" for at in range(40)]
    paths = [make(name, NOON) for name in names]
    with Crew(2, moody_worker) as crew:
        told = list(crew.each(lambda path, worker: worker.camera(path), paths))
    broken = [path.name for path, one in zip(paths, told, strict=True) if one.unreadable]
    assert broken == [name for name in names if name.startswith("crash")]


def test_where_no_child_can_start_it_says_so(make, tmp_path):
    path = make("a.jpg", NOON)
    with (
        Crew(2, lambda: Worker(command=(str(tmp_path / "nothing"),))) as crew,
        pytest.raises(EvidenceError, match="cannot be started"),
    ):
        list(crew.each(lambda path, worker: worker.camera(path), [path] * 5))
