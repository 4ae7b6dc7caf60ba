"""The JSON Schema of a trial archive, made from the nouns themselves."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from laydown.records.tables import NOUNS

_TEMPLATE = "#/$defs/{model}"


def archive_schema() -> dict[str, Any]:
    """What ``trial.json`` of an archive holds, field by field."""
    definitions: dict[str, Any] = {}
    for name, noun in NOUNS.items():
        schema = TypeAdapter(noun).json_schema(ref_template=_TEMPLATE)
        definitions |= schema.pop("$defs", {})
        definitions[name] = schema
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A trial, as Laydown keeps it",
        "type": "object",
        "required": ["things", "files"],
        "properties": {
            "$schema": {"type": "string"},
            "things": {
                "type": "object",
                "additionalProperties": False,
                "properties": {
                    name: {"type": "array", "items": {"$ref": _TEMPLATE.format(model=name)}} for name in NOUNS
                },
            },
            "files": {
                "description": "The member of the archive that holds the file of each SHA-256.",
                "type": "object",
                "propertyNames": {"pattern": "^[0-9a-f]{64}$"},
                "additionalProperties": {"type": "string"},
            },
        },
        "$defs": definitions,
    }
