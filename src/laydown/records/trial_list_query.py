"""Which trials are running, closed or in the trash; which were worked on last; where questions stand open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from sqlalchemy import Select, and_, case, func, or_, select
from sqlalchemy.sql.elements import ColumnElement

from laydown.records.look import Look
from laydown.records.open_questions import asked_about
from laydown.records.tables import TABLES, journal
from laydown.records.text_match import may_hold, really_holds
from laydown.trials.measured import Reading
from laydown.trials.trial import Trial

TrialShelf = Literal["running", "closed", "trash"]
SHELVES: tuple[TrialShelf, ...] = get_args(TrialShelf)
_TRIALS = TABLES[Trial]
_READINGS = TABLES[Reading]


@dataclass(frozen=True, slots=True)
class OpenQuestions:
    """A running trial with readings that are asked about, or that wait to be told their sheet."""

    trial_id: str
    name: str
    asked: int
    unplaced: int


def count_trials(look: Look) -> dict[TrialShelf, int]:
    """How many trials stand on each shelf."""
    counts = {shelf: func.count(case((_on(shelf), 1))) for shelf in SHELVES}
    found = look.connection.execute(select(*counts.values())).one()
    return dict(zip(counts, found, strict=True))


def trial_ids(look: Look, shelf: TrialShelf, *, limit: int, offset: int = 0) -> tuple[str, ...]:
    """The trials of a shelf: running ones worked on last first, others by when they came there."""
    wanted = select(_TRIALS.c.id).where(_on(shelf)).order_by(*_order(shelf), _TRIALS.c.id)
    return tuple(look.connection.execute(wanted.limit(limit).offset(offset)).scalars())


def trials_called(look: Look, name: str) -> tuple[Trial, ...]:
    """Every trial of that name, whatever the case of its letters."""
    found: Select[tuple[str, str]] = select(_TRIALS.c.id, _TRIALS.c.name).where(
        may_hold([_TRIALS.c.name], name)
    )
    ids = [
        row.id
        for row in look.connection.execute(found)
        if len(row.name) == len(name) and really_holds([row.name], [name])
    ]
    return look.find_any(Trial, "id", ids)


def open_questions(look: Look, *, limit: int) -> tuple[OpenQuestions, ...]:
    """Running trials with readings that need an answer, most of them first."""
    asked = asked_about(_READINGS.c.doubts)
    unplaced = _READINGS.c.sheet_id.is_(None)
    count_asked, count_unplaced = func.count(case((asked, 1))), func.count(case((unplaced, 1)))
    wanted = (
        select(_TRIALS.c.id, _TRIALS.c.name, count_asked, count_unplaced)
        .join(_READINGS, _READINGS.c.trial_id == _TRIALS.c.id)
        .where(_on("running"), _READINGS.c.set_aside_at.is_(None), or_(asked, unplaced))
        .group_by(_TRIALS.c.id, _TRIALS.c.name)
        .order_by((count_asked + count_unplaced).desc(), _TRIALS.c.id)
        .limit(limit)
    )
    return tuple(OpenQuestions(*row) for row in look.connection.execute(wanted))


def _on(shelf: TrialShelf) -> ColumnElement[bool]:
    removed, closed = _TRIALS.c.removed_at, _TRIALS.c.closed_at
    if shelf == "trash":
        return removed.is_not(None)
    return and_(removed.is_(None), closed.is_(None) if shelf == "running" else closed.is_not(None))


def _order(shelf: TrialShelf) -> tuple[ColumnElement[object], ...]:
    if shelf == "trash":
        return (_TRIALS.c.removed_at.desc(),)
    if shelf == "closed":
        return (_TRIALS.c.closed_at.desc(),)
    last_act = select(func.max(journal.c.seq)).where(journal.c.trial_id == _TRIALS.c.id).scalar_subquery()
    return (func.coalesce(last_act, 0).desc(), _TRIALS.c.begun.desc())
