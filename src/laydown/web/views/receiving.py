"""Choosing files."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.upload_record import Limits


@dataclass(frozen=True, slots=True)
class NewView:
    """What the page says about how much it takes."""

    largest_mb: int
    total_mb: int
    files: int

    @classmethod
    def of(cls, limits: Limits) -> NewView:
        """The view for these limits."""
        return cls(limits.file_bytes // 2**20, limits.total_bytes // 2**20, limits.files)
