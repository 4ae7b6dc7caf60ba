"""The finished result behind an address, for everything that is made from it."""

from __future__ import annotations

from fastapi import Request
from starlette.exceptions import HTTPException

from laydown.web.desk import desk_of
from laydown.web.figure_shelf import FigureShelf

_LONGEST_WAIT = 120.0


def finished(request: Request, comparison_id: str) -> FigureShelf:
    """The comparison of that id with its figures, waiting for it if it is still being worked out."""
    job = desk_of(request).job_of(comparison_id)
    if not job.ended.wait(_LONGEST_WAIT):
        raise HTTPException(503, "The comparison is still being worked out. Try again in a minute.")
    if job.figures is None:
        raise HTTPException(422, job.error)
    return job.figures
