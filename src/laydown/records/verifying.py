"""Looks at everything that is kept and says what is not as it must be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select, text

from laydown.kernel.errors import RefusedInput
from laydown.records.checking_files import KeptFiles, discard
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.migrating import broken_references, revision_of
from laydown.records.replaying import Replay, Trouble
from laydown.records.tables import TABLES
from laydown.records.trial_facts import load_facts
from laydown.trials.contradictions import contradictions
from laydown.trials.trial import Trial

_GUARDS = {
    "sqlite": "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name LIKE 'journal%'",
    "postgresql": (
        "SELECT count(*) * 2 FROM pg_trigger WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') "
        "AND tgrelid IN ('journal'::regclass, 'journal_subjects'::regclass)"
    ),
}
_GUARDS_WANTED = 4
_UNCHECKED = (
    "SELECT conname FROM pg_constraint "
    "WHERE NOT convalidated AND connamespace = current_schema()::regnamespace"
)
MOST_LISTED = 50  # troubles of one sort


@dataclass(frozen=True, slots=True)
class Verification:
    """What was looked at and what was found. ``notes`` are no troubles: left-overs, stated checksums.

    ``last_digest`` is the newest link of the journal's chain: written down elsewhere, it proves later that
    nothing before it was altered.
    """

    checked_at: datetime
    database: str
    revision: str
    entries: int
    last_digest: str
    rows: int
    trials: int
    files: int
    bytes: int
    troubles: tuple[Trouble, ...]
    notes: tuple[str, ...]
    tidied: int

    @property
    def sound(self) -> bool:
        """Whether everything is as it must be."""
        return not self.troubles


def verify(
    records: Records, *, tidy: bool = False, progress: Callable[[str], None] = lambda _: None
) -> Verification:
    """Look at everything that is kept, as it is at one moment; memory stays flat.

    Parameters
    ----------
    records
        What to look at.
    tidy
        Whether to delete files that nothing refers to or ever did, if they have lain here for a day.
    progress
        Told what is looked at now.
    """
    now = records.now()
    with Replay() as replay, records.look() as look:
        progress("the database")
        troubles = _first(_of_database(look.connection))
        progress("the journal")
        troubles += _first(replay.play(look.connection))
        progress("the tables")
        troubles += _first(replay.compare(look.connection))
        progress("the trials")
        trials = look.count(Trial)
        troubles += _first(_of_trials(look))
        progress("the files")
        files = KeptFiles(look.connection, records.vault, replay)
        troubles += _first(files.troubles())
        left_over = files.left_over(now)
        revision = revision_of(look.connection) or ""
    tidied = discard(records, left_over.old, now=now) if tidy else 0
    return Verification(
        checked_at=now,
        database=records.engine.dialect.name,
        revision=revision,
        entries=replay.entries,
        last_digest=replay.last_digest,
        rows=replay.rows,
        trials=trials,
        files=files.count,
        bytes=files.bytes,
        troubles=tuple(troubles),
        notes=tuple(files.notes(left_over, tidied=tidied)),
        tidied=tidied,
    )


def _first(found: Iterable[Trouble]) -> list[Trouble]:
    """The first of many troubles, and how many more there are."""
    listed: list[Trouble] = []
    more = 0
    for trouble in found:
        if len(listed) < MOST_LISTED:
            listed.append(trouble)
        else:
            more += 1
    if more:
        listed.append(Trouble("and", f"more of this sort: {more}."))
    return listed


def _of_database(connection: Connection) -> Iterator[Trouble]:
    """What the database says of itself."""
    kind = connection.dialect.name
    if kind == "sqlite":
        for (said,) in connection.execute(text("PRAGMA integrity_check(20)")):
            if said != "ok":
                yield Trouble("the database's file", f"{said}.")
    else:
        for (name,) in connection.execute(text(_UNCHECKED)):
            yield Trouble("the database", f"its rule {name} was never checked.")
    for sentence in broken_references(connection):
        yield Trouble("the database", sentence)
    if connection.execute(text(_GUARDS[kind])).scalar_one() != _GUARDS_WANTED:
        yield Trouble("the journal", "the triggers that keep it from being altered are not all in place.")


def _of_trials(look: Look) -> Iterator[Trouble]:
    """What contradicts itself in a trial, one trial in memory at a time."""
    table = TABLES[Trial]
    for row in look.connection.execute(select(table.c.id, table.c.name).order_by(table.c.id)).all():
        try:
            told = contradictions(load_facts(look, row.id), now=None)
        except (RefusedInput, KeyError) as error:  # a row of it is damaged; the tables said which
            told = (f"it cannot be put together: {error}",)
        for sentence in told:
            yield Trouble(f"trial {row.name}", sentence)
