"""The whole result as a file: JSON for programs, PDF for people."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, Response

from laydown.web.desk import desk_of
from laydown.web.pages.results import finished
from laydown.web.trial_gloss import gloss_beside

router = APIRouter()


@router.get("/comparisons/{comparison_id}.json")
def as_json(request: Request, comparison_id: str) -> Response:
    """The result as JSON; the same numbers as on the page, unrounded."""
    from laydown.report import to_json

    return JSONResponse(
        to_json(
            finished(request, comparison_id).comparison, gloss=gloss_beside(desk_of(request), comparison_id)
        )
    )


@router.get("/comparisons/{comparison_id}.pdf")
def as_pdf(request: Request, comparison_id: str, paper: Literal["a4", "us-letter"] = "a4") -> Response:
    """The result as a PDF on A4 or US Letter."""
    from laydown.report import dossier_pdf

    result = finished(request, comparison_id).comparison
    made_at = desk_of(request).store.clock().astimezone().strftime("%d %B %Y, %H:%M %Z")
    content = dossier_pdf(
        result, paper=paper, made_at=made_at, gloss=gloss_beside(desk_of(request), comparison_id)
    )
    name = f'attachment; filename="laydown-{comparison_id}-{paper}.pdf"'
    return Response(content, media_type="application/pdf", headers={"Content-Disposition": name})
