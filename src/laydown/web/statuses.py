"""Which HTTP status says what an error says."""

from __future__ import annotations

from laydown.kernel.errors import (
    CannotKeep,
    ChangedMeanwhile,
    Contradiction,
    NotAllowed,
    TooLarge,
    TooManyAttempts,
    UnknownRecord,
    UnknownUpload,
)

_STATUSES: tuple[tuple[type[Exception], int], ...] = (
    (UnknownUpload, 404),
    (UnknownRecord, 404),
    (TooManyAttempts, 429),
    (NotAllowed, 403),
    (ChangedMeanwhile, 409),
    (Contradiction, 409),
    (TooLarge, 413),
    (CannotKeep, 507),
)


def status_of(error: Exception) -> int:
    """The status of an error raised on purpose."""
    return next((status for kind, status in _STATUSES if isinstance(error, kind)), 400)
