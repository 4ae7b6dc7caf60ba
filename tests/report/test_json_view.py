from __future__ import annotations

import json
import math
import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from laydown.report.json_view import json_text, schema, to_json
from laydown.usecases.comparison import (
    CallsByFinding,
    ComparedDifference,
    Comparison,
    Finding,
    Overlap,
)

DOCS = Path(__file__).parents[2] / "docs" / "guide" / "json.md"
TOP = [
    "laydown", "title", "question", "house", "condition", "confidence", "alpha", "comparisons", "invented",
    "summary", "candidates", "differences", "groups", "overlaps", "cautions", "problems",
]  # fmt: skip


def test_schema_is_itself_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


def test_output_fits_the_schema(comparison: Comparison, builder: Any) -> None:
    validator = jsonschema.Draft202012Validator(schema())
    for each in (
        comparison,
        builder.build(builder.MEDIA[-1:], house=""),
        builder.build((), house=""),
        replace(comparison, candidates=(replace(comparison.candidates[0], gamut=None, patch_maps=()),)),
    ):
        assert [e.message for e in validator.iter_errors(json.loads(json_text(each)))] == []


@pytest.mark.parametrize(
    ("path", "bad"),
    [
        (("confidence",), 95),
        (("problems", 0, "severity"), "awful"),
        (("differences", 0, "call"), "better?"),
        (("candidates", 0, "sheets"), []),
        (("candidates", 0, "findings", 0, "value"), "1.6"),
        (("candidates", 0, "findings", 0, "colour"), "an unknown field"),
    ],
)
def test_schema_bites(comparison: Comparison, path: tuple[Any, ...], bad: object) -> None:
    data: Any = to_json(comparison)
    at = data
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = bad
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema())


def test_missing_numbers_are_null_and_never_nan(comparison: Comparison) -> None:
    text = json_text(comparison)
    assert "NaN" not in text
    lone = to_json(comparison)["candidates"][-1]
    assert lone["sheets"] == 1
    assert len(lone["sheet_list"]) == 1
    assert lone["findings"][0]["low"] is None
    assert lone["findings"][0]["sd"] is None
    endless = replace(comparison.candidates[0].findings[0], value=math.inf)
    changed = replace(comparison, candidates=(replace(comparison.candidates[0], findings=(endless,)),))
    assert to_json(changed)["candidates"][0]["findings"][0]["value"] is None


def test_top_level_is_agreed_and_in_order(comparison: Comparison) -> None:
    assert list(to_json(comparison)) == TOP


def test_full_precision_survives_the_text(comparison: Comparison) -> None:
    read = json.loads(json_text(comparison))
    for candidate, shown in zip(comparison.candidates, read["candidates"], strict=True):
        for finding, data in zip(candidate.findings, shown["findings"], strict=True):
            assert data["value"] == finding.value


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        (Finding, "finding"),
        (ComparedDifference, "difference"),
        (CallsByFinding, "group"),
        (Overlap, "overlap"),
    ],
)
def test_no_field_of_the_result_is_forgotten(kind: Any, name: str) -> None:
    assert {f.name for f in fields(kind)} == set(schema()["$defs"][name]["properties"])


def test_same_input_gives_the_same_text(comparison: Comparison, builder: Any) -> None:
    assert json_text(comparison) == json_text(builder.build())


def test_docs_and_schema_say_the_same() -> None:
    loaded = schema()
    declared = {"comparison": loaded, **loaded["$defs"]}
    documented: dict[str, dict[str, str]] = {}
    for line in DOCS.read_text(encoding="utf-8").splitlines():
        if heading := re.fullmatch(r"## (\w+)", line):
            documented[heading[1]] = {}
        elif row := re.fullmatch(r"\| `(\w+)` \| .+ \| (.+) \|", line):
            documented[list(documented)[-1]][row[1]] = row[2]
    assert documented == {
        name: {key: field["description"] for key, field in part["properties"].items()}
        for name, part in declared.items()
    }
