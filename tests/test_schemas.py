"""Every shipped rule file satisfies its JSON Schema."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

RULES = Path(__file__).resolve().parents[1] / "rules"
PAIRS = [
    *(
        (f"{name}.toml", name)
        for name in (
            "correspondences",
            "morphemes",
            "patterns",
            "pronunciations",
            "never_offered",
            "inflections",
            "words",
            "syllables",
            "tricky_parts",
            "chains",
            "made_up",
            "practice",
            "saying_sounds",
            "sentences",
        )
    ),
    *((f"accents/{p.name}", "accent") for p in sorted((RULES / "accents").glob("*.toml"))),
    *((f"sequences/{p.name}", "sequence") for p in sorted((RULES / "sequences").glob("*.toml"))),
    *(
        (f"vocabulary/{p.name}", "classes" if p.stem == "classes" else "vocabulary")
        for p in sorted((RULES / "vocabulary").glob("*.toml"))
    ),
]


@pytest.mark.parametrize(("file", "schema"), PAIRS, ids=[file for file, _ in PAIRS])
def test_file_satisfies_its_schema(file: str, schema: str) -> None:
    rules = json.loads((RULES / "schemas" / f"{schema}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(rules)
    data = tomllib.loads((RULES / file).read_text(encoding="utf-8"))
    faults = [f"{list(e.absolute_path)}: {e.message}" for e in jsonschema.Draft202012Validator(rules).iter_errors(data)]
    assert not faults, faults[:5]


@pytest.mark.parametrize(
    ("schema", "broken"),
    [
        ("sequence", {"title": "x", "step": [{"id": "Bad Id"}]}),
        ("sequence", {"title": "x", "step": []}),
        ("reader", {"nmae": "x"}),
        ("syllables", {"title": "x", "short": ["ae"], "weak": []}),
        ("correspondences", {"title": "x", "accent": "y", "grapheme": [{"letters": "ea", "kind": "team", "is": []}]}),
    ],
)
def test_schema_refuses(schema: str, broken: dict[str, object]) -> None:
    rules = json.loads((RULES / "schemas" / f"{schema}.schema.json").read_text(encoding="utf-8"))
    assert list(jsonschema.Draft202012Validator(rules).iter_errors(broken))
