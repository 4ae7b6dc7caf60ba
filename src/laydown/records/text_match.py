"""Finding words in texts alike on every database: whatever their case, wherever they stand."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Boolean, Text, and_, bindparam, literal, or_
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.functions import GenericFunction

_ESCAPE = "\\"
_ESCAPED_IN_JSON = re.compile(r"[^ !#-\[\]-~]")
_FOREIGN_IN_JSON = r"%\\u%"
MOST_WORDS = 8
LONGEST_WORD = 80


class _InSmallLetters(GenericFunction[str]):
    """A text for LIKE whatever the case; SQLite's LIKE does not mind the case, and three times as fast."""

    type = Text()
    inherit_cache = True


class _HasForeignLetters(GenericFunction[bool]):
    """Whether a text has letters beyond ASCII."""

    type = Boolean()
    inherit_cache = True


@compiles(_InSmallLetters)
def _lower(element: _InSmallLetters, compiler: SQLCompiler, **how: Any) -> str:
    return f"lower({compiler.process(element.clauses, **how)})"


@compiles(_InSmallLetters, "sqlite")
def _as_it_is(element: _InSmallLetters, compiler: SQLCompiler, **how: Any) -> str:
    return f"({compiler.process(element.clauses, **how)})"


@compiles(_HasForeignLetters)
def _octets(element: _HasForeignLetters, compiler: SQLCompiler, **how: Any) -> str:
    text = compiler.process(element.clauses, **how)
    return f"(octet_length({text}) > char_length({text}))"


@compiles(_HasForeignLetters, "sqlite")
def _bytes(element: _HasForeignLetters, compiler: SQLCompiler, **how: Any) -> str:
    text = compiler.process(element.clauses, **how)
    return f"(length(CAST({text} AS BLOB)) > length({text}))"


def words_of(text: str) -> tuple[str, ...]:
    """The words somebody looks for; every one of them must be found."""
    plain = unicodedata.normalize("NFC", text).replace("\x00", " ")
    return tuple(word[:LONGEST_WORD] for word in plain.split()[:MOST_WORDS])


@dataclass(frozen=True, slots=True)
class Sought:
    """A word as conditions ask for it; a foreign one only texts with letters beyond ASCII can hold."""

    pattern: ColumnElement[str]
    in_json: ColumnElement[str]
    is_foreign: bool


def sought(word: str) -> Sought:
    """This word and no other."""
    return Sought(literal(_pattern(word)), literal(_in_json(word)), _is_foreign(word))


def any_words(sorts: Sequence[bool]) -> tuple[Sought, ...]:
    """As many words as are told whether they are foreign; what they are is said by ``patterns_of``."""
    return tuple(
        Sought(bindparam(f"word{number}", type_=Text()), bindparam(f"json{number}", type_=Text()), is_foreign)
        for number, is_foreign in enumerate(sorts)
    )


def sorts_of(words: Sequence[str]) -> tuple[bool, ...]:
    """For ``any_words``."""
    return tuple(map(_is_foreign, words))


def patterns_of(words: Sequence[str]) -> dict[str, str]:
    """What a condition made with ``any_words`` of the sorts of these words is to be filled with."""
    plain = {f"word{number}": _pattern(word) for number, word in enumerate(words)}
    return plain | {f"json{number}": _in_json(word) for number, word in enumerate(words)}


def may_hold(columns: Sequence[ColumnElement[str]], word: str | Sought) -> ColumnElement[bool]:
    """A condition met by every row that holds the word in one of the columns, and perhaps by some more.

    Databases fold the case of ASCII letters alike and of other letters each in its own way; other letters
    are therefore let through here, and ``really_holds`` looks at the rows that come back.
    """
    told = sought(word) if isinstance(word, str) else word
    held = (_InSmallLetters(column).like(told.pattern, escape=_ESCAPE) for column in columns)
    if told.is_foreign:
        return or_(*(and_(_HasForeignLetters(one), like) for one, like in zip(columns, held, strict=True)))
    return or_(*held)


def may_hold_in_json(column: ColumnElement[str], word: Sought) -> ColumnElement[bool]:
    """The like of ``may_hold`` for JSON as text, where foreign letters are written as escapes."""
    text = _InSmallLetters(column)
    held = text.like(word.in_json, escape=_ESCAPE)
    return and_(text.like(_FOREIGN_IN_JSON, escape=_ESCAPE), held) if word.is_foreign else held


def really_holds(texts: Iterable[str | None], words: Sequence[str]) -> bool:
    """Whether every word stands in one of the texts, whatever the case of its letters."""
    folded = [_folded(text) for text in texts if text]
    return all(any(word in text for text in folded) for word in map(_folded, words))


def _is_foreign(word: str) -> bool:
    return not _folded(word).isascii()  # "ß" is not: it is held by "ss", too


def _in_json(word: str) -> str:
    return _pattern(_ESCAPED_IN_JSON.sub("\ufffd", word))


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
