"""Every figure once, for the tests that look at all of them."""

import pytest

from evidence.figures import Scene

from .samples import all_figures


@pytest.fixture(scope="session")
def figures() -> dict[str, Scene]:
    return all_figures()
