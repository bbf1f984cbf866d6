"""Where the templates and the sample case lie: inside the wheel, or beside the package.

An installed wheel carries them in `evidence/_data/`; a checkout has them at its top level.
"""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    carried = _PACKAGE / "_data" / name
    return carried if carried.is_dir() else _PACKAGE.parent / name


def templates() -> Path:
    """The folder with the catalogue and the wording of the pages."""
    return _folder("templates")


def sample_case() -> Path:
    """The folder with the invented story and its pictures."""
    return _folder("sample_case")
