"""Finding words in texts alike on every database: whatever their case, wherever they stand."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

from sqlalchemy import func, or_
from sqlalchemy.sql.elements import ColumnElement

_ESCAPE = "\\"
MOST_WORDS = 8
LONGEST_WORD = 80


def words_of(text: str) -> tuple[str, ...]:
    """The words somebody looks for; every one of them must be found."""
    plain = unicodedata.normalize("NFC", text).replace("\x00", " ")
    return tuple(word[:LONGEST_WORD] for word in plain.split()[:MOST_WORDS])


def may_hold(columns: Sequence[ColumnElement[str]], word: str) -> ColumnElement[bool]:
    """A condition met by every row that holds the word in one of the columns, and perhaps by some more.

    Databases fold the case of ASCII letters alike and of other letters each in its own way; other letters
    are therefore let through here, and ``really_holds`` looks at the rows that come back.
    """
    pattern = _pattern(word)
    return or_(*(func.lower(column).like(pattern, escape=_ESCAPE) for column in columns))


def really_holds(texts: Iterable[str | None], words: Sequence[str]) -> bool:
    """Whether every word stands in one of the texts, whatever the case of its letters."""
    folded = [_folded(text) for text in texts if text]
    return all(any(word in text for text in folded) for word in map(_folded, words))


def _pattern(word: str) -> str:
    signs = []
    for sign in word:
        if not sign.isascii():
            signs.append("%")
        elif sign in ("%", "_", _ESCAPE):
            signs.append(_ESCAPE + sign)
        else:
            signs.append(sign.lower())
    return f"%{''.join(signs)}%"


def _folded(text: str) -> str:
    return text.lower() if text.isascii() else unicodedata.normalize("NFC", text).casefold()
