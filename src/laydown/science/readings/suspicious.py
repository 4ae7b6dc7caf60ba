"""Placeholder until the real row check lands (being written now): finds nothing."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.kernel.arrays import Floats


@dataclass(frozen=True, slots=True)
class Suspicious:
    """A row whose colour contradicts its neighbours."""

    row: int
    kind: str
    explanation: str


def suspicious_rows(device: Floats, lab: Floats) -> tuple[Suspicious, ...]:  # noqa: ARG001
    """Nothing yet."""
    return ()
