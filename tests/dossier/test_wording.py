"""The wording of the pages: nothing missing, nothing left over, none of the words never used."""

import ast
import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from string import Formatter
from typing import get_args

import pytest

from evidence.dossier import wording as module
from evidence.dossier.wording import Wording, wording
from evidence.entries import BODIES, Witness
from evidence.errors import RefusedError
from evidence.hints import Trouble
from evidence.lengths import Way
from evidence.photos.clock import CaptureRule
from evidence.photos.credentials import Integrity, Trust
from evidence.photos.signals import Signal
from evidence.photos.whose import Whose
from evidence.proposing import AskKind
from evidence.upkeep.ahead import Once
from evidence.upkeep.carded import CardState
from evidence.upkeep.challenge import Grave, How, Kind, Step
from evidence.upkeep.gaps import PERIODIC, Met
from evidence.upkeep.places import FROM_BELOW
from evidence.upkeep.preserving import PHOTO_SET, Lost
from evidence.upkeep.rounds import Part
from evidence.words import Cause, Means, RuleBasis
from tests.conftest import PROJECT

PACKAGE = PROJECT / "evidence"
TEMPLATES = PROJECT / "templates"
FORMS = (
    "card",
    "claim",
    "warranty",
    "year",
    "challenge",
    "due",
    "entries",
    "intake",
    "photos",
    "preserving",
    "round",
    "slip",
)

FOUND = {"found_finding", "found_none", "found_not-looked-at"}
SUPPORT = {"witnessed-before", "own-clock-before"}
CHOSEN: Mapping[str, set[str]] = {
    "cause": set(Cause),
    "stated": set(Cause),
    "before": {"sound", "open"},
    "gap": set(Met),
    "clock": set(CaptureRule) - {CaptureRule.NONE},
    "zones": FOUND | SUPPORT,
    "findings": {"open", "settled", "gone", *(f"measured_{way}" for way in Way)},
    "rules": set(Met),
    "deed": set(PERIODIC),
    "limits": {f"l{n}" for n in range(1, 7)},
    "kind": set(BODIES),
    "challenge": set(Kind),
    "answer": set(How),
    "today": set(Step),
    "grave": {str(int(grave)) for grave in Grave},
    "left": {Lost.SPATTER, Lost.GROOVE},
    "below": set(FROM_BELOW),
    "hands": {"nothing", "hearsay"},
    "credentials": {*Integrity, *Trust},
    "ask": set(AskKind),
    "left_out": set(Whose),
    "trouble": set(Trouble),
    "link": {"original", "copy"},
    "signal": set(Signal),
    "question": set(Signal),
    "false_alarm": set(Signal),
    "card": set(CardState),
    "slip_page": {f"{key}_heading" for key in ("serves", "cannot", "keep", "back", "post")},
    "takes": set(Lost),
    "shot": set(PHOTO_SET),
    "task": {"finding", "witness"},
    "once": set(Once),
    "basis": set(RuleBasis),
    "way": {*Means, "deferral"},
    "walk": set(Part),
    "safe": set(Part),
    "outsider": set(get_args(Witness.model_fields["type"].annotation)),
    "more": {
        f"{kind}_{about.alias or name}"
        for kind, model in BODIES.items()
        for name, about in model.model_fields.items()
    },
}
"""Keys that the record chooses: words of its own lists."""

NEVER = re.compile(
    r"\b(neglect\w*|pass(es|ed)?|fail(s|ed|ure)?|scor(e|es|ed|ing)|verified damage"
    r"|court[- ]admissible)\b",
    re.IGNORECASE,
)
"""As the style sheet has it, "a judgement is passed" aside, which a comment says of none."""


def modules() -> list[Path]:
    rooms = (PACKAGE / "dossier", PACKAGE / "paper", PACKAGE / "cli")
    found = [path for room in rooms for path in sorted(room.rglob("*.py"))]
    return [*found, PACKAGE / "calendar.py"]


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def literals() -> set[str]:
    nodes = (node for path in modules() for node in ast.walk(tree(path)))
    return {n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)}


def sentences() -> dict[str, Mapping[str, str]]:
    """All sections of all forms. A key of one name asks for the same figures in each."""
    found: dict[str, dict[str, str]] = {}
    for form in FORMS:
        for name, part in wording(form).sections.items():
            found.setdefault(name, {}).update(part)
    return found


