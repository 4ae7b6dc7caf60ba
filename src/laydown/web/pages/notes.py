"""Keeping a note about anything, and taking it away."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import RefusedInput
from laydown.usecases.trial.keep_note import keep_note, remove_note
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, own_address, person_of
from laydown.web.rendering import page
from laydown.web.views.notes import RemarkAgain

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.post("/notes", response_model=None)
def keep(request: Request, form: Annotated[Form, Depends(posted)]) -> HTMLResponse | RedirectResponse:
    """Keep a note, and go back to the page it was written on."""
    try:
        acted = keep_note(
            desk_of(request).records, form.text("about"), form.text("words"), who=person_of(request).name
        )
    except RefusedInput as refused:
        return again(request, form, refusal=str(refused), is_file=False)
    return done(own_address(form.text("back")), acted.entry_id, at="notes")


@router.post("/notes/{note_id}/remove")
def remove(request: Request, note_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Take a note away."""
    acted = remove_note(desk_of(request).records, note_id, who=person_of(request).name)
    return done(own_address(form.text("back")), acted.entry_id, at="notes")


def again(request: Request, form: Form, *, refusal: str, is_file: bool) -> HTMLResponse:
    """What was refused once more, with the reason and what was typed."""
    view = RemarkAgain(
        refusal=refusal,
        is_file=is_file,
        about=form.text("about"),
        back=own_address(form.text("back")),
        words=form.text("words"),
        kind=form.text("kind"),
        private=form.flag("private"),
    )
    return page(request, "remark_again.html", view, status=422)
