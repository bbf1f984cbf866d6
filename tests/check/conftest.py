from pathlib import Path

import pytest

from evidence.ledger import Signer
from tests.tampering import Handed, owner_of, stranger_to


@pytest.fixture
def handed(built: Path) -> Handed:
    return Handed.of(built)


@pytest.fixture
def owner(built: Path) -> Signer:
    return owner_of(built)


@pytest.fixture
def stranger(built: Path) -> Signer:
    return stranger_to(built)
