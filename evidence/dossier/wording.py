"""The wording of the pages, read from `templates/dossier/`; no page has a sentence of its own."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from evidence.errors import RefusedError
from evidence.resources import templates
from evidence.words import Form

COMMON = "common"
"""What every form of dossier says."""

_FORMS = frozenset(Form)


@dataclass(frozen=True, slots=True)
class Wording:
    """One form's sentences, by section and key."""

    name: str
    sections: Mapping[str, Mapping[str, str]]

    def say(self, section: str, key: str, /, **figures: object) -> str:
        """The sentence with its figures filled in.

        Raises:
            RefusedError: the template has no such sentence, or asks for a figure not given.
        """
        try:
            return self.sections[section][key].format(**figures)
        except (KeyError, IndexError) as error:
            raise RefusedError(
                f"templates/dossier/{self.name}.toml",
                f"[{section}] {key} is missing, or asks for {error}",
            ) from error


@lru_cache(maxsize=32)
def wording(name: str) -> Wording:
    """The wording of a form of dossier, or of another sheet.

    What every form says stands in `common.toml`; a form's own file adds to its sections.

    Raises:
        RefusedError: the file is missing or not TOML.
    """
    own = _read(name)
    if name not in _FORMS:
        return Wording(name, own)
    common = _read(COMMON)
    sections = [*common, *(section for section in own if section not in common)]
    return Wording(
        name, {section: {**common.get(section, {}), **own.get(section, {})} for section in sections}
    )


def _read(name: str) -> dict[str, dict[str, str]]:
    path = templates() / "dossier" / f"{name}.toml"
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise RefusedError(str(path.name), f"cannot be read: {error}") from error
