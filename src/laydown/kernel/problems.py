"""What is wrong with an input that could still be used, as data to be shown last in every report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing a person should know about an input: where it is, what it is, what to do.

    ``error``: the thing named was left out of every result. ``warning``: it was used, and may be wrong.
    ``note``: worth knowing, nothing needs doing.
    """

    severity: Severity
    what: str
    todo: str = ""
    file: str | None = None
    line: int | None = None
    patch: str | None = None

    def place(self) -> str:
        """Where it is, in words: ``"a.txt, line 7, patch B3"``; empty when it has no place."""
        parts = (
            self.file or "",
            f"line {self.line}" if self.line is not None else "",
            f"patch {self.patch}" if self.patch is not None else "",
        )
        return ", ".join(part for part in parts if part)
