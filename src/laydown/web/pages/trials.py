"""Beginning a trial."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.trial import TrialFormView

router = APIRouter(dependencies=[Depends(allow())])


@router.get("/trials")
def trials() -> RedirectResponse:
    """The list of trials is the first page."""
    return RedirectResponse("/", status_code=303)


@router.get("/trials/new")
def new(request: Request) -> HTMLResponse:
    """The form of a new trial."""
    return page(request, "trial_form.html", _form())


@router.post("/trials", response_model=None)
def begin(request: Request, form: Annotated[Form, Depends(posted)]) -> HTMLResponse | RedirectResponse:
    """Begin it, and go to its first page."""
    name, question, client = form.text("name"), form.text("question"), form.text("client")
    try:
        acted = begin_trial(
            desk_of(request).records, name, who=person_of(request).name, question=question, client=client
        )
    except LaydownError as refused:
        view = _form(name=name, question=question, client=client, refusal=str(refused))
        return page(request, "trial_form.html", view, status=422)
    return done(f"/trials/{acted.thing.id}", acted.entry_id)


def _form(*, name: str = "", question: str = "", client: str = "", refusal: str = "") -> TrialFormView:
    return TrialFormView(
        title="Begin a trial",
        action="/trials",
        back="/",
        name=name,
        question=question,
        client=client,
        sealed=False,
        seen="",
        refusal=refusal,
    )
