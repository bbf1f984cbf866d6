"""`enter` and `intake` keep the tables for SQL; what is written never depends on them."""

import sqlite3
from contextlib import closing

from tests.cli.conftest import last

WASH = ("wash", "when=2025-05-30", "zones=all")


def newest(case) -> int:
    with closing(sqlite3.connect(case / "index.sqlite")) as index:
        (row,) = index.execute("SELECT max(seq) FROM entries")
    return int(row[0])


def test_an_entry_stands_in_the_tables_once_it_is_written(own, run):
    assert run("enter", own, *WASH).code == 0
    assert newest(own) == last(own)["seq"]
    assert run("enter", own, *WASH).code == 0
    assert newest(own) == last(own)["seq"]


def test_pictures_stand_in_the_tables_once_they_are_sealed(own, run, photo):
    assert run("intake", own, photo).code == 0
    assert newest(own) == last(own)["seq"]


def test_an_export_makes_the_tables_where_they_are_missing(own, run, tmp_path):
    assert run("enter", own, *WASH).code == 0
    (own / "index.sqlite").unlink()
    assert run("export", own, "--to", tmp_path / "tables").code == 0
    assert newest(own) == last(own)["seq"]


def test_the_days_of_a_gap_are_asked_for_without_quotes(own, run):
    """The README's own query."""
    assert run("enter", own, *WASH).code == 0
    with closing(sqlite3.connect(own / "index.sqlite")) as index:
        rows = index.execute("SELECT zone, from_day, to_day, days_max FROM gaps").fetchall()
    assert rows


def test_checking_alone_makes_no_tables(own, run):
    assert run("enter", own, *WASH, "--check-only").code == 0
    assert not (own / "index.sqlite").exists()


def test_tables_that_cannot_be_written_are_told_and_stop_nothing(own, run):
    (own / "index.sqlite").mkdir()
    ran = run("enter", own, *WASH, "--json")
    assert (ran.code, ran.json["seq"]) == (0, last(own)["seq"])
    assert "The entry is written." in ran.err
    assert "index.sqlite: cannot be written" in ran.err
