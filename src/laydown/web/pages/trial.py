"""One trial at a glance; naming, closing and removing it."""

from __future__ import annotations

from typing import Annotated, Protocol

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.trial.close_trial import close_trial, reopen_trial
from laydown.usecases.trial.remove_trial import bring_back_trial, remove_trial
from laydown.usecases.trial.rename_trial import rename_trial
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.trial import TrialFormView, trial_view

router = APIRouter(prefix="/trials/{trial_id}")


@router.get("", dependencies=[Depends(allow("bench"))])
def trial(
    request: Request, trial_id: str, number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1
) -> HTMLResponse:
    """Where the trial stands, who is in it, what was said about it."""
    records = desk_of(request).records
    with records.look() as look:
        view = trial_view(look, load_facts(look, trial_id), now=records.now(), number=number)
    return page(request, "trial.html", view)


@router.get("/edit", dependencies=[Depends(allow())])
def form_of_trial(request: Request, trial_id: str) -> HTMLResponse:
    """The form of its name, question and client."""
    return page(request, "trial_form.html", _form(request, trial_id))


@router.post("/edit", dependencies=[Depends(allow())], response_model=None)
def rename(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Change name, question and client."""
    try:
        acted = rename_trial(
            desk_of(request).records,
            trial_id,
            who=person_of(request).name,
            name=form.text("name"),
            question=form.text("question"),
            client=form.text("client"),
            seen=form.whole("seen", "the page's state", low=0, high=2**31),
        )
    except LaydownError as refused:
        view = _form(request, trial_id, typed=form, refusal=str(refused))
        return page(request, "trial_form.html", view, status=422)
    return done(f"/trials/{trial_id}", acted.entry_id)


@router.post("/close", dependencies=[Depends(allow())])
def close(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Close it."""
    return _done(request, close_trial, trial_id, form)


@router.post("/reopen", dependencies=[Depends(allow())])
def reopen(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Open it again."""
    return _done(request, reopen_trial, trial_id, form)


@router.post("/remove", dependencies=[Depends(allow())])
def remove(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Move it to the trash."""
    return _done(request, remove_trial, trial_id, form)


@router.post("/bring-back", dependencies=[Depends(allow())])
def bring_back(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Take it out of the trash."""
    return _done(request, bring_back_trial, trial_id, form)


class _Deed(Protocol):
    """A use case on a trial as a whole."""

    def __call__(self, records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Trial]:
        """Do it."""
        ...


def _done(request: Request, deed: _Deed, trial_id: str, form: Form) -> RedirectResponse:
    seen = form.whole("seen", "the page's state", low=0, high=2**31)
    acted = deed(desk_of(request).records, trial_id, who=person_of(request).name, seen=seen)
    return done(f"/trials/{trial_id}", acted.entry_id)


def _form(request: Request, trial_id: str, *, typed: Form | None = None, refusal: str = "") -> TrialFormView:
    with desk_of(request).records.look() as look:
        facts = load_facts(look, trial_id)
        revision = look.revision(Trial, trial_id)
    kept = facts.trial
    return TrialFormView(
        title="Name, question and client",
        action=f"/trials/{trial_id}/edit",
        back=f"/trials/{trial_id}",
        name=typed.text("name") if typed else kept.name,
        question=typed.text("question") if typed else kept.question,
        client=typed.text("client") if typed else kept.client,
        sealed=facts.brief is not None and facts.brief.sealed_at is not None,
        # Where somebody else was quicker, saving again must not overwrite what nobody here has seen.
        seen=typed.text("seen") if typed else str(revision),
        refusal=refusal,
    )
