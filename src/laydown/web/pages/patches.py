"""The patch maps of a comparison, one at a time and large."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, Response

from laydown.web.desk import desk_of
from laydown.web.pages.figures import figure_response
from laydown.web.pages.results import finished
from laydown.web.rendering import page
from laydown.web.views.patches import patches_view

router = APIRouter()


@router.get("/comparisons/{comparison_id}/patches")
def patches(request: Request, comparison_id: str, medium: int = 0, sheet: int = 0) -> HTMLResponse:
    """One map with the patches that look wrong listed under it."""
    result = finished(request, comparison_id)
    view = patches_view(comparison_id, result, medium=medium, sheet=sheet)
    if view is None:
        raise HTTPException(404, "There is no such patch map.")
    return page("patches.html", view)


@router.get("/comparisons/{comparison_id}/patches/{medium}-{sheet}.{kind}")
def drawing(
    request: Request, comparison_id: str, medium: int, sheet: int, kind: str, download: bool = False
) -> Response:
    """The map as SVG, PNG or a table of numbers."""
    result, shelf = finished(request, comparison_id), desk_of(request).figures
    found = shelf.patch_map(result, medium, sheet)
    if found is None:
        raise HTTPException(404, "There is no such patch map.")
    return figure_response(shelf, result, found, kind, name=f"{comparison_id}-{found.id}", download=download)
