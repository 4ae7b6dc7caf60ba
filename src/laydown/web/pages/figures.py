"""Figures as SVG, PNG and tables of numbers, and the bodies for the view in space."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import AfterValidator
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures import figure_csv, gamut_3d
from laydown.web.figure_shelf import ALONE, WIDTHS
from laydown.web.pages.results import finished

router = APIRouter()
Width = Annotated[int, AfterValidator(lambda width: min(WIDTHS, key=lambda known: abs(known - width)))]
_KINDS = {"svg": "image/svg+xml", "png": "image/png", "csv": "text/csv; charset=utf-8"}


@router.get("/comparisons/{comparison_id}/figures/{figure_id}.{kind}")
def figure(
    request: Request,
    comparison_id: str,
    figure_id: str,
    kind: Literal["svg", "png", "csv"],
    width: Width = ALONE,
    download: bool = False,
) -> Response:
    """One figure, drawn or as numbers."""
    shelf = finished(request, comparison_id)
    found = shelf.get(figure_id, width=width)
    if found is None:
        raise HTTPException(404, "There is no such figure.")
    if kind == "csv":
        content = ("\ufeff" + figure_csv(found)).encode("utf-8")  # the mark lets spreadsheets read accents
    else:
        content = shelf.svg(found, width=width) if kind == "svg" else shelf.png(found, width=width)
    headers = {}
    if download or kind == "csv":
        headers["Content-Disposition"] = f'attachment; filename="{comparison_id}-{figure_id}.{kind}"'
    return Response(content, media_type=_KINDS[kind], headers=headers)


@router.get("/comparisons/{comparison_id}/gamut")
def bodies(request: Request, comparison_id: str, first: str, second: str = "") -> JSONResponse:
    """Two gamut bodies, ready to be drawn by the page's script."""
    result = finished(request, comparison_id).comparison
    try:
        return JSONResponse(gamut_3d(result, first, other=second))
    except (KeyError, NotEnoughData) as error:
        raise HTTPException(404, "There is no gamut of that name in this comparison.") from error
