"""The flow is visible in the imports: each module imports only those above it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "decodable"
ORDER = [
    "errors",
    "private",
    "model",
    "resources",
    "rules",
    "inventory",
    "source",
    "markdown",
    "chunks",
    "text",
    "pieces",
    "alignment",
    "morphology",
    "sounds",
    "accents",
    "division",
    "syllables",
    "heteronyms",
    "analysis",
    "patterns",
    "prediction",
    "lexicon",
    "compiling",
    "sequence",
    "readers",
    "judging",
    "judge",
    "report",
    "unknown",
    "never_offered",
    "inflection",
    "frames",
    "vocabulary",
    "word_order",
    "word_table",
    "words",
    "word_links",
    "chains",
    "pairs",
    "made_up_rules",
    "real_words",
    "made_up",
    "fix",
    "engine",
    "describe",
    "written",
    "practice_rules",
    "practice",
    "sound_boxes",
    "sorts",
    "blends",
    "settled",
    "sentences",
    "dictation",
    "review",
    "lesson",
    "swap",
    "passage",
    "sheets",
    "shelf",
    "store",
    "doctor",
    "build_hook",
    "cli",
    "web",
    "pipe",
    "__main__",
]
MODULES = sorted(
    {p.stem for p in PACKAGE.glob("*.py") if p.stem != "__init__"}
    | {p.parent.name for p in PACKAGE.glob("*/__init__.py")}
)


def _statements(body: list[ast.stmt]) -> list[ast.Import | ast.ImportFrom]:
    """Imports that run when the module is read; those of functions and for type checkers left out."""
    out: list[ast.Import | ast.ImportFrom] = []
    for node in body:
        if isinstance(node, ast.Import | ast.ImportFrom):
            out.append(node)
        elif isinstance(node, ast.If) and "TYPE_CHECKING" not in ast.unparse(node.test):
            out += _statements(node.body) + _statements(node.orelse)
        elif isinstance(node, ast.Try):
            out += _statements([*node.body, *node.orelse, *node.finalbody])
            out += [found for handler in node.handlers for found in _statements(handler.body)]
    return out


def imported(text: str) -> set[str]:
    """The modules of the package that a source text imports at the top."""
    out: set[str] = set()
    for node in _statements(ast.parse(text).body):
        if isinstance(node, ast.Import):
            out |= {alias.name.split(".")[1] for alias in node.names if alias.name.startswith("decodable.")}
        elif node.module == "decodable":
            out |= {alias.name for alias in node.names if alias.name in MODULES}
        elif node.module and node.module.startswith("decodable."):
            out.add(node.module.split(".")[1])
    return out


def _sources(module: str) -> list[Path]:
    single = PACKAGE / f"{module}.py"
    return [single] if single.is_file() else sorted((PACKAGE / module).rglob("*.py"))


def test_every_module_has_its_place() -> None:
    assert len(set(ORDER)) == len(ORDER)
    assert [m for m in MODULES if m not in ORDER] == []


@pytest.mark.parametrize("module", MODULES)
def test_imports_only_from_above(module: str) -> None:
    found = set[str]().union(*(imported(p.read_text(encoding="utf-8")) for p in _sources(module))) - {module}
    above = ORDER[: ORDER.index(module)]
    assert sorted(found - set(above)) == []


def test_model_needs_the_standard_library_only() -> None:
    assert imported((PACKAGE / "model.py").read_text(encoding="utf-8")) == set()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("from decodable.judge import Judge", {"judge"}),
        ("from decodable import resources, errors", {"resources", "errors"}),
        ("import decodable.report", {"report"}),
        ("def f():\n    from decodable.report import check", set()),
        ("if TYPE_CHECKING:\n    from decodable.report import check", set()),
        (
            "try:\n    from decodable.text import Kind\nexcept ImportError:\n    from decodable.model import bare",
            {"text", "model"},
        ),
        ("import json\nfrom pathlib import Path", set()),
    ],
)
def test_imports_are_found(text: str, found: set[str]) -> None:
    assert imported(text) == found


def test_no_public_function_shares_the_name_of_a_module() -> None:
    """A submodule, once imported, takes the place of a function of its name at the top of the package."""
    tree = ast.parse((PACKAGE / "__init__.py").read_text(encoding="utf-8"))
    functions = {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}
    assert {"reader", "check"} <= functions
    assert sorted(functions & set(MODULES)) == []
