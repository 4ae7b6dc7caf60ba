"""The studio's settings: name, place, time zone, units, paper, hours, watched folder."""

from __future__ import annotations

from typing import Annotated, cast, get_args

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.studio import Paper, Studio, Units
from laydown.usecases.stock.set_studio import set_studio
from laydown.web.desk import desk_of
from laydown.web.forms import BOUNDLESS, Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.studio import studio_view

router = APIRouter(prefix="/studio", dependencies=[Depends(allow())])
FIELDS = (
    "name", "place", "time_zone", "units", "paper", "cure_hours", "dry_hours", "watched_folder",
    "watched_trial_id",
)  # fmt: skip


@router.get("")
def studio(request: Request) -> HTMLResponse:
    """The settings in their form."""
    with desk_of(request).records.look() as look:
        return page(request, "studio.html", studio_view(look))


@router.post("", response_model=None)
def settle(request: Request, form: Annotated[Form, Depends(posted)]) -> HTMLResponse | RedirectResponse:
    """Keep them."""
    records = desk_of(request).records
    try:
        seen = form.whole("seen", "the page's state", low=0, high=2**31)
        acted = set_studio(records, _told(form), who=person_of(request).name, seen=seen)
    except LaydownError as refused:
        typed = {name: form.text(name) for name in FIELDS}
        with records.look() as look:
            view = studio_view(look, typed=typed, seen=form.text("seen"), refusal=str(refused))
        return page(request, "studio.html", view, status=422)
    return done("/studio", acted.entry_id)


def _told(form: Form) -> Studio:
    usual = Studio(id=STUDIO_ID)
    return Studio(
        id=STUDIO_ID,
        name=form.text("name"),
        place=form.text("place"),
        time_zone=form.text("time_zone"),
        units=cast(Units, form.choice("units", get_args(Units), "units")),
        paper=cast(Paper, form.choice("paper", get_args(Paper), "paper")),
        cure_hours=form.number("cure_hours", "hours to cure", low=0, high=BOUNDLESS) or usual.cure_hours,
        dry_hours=form.number("dry_hours", "hours to dry", low=0, high=BOUNDLESS) or usual.dry_hours,
        watched_folder=form.text("watched_folder"),
        watched_trial_id=form.text("watched_trial_id") or None,
    )
