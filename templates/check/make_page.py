"""Writes into the checking page what stands elsewhere: the steps, and the shapes of the entries.

Run it after a change of `steps.toml`, of the models of entries, or of the page's own script or
style:  python templates/check/make_page.py

`check.html` is kept whole, so that anybody can take it as it lies here and open it; a test holds it
to what this makes of it.
"""

import json
import re
from base64 import b64encode
from dataclasses import asdict
from hashlib import sha256
from pathlib import Path

from pydantic import JsonValue
from pydantic.json_schema import models_json_schema

from evidence.entries import BODIES
from evidence.envelope import entry_shape
from evidence.steps import steps
from evidence.words import Grade

PAGE = Path(__file__).with_name("check.html")

_TOLD_TO_PEOPLE = ("title", "description", "default")


def filled(page: str) -> str:
    """The page with its blocks of data and the sums in its policy as they have to be."""
    page = _with_block(page, "steps", [asdict(step) for step in steps()])
    page = _with_block(page, "shapes", _shapes())
    for name in ("script", "style"):
        inner = re.search(rf"<{name}>(.*?)</{name}>", page, re.DOTALL)
        if inner is None:
            raise ValueError(f"the page has no {name}")
        digest = b64encode(sha256(inner[1].encode()).digest()).decode("ascii")
        page = re.sub(
            rf"({name}-src 'sha256-)[^']*", lambda head, sum_=digest: head[1] + sum_, page
        )
    return page


def _with_block(page: str, name: str, value: JsonValue) -> str:
    start = f'<script type="application/json" id="{name}">'
    ahead, found, rest = page.partition(start)
    if not found:
        raise ValueError(f"the page has no block {name}")
    _, end, behind = rest.partition("</script>")
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    # `</` would end the block: no text of ours holds it, and this keeps it so.
    return ahead + start + text.replace("</", "<\\/") + end + behind


def _shapes() -> JsonValue:
    """JSON Schemas of the entry and of every kind's body, without what only people read."""
    models = [*((body, "validation") for body in BODIES.values()), (entry_shape(), "validation")]
    _, whole = models_json_schema(models)
    defs: dict[str, JsonValue] = {
        name: _bare(shape) for name, shape in sorted(whole["$defs"].items())
    }
    kinds = {kind: defs.pop(model.__name__) for kind, model in BODIES.items()}
    return {
        "entry": defs.pop(entry_shape().__name__),
        "grades": [grade.word for grade in Grade],
        "kinds": kinds,
        "defs": defs,
    }


def _bare(value: JsonValue, *, names: bool = False) -> JsonValue:
    """A schema without titles, descriptions and defaults; `names`: the keys are field names."""
    if isinstance(value, dict):
        return {
            key: _bare(inner, names=key == "properties" and not names)
            for key, inner in value.items()
            if names or key not in _TOLD_TO_PEOPLE
        }
    return [_bare(inner) for inner in value] if isinstance(value, list) else value


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
