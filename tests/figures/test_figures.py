"""The package's one door."""

import subprocess
import sys

import pytest

from evidence import figures


def test_everything_promised_is_there():
    assert all(getattr(figures, name) is not None for name in figures.__all__)


def test_a_name_that_is_not_there_is_refused_as_by_any_module():
    with pytest.raises(AttributeError, match="no attribute 'Nothing'"):
        _ = figures.Nothing


def test_figures_load_without_the_machinery_of_pages():
    code = "import sys, evidence.figures; print('reportlab' in sys.modules)"
    answer = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert answer.stdout.strip() == "False"
