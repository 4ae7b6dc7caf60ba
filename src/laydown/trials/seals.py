"""The seal on a brief: a digest of everything the studio fixed before printing."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, fields
from datetime import UTC, datetime

from laydown.trials.trial import Brief

NOT_SEALED_OVER = frozenset({"id", "sealed_at", "sealed_by", "seal"})
SEALED_FIELDS = tuple(item.name for item in fields(Brief) if item.name not in NOT_SEALED_OVER)


def seal_of(brief: Brief, *, at: datetime, by: str) -> str:
    """SHA-256, in hexadecimal, of what the brief says, who sealed it and when."""
    told = {name: value for name, value in asdict(brief).items() if name in SEALED_FIELDS}
    told |= {"sealed_at": at.astimezone(UTC).isoformat(), "sealed_by": by}
    text = json.dumps(told, sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def seal_holds(brief: Brief) -> bool:
    """Whether a sealed brief still says what was sealed; an unsealed one must carry no seal."""
    if brief.sealed_at is None:
        return not brief.seal and not brief.sealed_by
    return brief.seal == seal_of(brief, at=brief.sealed_at, by=brief.sealed_by)
