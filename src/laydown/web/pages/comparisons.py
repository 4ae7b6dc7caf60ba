"""The list of comparisons of files."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse

from laydown.web.desk import desk_of
from laydown.web.rendering import page
from laydown.web.views.comparisons import ComparisonsView, entry_of

router = APIRouter()
_SAID = {
    "deleted": "The comparison is in the trash; it can be brought back below.",
    "restored": "The comparison is back.",
}


@router.get("/comparisons")
def comparisons(request: Request, said: str = "") -> HTMLResponse:
    """Kept, unfinished and deleted comparisons."""
    store = desk_of(request).store
    view = ComparisonsView(
        kept=tuple(entry_of(upload) for upload in store.list("comparisons")),
        drafts=tuple(entry_of(upload) for upload in store.list("drafts") if upload.files),
        deleted=tuple(entry_of(upload) for upload in store.list("trash") if upload.files),
        said=_SAID.get(said, ""),
    )
    return page(request, "comparisons.html", view)
