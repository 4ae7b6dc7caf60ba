"""A test form on the roll or box of a candidate, load by load."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request

from laydown.kernel.errors import RefusedInput, UnknownRecord
from laydown.records.trial_facts import load_facts
from laydown.trials.trial import Candidate
from laydown.usecases.forms.lay_on_roll import form_in_use, lay_on_roll, what_is_missing
from laydown.usecases.forms.roll_layout import RollLayout
from laydown.usecases.forms.roll_loads import LayOptions, LayWay
from laydown.web.api.changing import Id
from laydown.web.desk import desk_of
from laydown.web.pages.plan import uses_of
from laydown.web.people import allow

router = APIRouter(tags=["forms"])


@router.get("/candidates/{candidate_id}/layout", dependencies=[Depends(allow("bench"))])
def layout(
    request: Request,
    candidate_id: Id,
    form: Annotated[str, Query(max_length=16, description="Its code; else the newest in use.")] = "",
    way: LayWay = "as drawn",
    gap_mm: float | None = None,
    without_spares: bool = False,
    without_scraps: bool = False,
    without_setting: bool = False,
    only_unprinted: bool = False,
) -> RollLayout:
    """A form laid out on the roll or box of a candidate, with all candidates that share it; in mm."""
    with desk_of(request).records.look() as look:
        candidate = look.get(Candidate, candidate_id)
        facts = load_facts(look, candidate.trial_id)
        uses = uses_of(look, facts)
    one = next((each for each in facts.forms if each.code == form), None) if form else form_in_use(facts)
    if form and one is None:
        raise UnknownRecord(f"this trial has no form {form}.", todo="Ask for its forms.")
    for lack in what_is_missing(facts, candidate, one):
        raise RefusedInput(lack.words, todo=lack.todo)
    assert one is not None
    options = LayOptions(
        way=way,
        gap_mm=gap_mm,
        without_spares=without_spares,
        without_scraps=without_scraps,
        without_setting=without_setting,
        only_unprinted=only_unprinted,
    )
    return lay_on_roll(facts, candidate, one, uses=uses, options=options)
