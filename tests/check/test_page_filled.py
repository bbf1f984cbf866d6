"""The checking page holds the steps and the shapes as they stand, and is small enough to read."""

import importlib.util

from evidence.resources import templates

CHECK = templates() / "check"


def test_the_page_is_what_its_script_makes_of_it():
    spec = importlib.util.spec_from_file_location("make_page", CHECK / "make_page.py")
    make_page = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make_page)
    page = (CHECK / "check.html").read_text(encoding="utf-8")

    assert make_page.filled(page) == page, "run python templates/check/make_page.py"


def test_the_page_can_be_read_at_a_sitting_and_asks_nothing_of_a_network():
    page = (CHECK / "check.html").read_text(encoding="utf-8")

    assert len(page.splitlines()) < 1200
    assert "default-src 'none'" in page
    assert "innerHTML" not in page
