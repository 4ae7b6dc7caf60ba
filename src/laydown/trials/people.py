"""Who may sign in from the studio's network, and as what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Role = Literal["owner", "bench", "judge"]
ROLES: tuple[Role, ...] = ("owner", "bench", "judge")
ROLE_WORDS: dict[Role, str] = {
    "owner": "may do everything",
    "bench": "prints, coats, measures and retraces; does not see prices or change briefs and plans",
    "judge": "judges prints and sees nothing else",
}
# The nouns an act of the bench may change (of a candidate its hours, of a trial its chart).
BENCH_CHANGES = frozenset(
    {
        "Trial", "Candidate", "BenchRun", "Sheet", "SheetEvent", "Reading", "GlossReading", "RollUse", "Note",
        "Attachment", "Retrace",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Somebody who signs in with a password (kept elsewhere, hashed, and never in the journal)."""

    id: str
    name: str
    role: Role
    made_at: datetime
    password_changed_at: datetime | None = None
    closed_at: datetime | None = None
