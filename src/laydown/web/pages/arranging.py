"""Arranging files into media, and starting the comparison."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from laydown.kernel.errors import LaydownError
from laydown.records.upload_record import Upload
from laydown.web.desk import Desk, desk_of
from laydown.web.forms import TOKEN_FIELD, check_token
from laydown.web.rendering import page
from laydown.web.views.arranging import arranged_from, arranging_view
from laydown.web.views.working import WorkingView, progress_of

router = APIRouter()
TEMPLATE = "arranging.html"


@router.get("/uploads/{upload_id}/arrange")
def arrange(request: Request, upload_id: str) -> HTMLResponse:
    """The form; with the reason where the last attempt failed."""
    desk = desk_of(request)
    upload = desk.store.get(upload_id)
    job = desk.workroom.known(upload.fingerprint)
    error = job.error if job is not None and job.state == "failed" else ""
    return page(request, TEMPLATE, arranging_view(desk, upload, error=error))


@router.post("/uploads/{upload_id}/arrange")
async def decide(request: Request, upload_id: str) -> Response:
    """Write down what the form says, and compare if that was asked for."""
    desk = desk_of(request)
    async with request.form(max_files=0, max_fields=4 * desk.store.limits.files + 20) as form:
        told = {name: value for name, value in form.items() if isinstance(value, str)}
    check_token(request, told.get(TOKEN_FIELD, ""))
    return await run_in_threadpool(_decide, request, desk, upload_id, told)


def _decide(request: Request, desk: Desk, upload_id: str, told: dict[str, str]) -> Response:
    upload = desk.store.get(upload_id)
    try:
        said = arranged_from(told, upload)
        upload = desk.store.describe(
            upload_id, title=said.title, question=said.question, house=said.house, condition=said.condition,
            media=said.media, left_out=said.left_out,
        )  # fmt: skip
        if told.get("do") != "compare":
            return RedirectResponse(f"/uploads/{upload_id}/arrange", status_code=303)
        desk.request_of(upload)
    except LaydownError as error:
        return page(request, TEMPLATE, arranging_view(desk, upload, error=str(error)), status=422)
    if upload.shelf == "comparisons":
        desk.job_of(upload_id, again=True)
        return RedirectResponse(f"/comparisons/{upload_id}", status_code=303)
    desk.run_draft(upload)
    return RedirectResponse(f"/drafts/{upload_id}/working", status_code=303)


@router.get("/drafts/{draft_id}/working")
def working(request: Request, draft_id: str) -> Response:
    """How far the comparison of a draft is; then the comparison, or the form with the reason."""
    desk = desk_of(request)
    upload = desk.store.get(draft_id)
    after = _after(desk, upload)
    if after:
        return RedirectResponse(after, status_code=303)
    job = desk.job_of_draft(upload)
    assert job is not None
    return page(request, "working.html", WorkingView.of(upload.title, job, f"/drafts/{draft_id}/progress"))


@router.get("/drafts/{draft_id}/progress")
def progress(request: Request, draft_id: str) -> JSONResponse:
    """The same for the page's script."""
    desk = desk_of(request)
    upload = desk.store.get(draft_id)
    after = _after(desk, upload)
    return JSONResponse({**progress_of(desk.workroom.known(upload.fingerprint)), "next": after})


def _after(desk: Desk, upload: Upload) -> str:
    """Where to go from here; empty while the work goes on."""
    if upload.shelf == "comparisons":
        return f"/comparisons/{upload.id}"
    job = desk.job_of_draft(upload)
    return "" if job is not None and job.state == "working" else f"/uploads/{upload.id}/arrange#trouble"
