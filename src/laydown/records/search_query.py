"""Finds words in everything that is kept, one kind at a time, as ``search_kinds`` describes them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache, lru_cache
from itertools import islice
from typing import Any

from sqlalchemy import JSON, Select, and_, cast, literal, null, or_, select, union_all
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.selectable import FromClause

from laydown.records.columns import TEXT
from laydown.records.look import Look
from laydown.records.search_kinds import DESCRIBED, Described, FoundKind
from laydown.records.tables import NOUNS, TABLES
from laydown.records.text_match import (
    Sought,
    any_words,
    may_hold,
    may_hold_in_json,
    patterns_of,
    really_holds,
    sorts_of,
)

_OF_EACH = ".*."


@dataclass(frozen=True, slots=True)
class Found:
    """Something that holds the words.

    ``title`` is what it is called, ``context`` what it belongs to, ``text`` where in it the words stand or,
    where its title says that, what else is told of it. ``about`` is the id of the thing it is found at where
    that is another one (the sheet of an event, what a note is about), else "". ``at`` is when it was.
    """

    kind: FoundKind
    id: str
    trial_id: str
    about: str
    title: str
    context: str
    text: str
    at: datetime | None = None


def search(
    look: Look,
    words: Sequence[str],
    kind: FoundKind,
    *,
    limit: int,
    offset: int = 0,
    nothing_about: Collection[type[Any]] = (),
) -> tuple[Found, ...]:
    """Things of one kind that hold every word, whatever the case of its letters.

    What is found at things of the nouns ``nothing_about`` is left out.
    """
    asked = _question(kind)
    wanted = _statement(kind, sorts_of(words), frozenset(nothing_about))
    exact = asked.is_exact and all(word.isascii() for word in words)
    if exact:
        wanted = wanted.limit(limit).offset(offset)
    rows = look.connection.execute(wanted, patterns_of(words))
    read = (asked.read(row) for row in rows)
    holding = read if exact else (one for one in read if one.holds(words))
    picked = holding if exact else islice(holding, offset, offset + limit)
    return tuple(one.found(kind, words) for one in picked)


@lru_cache(maxsize=512)  # making a statement takes longer than the database takes to answer most of them
def _statement(kind: FoundKind, sorts: tuple[bool, ...], nothing_about: frozenset[type[Any]]) -> Select[Any]:
    asked, words = _question(kind), any_words(sorts)
    wanted = asked.select.where(or_(*(asked.own_may_hold(word) for word in words)))
    if len(words) > 1:
        wanted = wanted.where(*(asked.may_hold(word) for word in words))
    if nothing_about and asked.told.place:
        hidden = union_all(*(select(TABLES[noun].c.id) for noun in TABLES if noun in nothing_about))
        wanted = wanted.where(asked.place.not_in(hidden))
    return wanted


@dataclass(frozen=True, slots=True)
class _Row:
    """One row as it came, its texts by the paths of their fields."""

    told: Described
    id: str
    trial_id: str
    about: str
    at: Any
    own: Mapping[str, Sequence[str]]
    around: Mapping[str, str]

    def holds(self, words: Sequence[str]) -> bool:
        """Whether every word stands in it or around it, and one at least in it."""
        own = [text for texts in self.own.values() for text in texts]
        everywhere = [*own, *self.around.values()]
        return really_holds(everywhere, words) and any(really_holds(own, [word]) for word in words)

    def found(self, kind: FoundKind, words: Sequence[str]) -> Found:
        """What is shown of it."""
        titles = self.told.title.split()
        shown = (*titles, *self.told.context)
        said = [
            text
            for path, texts in self.own.items()
            for text in texts
            if path not in shown and any(really_holds([text], [word]) for word in words)
        ]
        return Found(
            kind=kind,
            id=self.id,
            trial_id=self.trial_id,
            about=self.about,
            title=" ".join(filter(None, map(self._said, titles))),
            context=_joined(self._said(path) for path in self.told.context),
            text=_joined(said or (self._said(path) for path in self.told.told)),
            at=self.at if isinstance(self.at, datetime) else None,
        )

    def _said(self, path: str) -> str:
        return self.around[path] if path in self.around else self.own[path][0]


def _joined(texts: Any) -> str:
    return " · ".join(dict.fromkeys(text for text in texts if text))


@dataclass(frozen=True, slots=True)
class _Compound:
    """A compound field: its JSON as text, and its parts that are looked through; none where it is a list."""

    json: ColumnElement[str]
    parts: tuple[ColumnElement[Any], ...]

    def may_hold(self, word: Sought) -> ColumnElement[bool]:
        """A condition met by every row with the word in it; it takes apart only what may hold it."""
        anywhere = may_hold_in_json(self.json, word)
        return and_(anywhere, may_hold(self.parts, word)) if self.parts else anywhere


@dataclass(frozen=True, slots=True)
class _Question:
    """The select of one kind before its words are known, and where in its rows what stands."""

    told: Described
    select: Select[Any]
    texts: tuple[ColumnElement[Any], ...]
    compounds: tuple[_Compound, ...]
    around: tuple[ColumnElement[Any], ...]
    place: ColumnElement[Any]

    @property
    def is_exact(self) -> bool:
        """Whether the database finds exactly what is meant: it takes no lists apart."""
        return all(one.parts for one in self.compounds)

    def own_may_hold(self, word: Sought) -> ColumnElement[bool]:
        """A condition met by every row with the word in its own fields, and perhaps by some more."""
        return or_(may_hold(self.texts, word), *(one.may_hold(word) for one in self.compounds))

    def may_hold(self, word: Sought) -> ColumnElement[bool]:
        """A condition met by every row with the word in it or around it, and perhaps by some more."""
        own = self.own_may_hold(word)
        return or_(own, may_hold(self.around, word)) if self.around else own

    def read(self, row: Sequence[Any]) -> _Row:
        """One row of the select."""
        id_, trial_id, about, at = row[:4]
        own, around = row[4 : 4 + len(self.told.own)], row[4 + len(self.told.own) :]
        return _Row(
            told=self.told,
            id=id_,
            trial_id=trial_id or "",
            about=about or "",
            at=at,
            own={path: _texts(path, value) for path, value in zip(self.told.own, own, strict=True)},
            around={path: text or "" for path, text in zip(_shown_around(self.told), around, strict=True)},
        )


def _texts(path: str, value: Any) -> tuple[str, ...]:
    _, of_each, field = path.partition(_OF_EACH)
    return tuple(item.get(field) or "" for item in value or ()) if of_each else (value or "",)


def _shown_around(told: Described) -> tuple[str, ...]:
    """Everything that is matched or shown and is not its own."""
    wanted = (*told.around, *told.title.split(), *told.context)
    return tuple(dict.fromkeys(path for path in wanted if path not in told.own))


@cache
def _question(kind: FoundKind) -> _Question:
    told = DESCRIBED[kind]
    paths = _Paths(told.table)
    own = {path: paths.column(path.partition(_OF_EACH)[0]) for path in told.own}
    around = {path: paths.column(path) for path in _shown_around(told)}
    at = paths.column(told.at) if told.at else null()
    place = paths.column(told.place) if told.place else literal("")
    trial_id = paths.column(told.trial) if told.trial else literal("")
    shown = (told.table.c.id, trial_id, place, at, *own.values(), *around.values())
    # Numbered, for the same column may be asked for twice.
    numbered = (column.label(f"c{number}") for number, column in enumerate(shown))
    latest = (at.desc(),) if told.at else ()
    return _Question(
        told=told,
        select=select(*numbered)
        .select_from(paths.source)
        .order_by(*latest, *map(paths.column, told.title.split()), told.table.c.id),
        texts=tuple(column for path, column in own.items() if "." not in path),
        compounds=tuple(_compounds(told, own)),
        around=tuple(around[path] for path in told.around),
        place=place,
    )


def _compounds(told: Described, own: Mapping[str, ColumnElement[Any]]) -> Iterator[_Compound]:
    for name in dict.fromkeys(path.partition(".")[0] for path in own if "." in path):
        parts = [path for path in own if path.startswith(f"{name}.") and _OF_EACH not in path]
        yield _Compound(cast(told.table.c[name], TEXT), tuple(own[path] for path in parts))


class _Paths:
    """The table of a kind with whatever its paths lead to, joined once each."""

    def __init__(self, table: FromClause) -> None:
        self.source = table
        self._reached: dict[str, FromClause] = {"": table}

    def column(self, path: str) -> ColumnElement[Any]:
        """The column at the end of a path."""
        here, (*steps, last) = "", path.split(".")
        for number, step in enumerate(steps):
            name, _, noun = step.partition(":")
            column = self._reached[here].c[name]
            if isinstance(column.type, JSON):
                inside: ColumnElement[Any] = column[path.split(".")[number + 1]].as_string()
                return inside
            there = f"{here}.{step}"
            if there not in self._reached:
                key = next(iter(column.foreign_keys), None)
                target = (key.column.table if key is not None else TABLES[NOUNS[noun]]).alias()
                self.source = self.source.outerjoin(target, target.c.id == column)
                self._reached[there] = target
            here = there
        return self._reached[here].c[last]
