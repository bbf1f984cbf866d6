from pathlib import Path

import pytest

from tests.corpus.bases import Bases


@pytest.fixture(scope="session")
def bases(built: Path, dossier: Path, tmp_path_factory: pytest.TempPathFactory) -> Bases:
    """What the corpus is made of, from what other tests had built already."""
    folder = tmp_path_factory.mktemp("corpus")
    (folder / "base").mkdir()
    return Bases(folder, built, dossier.parent / "case", dossier)
