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
from laydown.records.columns import is_timed
from laydown.records.plain_values import plain_of


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
    """Reads one noun; made once."""
    return TypeAdapter(noun)


def to_plain(thing: Kept) -> dict[str, Any]:
    """A kept thing as plain JSON values, in one form only: moments as ISO 8601 text in UTC, numbers finite.

    Raises
    ------
    RefusedInput
        A field holds what cannot be kept, such as a moment without a time zone.
    """
    try:
        plain: dict[str, Any] = plain_of(type(thing), thing)
    except ValueError as error:
        raise RefusedInput(
            f"{type(thing).__name__} {thing.id}: {error}.", todo="Correct that field."
        ) from error
    return plain


def from_plain(noun: type[Thing], plain: Mapping[str, Any], *, file: str | None = None) -> Thing:
    """A kept thing from plain values, whoever wrote them.

    Raises
    ------
    RefusedInput
        A field is missing, unknown, or not what it should be.
    """
    thing = thing_from(noun, dict(plain), file=file)
    try:
        normal = to_plain(thing)
    except RefusedInput as error:
        raise RefusedInput(error.what, todo=error.todo, file=file) from error
    if normal == plain:
        return thing
    unknown = _unknown(plain, normal)
    if unknown:
        raise RefusedInput(
            f"{noun.__name__} {plain.get('id', '')}: {unknown} is no field of it.",
            todo="A newer Laydown may have written this; bring this one up to date.",
            file=file,
        )
    return thing_from(noun, normal, file=file)


def _unknown(given: Any, normal: Any, path: str = "") -> str:
    """The first field that was given and is not known; "" where there is none."""
    if isinstance(given, Mapping) and isinstance(normal, Mapping):
        for name in sorted(given):
            if name not in normal:
                return f"{path}{name}"
            found = _unknown(given[name], normal[name], f"{path}{name}.")
            if found:
                return found
    if isinstance(given, list) and isinstance(normal, list):
        return next((found for one, other in zip(given, normal) if (found := _unknown(one, other, path))), "")
    return ""


def thing_from(noun: type[Thing], values: dict[str, Any], *, file: str | None = None) -> Thing:
    """A kept thing from values that this program wrote; quicker than ``from_plain``, and less on its guard.

    Raises
    ------
    RefusedInput
        A field is missing, or not what it should be.
    """
    try:
        thing: Thing = adapter(noun).validate_python(values)
        return thing
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the whole"
        raise RefusedInput(
            f"{noun.__name__} {values.get('id', '')}: {where}: {first['msg']}.",
            todo="Correct that field.",
            file=file,
        ) from error


def to_row(thing: Kept, plain: Mapping[str, Any]) -> dict[str, Any]:
    """Column values of a thing whose plain form is given: moments and days as such, the rest plain."""
    return {name: getattr(thing, name) if name in _timed(type(thing)) else plain[name] for name in plain}


@lru_cache(maxsize=128)
def _timed(noun: type[Any]) -> frozenset[str]:
    """Fields kept as a moment or a day of the database's own."""
    return frozenset(item.name for item in dataclasses.fields(noun) if is_timed(noun, item.name))


def canonical(plain: Any) -> str:
    """JSON text that is the same for the same values, whatever order they came in."""
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def digest_of(plain: Any) -> str:
    """SHA-256 of the canonical text, in hexadecimal."""
    return hashlib.sha256(canonical(plain).encode()).hexdigest()
