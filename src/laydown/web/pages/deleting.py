"""Deleting after a question, and bringing back."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.web.desk import desk_of
from laydown.web.forms import posted
from laydown.web.rendering import page
from laydown.web.views.comparisons import entry_of

router = APIRouter()


@router.get("/uploads/{upload_id}/delete")
def ask(request: Request, upload_id: str) -> HTMLResponse:
    """Ask whether it is meant."""
    return page(request, "deleting.html", entry_of(desk_of(request).store.get(upload_id)))


@router.post("/uploads/{upload_id}/delete", dependencies=[Depends(posted)])
def delete(request: Request, upload_id: str) -> RedirectResponse:
    """Move it to the trash."""
    desk_of(request).store.delete(upload_id)
    return RedirectResponse("/comparisons?said=deleted", status_code=303)


@router.post("/uploads/{upload_id}/restore", dependencies=[Depends(posted)])
def restore(request: Request, upload_id: str) -> RedirectResponse:
    """Bring it back."""
    desk_of(request).store.restore(upload_id)
    return RedirectResponse("/comparisons?said=restored", status_code=303)
