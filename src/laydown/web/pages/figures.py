"""Figures as SVG, PNG and tables of numbers, and the bodies for the view in space."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures import Figure, figure_csv, gamut_3d
from laydown.usecases.comparison import Comparison
from laydown.web.desk import desk_of
from laydown.web.figure_shelf import FigureShelf
from laydown.web.pages.results import finished

router = APIRouter()
_KINDS = {"svg": "image/svg+xml", "png": "image/png", "csv": "text/csv; charset=utf-8"}


@router.get("/comparisons/{comparison_id}/figures/{figure_id}.{kind}")
def figure(
    request: Request, comparison_id: str, figure_id: str, kind: str, download: bool = False
) -> Response:
    """One figure, drawn or as numbers."""
    shelf, result = desk_of(request).figures, finished(request, comparison_id)
    found = shelf.get(result, figure_id)
    if found is None:
        raise HTTPException(404, "There is no such figure.")
    return figure_response(shelf, result, found, kind, name=f"{comparison_id}-{figure_id}", download=download)


def figure_response(
    shelf: FigureShelf, comparison: Comparison, found: Figure, kind: str, *, name: str, download: bool
) -> Response:
    """A figure as the kind of file asked for."""
    if kind == "csv":
        content = ("\ufeff" + figure_csv(found)).encode("utf-8")  # the mark lets spreadsheets read accents
    elif kind == "svg":
        content = shelf.svg(comparison, found)
    elif kind == "png":
        content = shelf.png(comparison, found)
    else:
        raise HTTPException(404, "Figures come as SVG, PNG or CSV.")
    headers = {}
    if download or kind == "csv":
        headers["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
    return Response(content, media_type=_KINDS[kind], headers=headers)


@router.get("/comparisons/{comparison_id}/gamut")
def bodies(request: Request, comparison_id: str, first: str, second: str = "") -> JSONResponse:
    """Two gamut bodies, ready to be drawn by the page's script."""
    result = finished(request, comparison_id)
    try:
        return JSONResponse(gamut_3d(result, first, other=second))
    except (KeyError, NotEnoughData) as error:
        raise HTTPException(404, "There is no gamut of that name in this comparison.") from error
