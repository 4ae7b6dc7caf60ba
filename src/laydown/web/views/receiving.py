"""Choosing files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import PurePosixPath

from laydown.records.upload_record import Limits

PASSED_OVER = frozenset(
    {".md", ".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".ics", ".html", ".db", ".ini", ".lnk", ".zip"}
)


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


def is_passed_over(path: str) -> bool:
    """Whether a file is plainly no measurement: hidden, or a picture, note or archive."""
    name = PurePosixPath(path.replace("\\", "/"))
    hidden = any(part.startswith((".", "__MACOSX")) and part not in {".", ".."} for part in name.parts)
    return hidden or name.suffix.lower() in PASSED_OVER