def asked_for(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def spoken() -> Iterator[tuple[str, str | None, set[str] | None, str]]:
    """Every `say(section, key, …)`: a key that is not written out, or figures by `**`, are None."""
    for path in modules():
        for node in ast.walk(tree(path)):
            named = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
            if not (named and node.func.attr == "say" and len(node.args) == 2):
                continue
            section, key = node.args
            assert isinstance(section, ast.Constant) or path.name in ("context.py", "answers.py")
            if isinstance(section, ast.Constant):
                written = key.value if isinstance(key, ast.Constant) else None
                given = {word.arg for word in node.keywords}
                where = f"{path.name}:{node.lineno}"
                yield section.value, written, None if None in given else given, where


def test_every_key_that_the_code_names_exists():
    known = sentences()
    missing = [
        f"{where}: [{section}] {key}"
        for section, key, _, where in spoken()
        if section not in known or (key is not None and key not in known[section])
    ]
    assert missing == []


def test_every_key_of_the_templates_is_used():
    written = literals()
    unused = [
        f"[{section}] {key}"
        for section, part in sentences().items()
        for key in part
        if key not in written and key not in CHOSEN.get(section, ())
    ]
    assert unused == []


@pytest.mark.parametrize(
    "section",
    [
        "cause",
        "stated",
        "gap",
        "clock",
        "zones",
        "findings",
        "rules",
        "deed",
        "kind",
        "task",
        "once",
        "basis",
        "way",
        "walk",
        "safe",
        "outsider",
        "ask",
        "left_out",
        "trouble",
        "signal",
        "question",
        "false_alarm",
    ],
)
def test_whatever_word_the_record_chooses_has_its_sentence(section):
    assert CHOSEN[section] - sentences()[section].keys() == set()


def test_a_sentence_asks_for_no_figure_that_its_caller_does_not_give():
    short = [
        f"{where}: [{section}] {key} asks for {asked_for(sentences()[section][key]) - given}"
        for section, key, given, where in spoken()
        if key is not None and given is not None
        if asked_for(sentences()[section][key]) - given
    ]
    assert short == []


def test_no_figure_is_given_to_a_sentence_that_has_no_place_for_it():
    idle = [
        f"{where}: [{section}] {key}: {given - asked_for(sentences()[section][key])}"
        for section, key, given, where in spoken()
        if key is not None and given is not None
        if given - asked_for(sentences()[section][key])
    ]
    assert idle == []


@pytest.mark.parametrize("kind", BODIES)
def test_the_line_of_a_kind_asks_only_for_fields_that_it_always_has(kind):
    model = BODIES[kind]
    needed = {about.alias or n for n, about in model.model_fields.items() if about.is_required()}
    assert asked_for(sentences()["kind"][kind]) <= needed | {"files"}


def test_what_is_said_more_asks_for_the_very_field_that_it_is_named_after():
    for key, text in sentences()["more"].items():
        assert asked_for(text) == {key.partition("_")[2]}


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.*")), ids=lambda path: path.name)
def test_no_template_judges(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    said = "\n".join(line for line in lines if not line.startswith("#"))
    assert NEVER.findall(said) == []


def test_the_sheets_have_no_sentence_of_their_own():
    """But for the first, a string in them is a key, a style or a name: it holds no space."""
    names = (
        "answers",
        "brief",
        "forms/warranty",
        "forms/year",
        "summary",
        "describe",
        "exhibits",
        "challenged",
        "pocket/stops",
        "pocket/sheet",
        "ways",
        "questions",
        "credited",
        "sheets/annex",
        "sheets/asked",
        "sheets/proof",
        "sheets/brief",
        "sheets/claim",
        "sheets/record",
        "sheets/warranty",
        "sheets/year",
        "sheets/zones",
    )
    for name in (*names, "sheets/context"):
        module_tree = tree(PACKAGE / "dossier" / f"{name}.py")
        told = {
            ast.get_docstring(node, clean=False)
            for node in ast.walk(module_tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        }
        bare = {n.value.value for n in ast.walk(module_tree) if _is_bare_string(n)}
        words = {
            node.value
            for node in ast.walk(module_tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
        said = {text for text in words - told - bare if re.search(r"[a-z]{2,} +[a-z]{2,}", text)}
        assert said == set(), name


def _is_bare_string(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    )


def test_figures_are_filled_in():
    words = Wording("x", {"gap": {"text": "{days} of {limit}"}})
    assert words.say("gap", "text", days=84, limit=90, other="?") == "84 of 90"


@pytest.mark.parametrize(
    ("section", "key", "said"),
    [
        ("gap", "text", "'limit'"),
        ("gap", "missing", "'missing'"),
        ("missing", "text", "'missing'"),
    ],
)
def test_a_sentence_or_a_figure_that_is_missing_names_the_template(section, key, said):
    words = Wording("x", {"gap": {"text": "{days} of {limit}"}})
    with pytest.raises(RefusedError) as refused:
        words.say(section, key, days=84)
    assert "templates/dossier/x.toml" in str(refused.value)
    assert said in str(refused.value)


def test_a_form_without_a_template_is_refused():
    with pytest.raises(RefusedError, match=r"nobody\.toml: cannot be read"):
        wording("nobody")


def test_a_template_that_is_not_toml_is_refused(tmp_path, monkeypatch):
    (tmp_path / "dossier").mkdir()
    (tmp_path / "dossier" / "broken.toml").write_text("[summary\n")
    monkeypatch.setattr(module, "templates", lambda: tmp_path)
    with pytest.raises(RefusedError, match=r"broken\.toml: cannot be read"):
        wording("broken")
