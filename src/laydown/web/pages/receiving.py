"""Receiving files: one after the other from the page's script, or as one form where there is no script."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from laydown.kernel.errors import RefusedInput, TooLarge
from laydown.records.uploads import UploadStore
from laydown.web.desk import desk_of
from laydown.web.forms import TOKEN_FIELD, check_token
from laydown.web.passed_over import is_passed_over, why_passed_over
from laydown.web.rendering import page
from laydown.web.views.arranging import held_in
from laydown.web.views.receiving import NewView

router = APIRouter()
_PIECE = 2**20
_FORM_ROOM = 2**20  # what a form adds around its files


@router.get("/new")
def new(request: Request) -> HTMLResponse:
    """Choose files and folders."""
    return page(request, "new.html", NewView.of(desk_of(request).store.limits))


@router.post("/drafts")
async def start(request: Request) -> Response:
    """Start a draft; with a form, receive its files too."""
    store = desk_of(request).store
    if not _is_form(request):
        check_token(request)
        draft = await run_in_threadpool(store.start)
        return JSONResponse({"id": draft.id, "next": f"/uploads/{draft.id}/arrange"}, status_code=201)
    return await _receive_form(request, store, "")


@router.post("/drafts/{draft_id}/files")
async def add(request: Request, draft_id: str) -> Response:
    """Add the files of a form to a draft."""
    return await _receive_form(request, desk_of(request).store, draft_id)


@router.put("/drafts/{draft_id}/files")
async def receive(request: Request, draft_id: str, path: str) -> Response:
    """Receive one file as it comes, straight onto the disk, and say what is in it."""
    check_token(request)
    desk = desk_of(request)
    if why := why_passed_over(path):
        await run_in_threadpool(_note_passed_over, desk.store, draft_id, path)
        return JSONResponse({"path": path, "said": f"passed over: {why}", "state": "passed over"})
    with await run_in_threadpool(desk.store.receive, draft_id, path) as incoming:
        async for piece in request.stream():
            await run_in_threadpool(incoming.write, piece)
        file = await run_in_threadpool(incoming.finish)
    draft = await run_in_threadpool(desk.store.get, draft_id)
    held = await run_in_threadpool(held_in, desk, draft, file)
    return JSONResponse(
        {"path": file.path, "size": file.size, "said": held.said, "state": held.state}, status_code=201
    )


async def _receive_form(request: Request, store: UploadStore, draft_id: str) -> Response:
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > store.limits.total_bytes + _FORM_ROOM:
        raise TooLarge(
            f"all files together are larger than {store.limits.total_bytes // 2**20} MB.",
            todo="Split the trial into smaller comparisons.",
        )
    async with request.form(max_files=store.limits.files, max_fields=10) as form:
        check_token(request, str(form.get(TOKEN_FIELD, "")))
        files = [f for f in form.getlist("files") if isinstance(f, UploadFile) and f.filename]
        if not files:
            raise RefusedInput(
                "no measurement file was chosen.", todo="Go back and choose files or a folder."
            )
        draft_id = draft_id or (await run_in_threadpool(store.start)).id
        for file in files:
            name = file.filename or ""
            if is_passed_over(name):
                await run_in_threadpool(_note_passed_over, store, draft_id, name)
                continue
            with await run_in_threadpool(store.receive, draft_id, name) as incoming:
                while piece := await file.read(_PIECE):
                    await run_in_threadpool(incoming.write, piece)
                await run_in_threadpool(incoming.finish)
    return RedirectResponse(f"/uploads/{draft_id}/arrange", status_code=303)


def _note_passed_over(store: UploadStore, draft_id: str, path: str) -> None:
    """Keep the name of a file that is not taken, without its content, so that it is not lost in silence."""
    with store.receive(draft_id, path) as incoming:
        incoming.finish()


def _is_form(request: Request) -> bool:
    return request.headers.get("content-type", "").startswith("multipart/form-data")
