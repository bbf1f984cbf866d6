"""A disk that refuses at the very last: what stands then, and what the error says of it."""

import sqlite3

import pytest

from evidence.errors import RefusedError
from evidence.ledger import guards
from evidence.ledger.store import Store


class Refusing:
    """A connection whose commit is refused: before it is done, or once it is."""

    def __init__(self, connection: sqlite3.Connection, *, done: bool, unread: bool = False) -> None:
        self._connection, self._done, self._unread = connection, done, unread
        self._refused = False

    def execute(self, statement, *values):
        if statement == "COMMIT":
            self._refused = True
            if self._done:
                self._connection.execute(statement)
            raise broken()
        if self._refused and self._unread and statement.startswith("SELECT"):
            raise broken()
        return self._connection.execute(statement, *values)

    def backup(self, _copy):
        raise broken()

    def close(self):
        self._connection.close()


def broken() -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_DIR_FSYNC
    return error


def refused(do, *given) -> tuple[str, str, str]:
    with pytest.raises(RefusedError) as caught:
        do(*given)
    return caught.value.what, caught.value.why, caught.value.what_to_do


@pytest.fixture
def over(ledger):
    """The ledger over a connection that refuses."""
    opened = []

    def made(**how) -> Store:
        opened.append(guards.connect(ledger, writable=True))
        return Store(ledger, Refusing(opened[-1], **how))

    yield made
    for connection in opened:
        connection.close()


def held(ledger) -> int:
    with Store.open(ledger, writable=False) as store:
        return len(store.entries())


def test_a_commit_that_was_done_and_then_refused_is_told_as_standing(ledger, over, append):
    assert refused(append, over(done=True), 1) == (
        str(ledger),
        "what was to be written stands there, but the disk does not answer for it",
        "Check the disk, then look at the record before you write the same again.",
    )
    assert held(ledger) == 6


@pytest.mark.parametrize("unread", [False, True], ids=["read", "unread"])
def test_a_commit_that_was_refused_left_nothing(ledger, over, append, unread):
    assert refused(append, over(done=False, unread=unread), 1) == (
        str(ledger),
        "the disk refused; nothing was written",
        "Check the disk.",
    )
    assert held(ledger) == 5


def test_a_copy_that_the_disk_refuses_is_told_by_the_name_it_was_to_have(over, tmp_path):
    to = tmp_path / "copies" / "copy.sqlite"
    to.parent.mkdir()
    said = refused(over(done=True).backup, to)
    assert said == (str(to), "the disk refused; nothing was written", "Check the disk.")
    assert list(to.parent.iterdir()) == []
