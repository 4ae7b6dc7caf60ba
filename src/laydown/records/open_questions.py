"""Whether a reading is asked about, as a database can tell it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Text, cast, func
from sqlalchemy.sql.elements import ColumnElement


def asked_about(doubts: ColumnElement[Any]) -> ColumnElement[bool]:
    """Whether any of a reading's doubts has no answer yet.

    Doubts are kept as JSON; without its blanks, the same text stands for "no answer yet" on any database.
    """
    return func.replace(cast(doubts, Text), " ", "").like('%"answer":""%')
