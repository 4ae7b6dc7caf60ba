"""Columns as revisions write them down.

Spelled out, not taken from the program: what it calls a moment tomorrow must not change what a revision of
today makes. So nothing here is ever altered; a new kind is added.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
MOMENT = sa.String(32).with_variant(sa.DateTime(timezone=True), "postgresql")
COUNTED = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
Columns = list[sa.Column[Any]]


def text(*names: str, **more: Any) -> Columns:
    """Text, sorted by its characters' numbers everywhere."""
    return [_column(name, TEXT, **more) for name in names]


def whole(*names: str, **more: Any) -> Columns:
    """A whole number."""
    return [_column(name, sa.BigInteger(), **more) for name in names]


def counted(name: str) -> Columns:
    """A key that the database counts up by itself."""
    return [sa.Column(name, COUNTED, primary_key=True, autoincrement=True, nullable=False)]


def number(*names: str, **more: Any) -> Columns:
    """A number."""
    return [_column(name, sa.Float(53), **more) for name in names]


def yes_no(*names: str, **more: Any) -> Columns:
    """True or false."""
    return [_column(name, sa.Boolean(), **more) for name in names]


def moment(*names: str, **more: Any) -> Columns:
    """A moment in UTC."""
    return [_column(name, MOMENT, **more) for name in names]


def day(*names: str, **more: Any) -> Columns:
    """A day."""
    return [_column(name, sa.Date(), **more) for name in names]


def json(*names: str, **more: Any) -> Columns:
    """Lists and compound values."""
    return [_column(name, sa.JSON(none_as_null=True), **more) for name in names]


def _column(
    name: str,
    kind: Any,
    *,
    key: bool = False,
    null: bool = False,
    to: str = "",
    index: bool = False,
    unique: bool = False,
) -> sa.Column[Any]:
    """A column; ``to`` is what it refers to, checked at the end of a transaction where that is asked for."""
    reference = [sa.ForeignKey(to, deferrable=True, initially="IMMEDIATE")] if to else []
    return sa.Column(
        name,
        kind,
        *reference,
        primary_key=key,
        autoincrement=False,
        nullable=null,
        index=index,
        unique=unique or None,
    )
