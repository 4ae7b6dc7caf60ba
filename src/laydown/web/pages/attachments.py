"""Attaching photographs and files to anything, giving them out, and taking them away."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Annotated, BinaryIO, cast

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, StreamingResponse

from laydown.kernel.constants import Constant
from laydown.kernel.errors import RefusedInput, TooLarge
from laydown.trials.remarks import Attachment, AttachmentKind
from laydown.usecases.trial.attach_file import KINDS, ArrivingAttachment, attach_files, remove_attachment
from laydown.web.desk import desk_of
from laydown.web.disposition import disposition
from laydown.web.forms import Form, done, posted
from laydown.web.pages.notes import again
from laydown.web.people import allow, own_address, person_of
from laydown.web.views.notes import PICTURES

router = APIRouter(dependencies=[Depends(allow("bench"))])
LARGEST_POST = Constant(float(400 * 2**20), "byte", "chosen here: a handful of photographs", "computed")
_PIECE = 2**20


def bearable(request: Request) -> None:
    """A dependency of routes: refuses more than can be meant before any of it is received.

    Raises
    ------
    TooLarge
        It is larger than ``LARGEST_POST``, or does not say how large it is.
    """
    told = request.headers.get("content-length", "")
    if not told.isdigit() or int(told) > LARGEST_POST.value:
        raise TooLarge(
            f"these files together are larger than {LARGEST_POST.value / 2**20:.0f} MB.",
            todo="Attach fewer at a time.",
        )


@router.post("/attachments", dependencies=[Depends(bearable)], response_model=None)
def attach(request: Request, form: Annotated[Form, Depends(posted)]) -> HTMLResponse | RedirectResponse:
    """Keep files, and go back to the page they belong to."""
    try:
        acted = attach_files(
            desk_of(request).records,
            [ArrivingAttachment(file.filename or "", _pieces(file.file)) for file in form.files("files")],
            about=form.text("about"),
            who=person_of(request).name,
            kind=cast(AttachmentKind, form.choice("kind", KINDS, "what it is")),
            words=form.text("words"),
            private=form.flag("private"),
        )
    except RefusedInput as refused:
        return again(request, form, refusal=str(refused), is_file=True)
    return done(own_address(form.text("back")), acted.entry_id, at="notes")


@router.get("/attachments/{attachment_id}")
def give_out(request: Request, attachment_id: str, save: bool = False) -> StreamingResponse:
    """An attached file: pictures are shown, everything else is saved and never opened as a page of ours."""
    desk = desk_of(request)
    with desk.records.look() as look:
        attached = look.get(Attachment, attachment_id)
        pieces = look.vault.pieces(attached.sha256)
        begun = next(
            pieces, b""
        )  # what is missing or altered is said on a page, while there is still one to send
    shown = attached.media_type in PICTURES and not save
    return StreamingResponse(
        chain([begun], pieces),
        media_type=attached.media_type if attached.media_type in PICTURES else "application/octet-stream",
        headers={
            "Content-Length": str(attached.size),
            "Content-Disposition": disposition(attached.name, shown=shown),
            # On a shared tablet nothing stays behind for whoever signs in next.
            "Cache-Control": "no-store" if desk.lan else "private, max-age=3600",
        },
    )


@router.post("/attachments/{attachment_id}/remove")
def remove(request: Request, attachment_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Take an attached file away."""
    acted = remove_attachment(desk_of(request).records, attachment_id, who=person_of(request).name)
    return done(own_address(form.text("back")), acted.entry_id, at="notes")


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    while piece := file.read(_PIECE):
        yield piece
