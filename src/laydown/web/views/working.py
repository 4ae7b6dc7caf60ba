"""Work that goes on: what is being done and how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from laydown.web.workroom import Job


@dataclass(frozen=True, slots=True)
class WorkingView:
    """The waiting page; ``error`` where the work failed."""

    title: str
    what: str
    done: int
    total: int
    error: str
    progress_href: str
    arrange_href: str
    arrange_words: str

    @classmethod
    def of(
        cls,
        title: str,
        job: Job,
        progress_href: str,
        *,
        arrange_href: str = "",
        arrange_words: str = "Back to the files",
    ) -> WorkingView:
        """The view of a job; ``arrange_href`` leads to where what went wrong can be put right."""
        now = job.progress
        return cls(
            title or "Comparison",
            now.what,
            now.done,
            now.total,
            job.error,
            progress_href,
            arrange_href,
            arrange_words,
        )


def progress_of(job: Job | None) -> dict[str, Any]:
    """The job as plain data for the page's script."""
    if job is None:
        return {"state": "failed", "what": "", "done": 0, "total": 0}
    now = job.progress
    return {"state": job.state, "what": now.what, "done": now.done, "total": now.total}
