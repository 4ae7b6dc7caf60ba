"""Between what is kept and plain JSON values, by the fields' own types."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, ClassVar, Protocol, TypeVar

from pydantic import TypeAdapter, ValidationError

from laydown.kernel.errors import RefusedInput


class Kept(Protocol):
    """Anything that is kept: a frozen dataclass with an id."""

    __dataclass_fields__: ClassVar[dict[str, Any]]

    @property
    def id(self) -> str:
        """What it is known by."""
        ...


Thing = TypeVar("Thing", bound=Kept)


@lru_cache(maxsize=128)
def adapter(noun: type[Thing]) -> TypeAdapter[Thing]:
    """Reads and writes one noun; made once."""
    return TypeAdapter(noun)


def to_plain(thing: Kept) -> dict[str, Any]:
    """A kept thing as plain JSON values; moments become ISO 8601 text."""
    plain: dict[str, Any] = adapter(type(thing)).dump_python(thing, mode="json")
    return plain


def from_plain(noun: type[Thing], plain: Mapping[str, Any], *, file: str | None = None) -> Thing:
    """A kept thing from plain values.

    Raises
    ------
    RefusedInput
        A field is missing, unknown, or not what it should be.
    """
    unknown = set(plain) - {item.name for item in dataclasses.fields(noun)}
    if unknown:
        raise RefusedInput(
            f"{noun.__name__} {plain.get('id', '')}: {sorted(unknown)[0]} is no field of it.",
            todo="A newer Laydown may have written this; bring this one up to date.",
            file=file,
        )
    try:
        thing: Thing = adapter(noun).validate_python(dict(plain))
        return thing
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the whole"
        raise RefusedInput(
            f"{noun.__name__} {plain.get('id', '')}: {where}: {first['msg']}.",
            todo="Correct that field.",
            file=file,
        ) from error


def canonical(plain: Any) -> str:
    """JSON text that is the same for the same values, whatever order they came in."""
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def digest_of(plain: Any) -> str:
    """SHA-256 of the canonical text, in hexadecimal."""
    return hashlib.sha256(canonical(plain).encode()).hexdigest()
