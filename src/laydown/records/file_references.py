"""Which kept files a thing refers to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

# Fields of these nouns name files that were handed in or drawn here. Elsewhere (recipes, a trial's chart) a
# checksum may have been stated without the file.
ALWAYS_KEPT = frozenset({"Attachment", "Reading", "TestForm"})
# But a form that came from others may have come without their own pictures.
_MAY_STAY_AWAY = {"TestForm": frozenset({"wish"})}


def files_in(plain: Any) -> Iterator[str]:
    """Every SHA-256 in plain values that stands in a field named for one."""
    if isinstance(plain, Mapping):
        for name, value in plain.items():
            if isinstance(value, str) and value and (name == "sha256" or name.endswith("_sha256")):
                yield value
            else:
                yield from files_in(value)
    elif isinstance(plain, list):
        for one in plain:
            yield from files_in(one)


def kept_files_in(noun: str, plain: Mapping[str, Any]) -> Iterator[str]:
    """Every SHA-256 in a thing's plain values whose file must be kept wherever the thing is."""
    if noun in ALWAYS_KEPT:
        away = _MAY_STAY_AWAY.get(noun, frozenset())
        yield from files_in({name: value for name, value in plain.items() if name not in away})
