"""One bit turned over anywhere in a pack or an excerpt: refused, or found to be changed."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.check import check_path
from evidence.errors import RefusedError
from tests.packing import packed
from tests.tampering import flipped


@pytest.fixture(scope="module")
def packs(dossier: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A whole pack with its dossier, and an excerpt."""
    folder = tmp_path_factory.mktemp("packs")
    case = dossier.parent / "case"
    return [
        packed(case, folder / "whole.zip").path,
        packed(case, folder / "excerpt.zip", incident="i1").path,
    ]


@pytest.mark.parametrize("which", [0, 1])
def test_a_bit_that_is_turned_over_is_never_taken_for_nothing(request, packs, which):
    whole = packs[which].read_bytes()
    turned = packs[which].with_name(f"turned-{which}.zip")

    @settings(
        max_examples=request.config.getoption("--flips"),
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(st.integers(0, len(whole) * 8 - 1))
    def turn(bit: int) -> None:
        turned.write_bytes(flipped(whole, bit))
        try:
            code = check_path(turned).exit_code
        except RefusedError:
            return
        assert code == 4

    turn()
