"""Nothing in `upkeep/` reads a clock, a file or the environment: its sources are read to see.

From every definition in the package, all that it can reach inside the program is followed by name:
functions, classes, constants, through imports. What is reached calls nothing that could tell one
day or one machine from another.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

import evidence

ROOT = Path(evidence.__file__).parent
PACKAGE = "evidence.upkeep"

PURE = {
    "__future__", "base64", "bisect", "collections", "contextlib", "dataclasses", "datetime",
    "decimal", "difflib", "enum", "fractions", "functools", "hashlib", "heapq", "itertools",
    "json", "math", "operator", "pydantic", "re", "types", "typing", "unicodedata", "zoneinfo",
}  # fmt: skip
"""Modules from outside that may be used, though not the methods in `READING`."""

READING = {
    "now", "today", "utcnow", "fromtimestamp", "open", "read_text", "read_bytes", "write_text",
    "write_bytes", "getenv", "import_module", "available_timezones",
}  # fmt: skip
"""Methods, under whatever name their owner goes, that read a clock, a file or the environment."""

BUILTIN = {"open", "input", "print", "exec", "eval", "compile", "breakpoint", "__import__"}

ALLOWED = {
    ("evidence.times", "zone"): "the program's own pinned tzdata, the same on every machine",
    ("evidence.times", "_zone_keys"): "the keys of the same",
}
"""What is not looked into, and why."""

Name = tuple[str, str]
"""A module and a name defined in it."""


@dataclass(frozen=True)
class Module:
    """A module's definitions, and what each imported name stands for."""

    definitions: dict[str, list[ast.AST]]
    imports: dict[str, Name]


def source(module: str) -> Path:
    path = ROOT.parent / Path(*module.split("."))
    return path / "__init__.py" if path.is_dir() else path.with_suffix(".py")


@cache
def read(module: str) -> Module:
    return parsed(source(module).read_text(encoding="utf-8"))


def parsed(text: str) -> Module:
    tree = ast.parse(text)
    definitions: dict[str, list[ast.AST]] = {}
    for node in tree.body:
        for name in _defined(node):
            definitions.setdefault(name, []).append(node)
    imports = {name: found for node in ast.walk(tree) for name, found in _imported(node)}
    return Module(definitions, imports)


def _defined(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        yield node.name
    elif isinstance(node, ast.Import | ast.ImportFrom):
        return
    else:
        stored = [n for n in ast.walk(node) if isinstance(n, ast.Name)]
        named = [n.id for n in stored if isinstance(n.ctx, ast.Store)]
        yield from named or ["<module>"]


def _imported(node: ast.AST) -> Iterator[tuple[str, Name]]:
    if isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports are absolute here"
        for alias in node.names:
            yield alias.asname or alias.name, (node.module or "", alias.name)
    elif isinstance(node, ast.Import):
        for alias in node.names:
            yield alias.asname or alias.name.partition(".")[0], (alias.name, "")


def is_module(name: str) -> bool:
    return name.startswith("evidence") and source(name).is_file()


def reached(start: Name) -> Iterator[Name]:
    """Every definition inside the program that can be reached from one, it included."""
    seen, ahead = set(), [start]
    while ahead:
        name = ahead.pop()
        if name in seen or name in ALLOWED:
            continue
        seen.add(name)
        yield name
        ahead += _leads_to(*name)


def _leads_to(module: str, name: str) -> Iterator[Name]:
    held = read(module)
    if name in held.imports and name not in held.definitions:
        yield from _inside(held.imports[name])
    for used in _names(held.definitions.get(name, [])):
        if used in held.definitions:
            yield module, used
        elif used in held.imports:
            yield from _inside(held.imports[used])


def _inside(found: Name) -> Iterator[Name]:
    module, name = found
    if not module.startswith("evidence"):
        return
    if is_module(f"{module}.{name}"):  # a module taken by name: all that it defines
        whole = f"{module}.{name}"
        yield from ((whole, defined) for defined in read(whole).definitions)
    else:
        yield module, name


def _names(nodes: list[ast.AST]) -> Iterator[str]:
    for node in nodes:
        for part in ast.walk(node):
            if isinstance(part, ast.Name):
                yield part.id
            elif isinstance(part, ast.Constant) and isinstance(part.value, str):
                yield from _quoted(part.value)


def _quoted(text: str) -> Iterator[str]:
    """The names in an annotation that stands in quotes."""
    if text.isidentifier():
        yield text


def faults(module: Module, name: str) -> Iterator[str]:
    """What in a definition could read a clock, a file or the environment."""
    for node in module.definitions.get(name, []):
        for part in ast.walk(node):
            if isinstance(part, ast.Call) and isinstance(part.func, ast.Attribute):
                yield from _method(part, part.func.attr)
            elif isinstance(part, ast.Name) and isinstance(part.ctx, ast.Load):
                yield from _name(part, module)


def _method(call: ast.Call, name: str) -> Iterator[str]:
    if name in READING:
        yield f"line {call.lineno}: .{name}()"
    if name == "astimezone" and not call.args and not call.keywords:
        yield f"line {call.lineno}: the machine's own time zone"


def _name(used: ast.Name, module: Module) -> Iterator[str]:
    outside = module.imports.get(used.id, ("evidence", ""))[0]
    if not outside.startswith("evidence") and outside.split(".")[0] not in PURE:
        yield f"line {used.lineno}: {outside}"
    if used.id in BUILTIN - module.definitions.keys() - module.imports.keys():
        yield f"line {used.lineno}: {used.id}"


def modules() -> list[str]:
    paths = sorted((ROOT / "upkeep").rglob("*.py"))
    parts = [path.relative_to(ROOT.parent).with_suffix("").parts for path in paths]
    return [".".join(part).removesuffix(".__init__") for part in parts]


@pytest.mark.parametrize("module", modules())
def test_nothing_in_upkeep_imports_what_could_tell_one_day_from_another(module):
    outside = {
        name.split(".")[0]
        for name, _ in read(module).imports.values()
        if not name.startswith("evidence")
    }
    assert outside <= PURE


@pytest.mark.parametrize("module", modules())
def test_nothing_that_upkeep_reaches_reads_a_clock_a_file_or_the_environment(module):
    found = {
        f"{place}.{name}: {fault}"
        for start in read(module).definitions
        for place, name in reached((module, start))
        for fault in faults(read(place), name)
    }
    assert found == set()


@pytest.mark.parametrize(
    "text",
    [
        "from datetime import date\ndef f(): return date.today()",
        "from datetime import datetime, UTC\ndef f(): return datetime.now(UTC)",
        "from datetime import datetime\ndef f(t: datetime): return t.astimezone()",
        "import time\ndef f(): return time.time()",
        "import os\nclass f:\n    def g(self): return os.environ['TZ']",
        "def f(): return open('x').read()",
        "from pathlib import Path\nf = Path('x').read_text()",
    ],
)
def test_a_clock_a_file_or_the_environment_would_be_found(text):
    assert list(faults(parsed(text), "f"))


def test_what_is_reached_goes_through_imports_and_doors():
    found = set(reached(("evidence.upkeep.standing", "measure")))
    assert ("evidence.upkeep.gaps", "measure_rules") in found
    assert ("evidence.times", "parse_when") in found
    assert ("evidence.photos.clock", "Capture") in found
    assert all(is_module(module) for module, _ in found)
