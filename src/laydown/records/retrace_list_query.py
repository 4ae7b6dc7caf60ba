"""Bad prints in the order somebody looks for them: those still open first, each part the newest first."""

from __future__ import annotations

from sqlalchemy import select

from laydown.records.look import Look
from laydown.records.tables import TABLES
from laydown.trials.retracing import Retrace

_RETRACES = TABLES[Retrace].c


def listed_retraces(look: Look, *, limit: int, offset: int = 0) -> tuple[Retrace, ...]:
    """A stretch of all retraces; among those that are closed the outcome makes no difference."""
    wanted = (
        select(_RETRACES.id)
        .order_by((_RETRACES.outcome != "open"), _RETRACES.begun_at.desc(), _RETRACES.id)
        .limit(limit)
        .offset(offset)
    )
    ids = list(look.connection.execute(wanted).scalars())
    found = {one.id: one for one in look.find_any(Retrace, "id", ids)}
    return tuple(found[one] for one in ids)
