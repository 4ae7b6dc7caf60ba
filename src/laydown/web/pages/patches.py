"""The patch maps of a comparison, one at a time and large."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse

from laydown.web.pages.results import finished
from laydown.web.rendering import page
from laydown.web.views.patches import patches_view

router = APIRouter()


@router.get("/comparisons/{comparison_id}/patches")
def patches(request: Request, comparison_id: str, medium: int = 0, sheet: int | None = None) -> HTMLResponse:
    """One map with the patches that look wrong listed under it."""
    result = finished(request, comparison_id).comparison
    view = patches_view(comparison_id, result, medium=medium, sheet=sheet)
    if view is None:
        raise HTTPException(404, "There is no such patch map.")
    return page(request, "patches.html", view)
