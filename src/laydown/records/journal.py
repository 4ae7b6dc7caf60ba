"""The journal: who did what when, with what was there before and after; nothing in it is ever changed."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, select
from sqlalchemy.sql.elements import ColumnElement

from laydown.kernel.errors import UnknownRecord
from laydown.records.shapes import digest_of
from laydown.records.tables import journal, journal_subjects

FIRST_DIGEST = "0" * 64
_AT_ONCE = 50  # entries held in memory while all are read; drawing an order makes large ones


@dataclass(frozen=True, slots=True)
class Change:
    """One thing before and after; None where it was not there."""

    noun: str
    id: str
    before: dict[str, Any] | None
    after: dict[str, Any] | None


@dataclass(frozen=True, slots=True)
class Entry:
    """One act. ``final`` acts (such as sealing) cannot be undone; ``undoes`` is the id of an undone act."""

    seq: int
    id: str
    at: datetime
    who: str
    action: str
    words: str
    trial_id: str | None
    undoes: str | None
    final: bool
    changes: tuple[Change, ...]
    digest: str = ""


def chained(entry: Entry, *, previous: str) -> str:
    """The digest of an entry on top of the one before it."""
    told = {
        "previous": previous,
        "seq": entry.seq,
        "id": entry.id,
        "at": entry.at.astimezone(UTC).isoformat(),
        "who": entry.who,
        "action": entry.action,
        "words": entry.words,
        "trial_id": entry.trial_id,
        "undoes": entry.undoes,
        "final": entry.final,
        "changes": [_plain(change) for change in entry.changes],
    }
    return digest_of(told)


def last_link(connection: Connection) -> tuple[int, str]:
    """Number and digest of the newest entry."""
    row = connection.execute(
        select(journal.c.seq, journal.c.digest).order_by(journal.c.seq.desc()).limit(1)
    ).first()
    return (row.seq, row.digest) if row else (0, FIRST_DIGEST)


def append(connection: Connection, entry: Entry) -> None:
    """Write an entry; its digest must be there."""
    connection.execute(
        journal.insert().values(
            seq=entry.seq,
            id=entry.id,
            at=entry.at,
            who=entry.who,
            action=entry.action,
            words=entry.words,
            trial_id=entry.trial_id,
            undoes=entry.undoes,
            final=entry.final,
            changes=json.dumps([_plain(change) for change in entry.changes], ensure_ascii=False),
            digest=entry.digest,
        )
    )
    subjects = sorted({change.id for change in entry.changes})
    connection.execute(journal_subjects.insert(), [{"seq": entry.seq, "record_id": one} for one in subjects])


def entry_of(connection: Connection, entry_id: str) -> Entry:
    """One entry.

    Raises
    ------
    UnknownRecord
        There is none of that id.
    """
    row = connection.execute(select(journal).where(journal.c.id == entry_id)).first()
    if row is None:
        raise UnknownRecord("there is no such entry in the journal.", todo="Go back to the journal.")
    return _entry(row)


def entries(
    connection: Connection,
    *,
    trial_id: str | None = None,
    record_id: str | None = None,
    limit: int = 50,
    offset: int = 0,
) -> tuple[Entry, ...]:
    """The newest entries first: all, those of one trial, or those about one thing."""
    wanted = select(journal)
    if record_id is not None:
        wanted = wanted.join(journal_subjects, journal_subjects.c.seq == journal.c.seq)
        wanted = wanted.where(journal_subjects.c.record_id == record_id)
    if trial_id is not None:
        wanted = wanted.where(journal.c.trial_id == trial_id)
    rows = connection.execute(wanted.order_by(journal.c.seq.desc()).limit(limit).offset(offset))
    return tuple(_entry(row) for row in rows)


def undone_by(connection: Connection, entry_ids: Sequence[str]) -> dict[str, str]:
    """For each entry that was undone, the entry that undid it."""
    matches: ColumnElement[bool] = journal.c.undoes.in_(list(entry_ids))
    rows = connection.execute(select(journal.c.undoes, journal.c.id).where(matches))
    return {row.undoes: row.id for row in rows}


def every_entry(connection: Connection) -> Iterator[tuple[Entry, frozenset[str]]]:
    """All entries from the first on, each with the ids it is filed under; memory stays flat."""
    options = {"stream_results": True, "yield_per": _AT_ONCE}
    rows = connection.execute(select(journal).order_by(journal.c.seq), execution_options=options)
    for part in rows.partitions():
        filed: dict[int, set[str]] = defaultdict(set)
        wanted = journal_subjects.c.seq.between(part[0].seq, part[-1].seq)
        for row in connection.execute(select(journal_subjects).where(wanted)):
            filed[row.seq].add(row.record_id)
        for row in part:
            yield _entry(row), frozenset(filed[row.seq])


def _entry(row: Row[Any]) -> Entry:
    changes = tuple(
        Change(one["noun"], one["id"], one["before"], one["after"]) for one in json.loads(row.changes)
    )
    return Entry(
        row.seq,
        row.id,
        row.at,
        row.who,
        row.action,
        row.words,
        row.trial_id,
        row.undoes,
        row.final,
        changes,
        row.digest,
    )


def _plain(change: Change) -> dict[str, Any]:
    return {"noun": change.noun, "id": change.id, "before": change.before, "after": change.after}
