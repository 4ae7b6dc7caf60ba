"""Turns frozen dataclasses into plain JSON values, and refuses what not every database could give back."""

from __future__ import annotations

import dataclasses
import math
import types
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from functools import lru_cache
from operator import index
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

_LARGEST_INTEGER = 2**63 - 1  # what a 64-bit column holds
Encode = Callable[[Any], Any]


def plain_of(kind: Any, value: Any) -> Any:
    """The plain form of a value of the type ``kind``.

    Raises
    ------
    ValueError
        The value is not of that type, or no database could keep it; the message names the field.
    """
    return _encoder(kind)(value)


@lru_cache(maxsize=512)
def _encoder(kind: Any) -> Encode:
    if dataclasses.is_dataclass(kind):
        return _of_dataclass(kind)
    origin, inside = get_origin(kind), get_args(kind)
    if origin is Literal:
        return _of_literal(frozenset(inside))
    if origin in (Union, types.UnionType):
        return _of_optional(next(part for part in inside if part is not type(None)))
    if origin is tuple and inside[1:] == (...,):
        encode = _encoder(inside[0])
        return lambda value: [encode(one) for one in value]
    try:
        return _PLAIN[kind]
    except KeyError:
        raise TypeError(f"{kind} is no type of field that is kept") from None


def _of_dataclass(kind: Any) -> Encode:
    hints = get_type_hints(kind)
    fields = tuple((item.name, _encoder(hints[item.name])) for item in dataclasses.fields(kind))

    def encode(value: Any) -> dict[str, Any]:
        if type(value) is not kind:
            raise ValueError(f"is no {kind.__name__.lower()} but {value!r}")
        plain = {}
        name = ""
        try:
            for name, encoder in fields:
                plain[name] = encoder(getattr(value, name))
        except ValueError as error:
            raise ValueError(f"{name} {error}") from None
        return plain

    return encode


def _of_literal(allowed: frozenset[Any]) -> Encode:
    def encode(value: Any) -> Any:
        if value not in allowed:
            raise ValueError(f"is {value!r} and not one of {', '.join(sorted(map(str, allowed)))}")
        return value

    return encode


def _of_optional(kind: Any) -> Encode:
    encode = _encoder(kind)
    return lambda value: None if value is None else encode(value)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"is no text but {value!r}")
    if not value.isascii():
        try:
            value.encode()
        except UnicodeEncodeError:
            raise ValueError("holds half a character (an unpaired surrogate)") from None
    if "\0" in value:
        raise ValueError("holds a NUL character")
    return value


def _integer(value: Any) -> int:
    try:
        number = index(value)
    except TypeError:
        raise ValueError(f"is no whole number but {value!r}") from None
    if isinstance(value, bool) or abs(number) > _LARGEST_INTEGER:
        raise ValueError(f"is no whole number that can be kept ({value!r})")
    return number


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, float | int):
        raise ValueError(f"is no number but {value!r}")
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"is no finite number ({value!r})")
    return number


def _yes_or_no(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"is neither true nor false but {value!r}")
    return value


def _moment(value: Any) -> str:
    if not isinstance(value, datetime):
        raise ValueError(f"is no moment but {value!r}")
    if value.tzinfo is None:
        raise ValueError("is a moment without a time zone")
    return value.astimezone(UTC).isoformat().removesuffix("+00:00") + "Z"


def _day(value: Any) -> str:
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError(f"is no day but {value!r}")
    return value.isoformat()


_PLAIN: Mapping[Any, Encode] = types.MappingProxyType(
    {str: _text, int: _integer, float: _number, bool: _yes_or_no, datetime: _moment, date: _day}
)
