"""Answers to questions about readings."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.trials.measured import Reading
from laydown.usecases.measuring.answer_doubt import answer_doubt
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.measure import reading_of, show_reading, show_station
from laydown.web.people import allow, person_of

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.post("/trials/{trial_id}/readings/{reading_id}/answer")
def answer(
    request: Request, trial_id: str, reading_id: str, form: Annotated[Form, Depends(posted)]
) -> Response:
    """Do what the chosen answer says."""
    records = desk_of(request).records
    at_station = form.text("back") == "station"
    try:
        with records.look() as look:
            reading_of(look.get(Reading, reading_id), trial_id)
        acted = answer_doubt(
            records,
            reading_id,
            kind=form.must("kind", "the question"),
            answer=form.must("answer", "the answer"),
            who=person_of(request).name,
            seen=form.whole("seen", "the page's number", low=0, high=10**12),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        if at_station:
            return show_station(request, trial_id, problem=error)
        return show_reading(request, trial_id, reading_id, problem=error)
    where = "measure" if at_station else f"readings/{reading_id}"
    return done(f"/trials/{trial_id}/{where}", acted.entry_id)
