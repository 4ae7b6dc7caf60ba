"""A form on the roll: laid out, drawn, and its papers for the trimmer."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import RefusedInput
from laydown.records.trial_facts import load_facts
from laydown.report.cut_list_paper import Cutting, cut_lists_pdf
from laydown.report.label_sheets import label_sheet
from laydown.report.sticker_paper import stickers_pdf
from laydown.trials.facts import TrialFacts
from laydown.usecases.forms.lay_on_roll import lay_on_roll
from laydown.usecases.forms.roll_layout import RollLayout
from laydown.web.desk import desk_of
from laydown.web.disposition import disposition
from laydown.web.pages.plan import uses_of
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.form_roll import asked_for, choice_sent, form_roll_view, stickers_of, summary_of

router = APIRouter(prefix="/trials/{trial_id}/form/roll", dependencies=[Depends(allow("bench"))])
_MOST_GONE = 100  # labels of a sheet; the sheet itself says how many it has


@router.get("")
def on_roll(request: Request, trial_id: str) -> HTMLResponse:
    """How a form lies on a candidate's roll or box, what is left, and what is lost."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        uses = uses_of(look, facts)
    view = form_roll_view(
        facts,
        choice_sent(request.query_params),
        uses=uses,
        owner=person_of(request).role == "owner",
        now=records.now(),
    )
    return page(request, "form_roll.html", view)


@router.get("/cut-list.pdf")
def cut_list(request: Request, trial_id: str) -> Response:
    """The cut lists of all loads on paper."""
    facts, layout = _laid(request, trial_id)
    content = cut_lists_pdf(
        [
            Cutting(nesting=load.nesting, heading=load.title, codes=load.codes)
            for load in layout.loads
            if load.nesting.pieces
        ],
        title=facts.trial.name,
        studio=facts.studio,
        now=desk_of(request).records.now(),
        summary=summary_of(facts, layout),
        warnings=layout.warnings,
    )
    return _pdf(content, f"cut-list-{layout.form}.pdf")


@router.get("/stickers.pdf")
def stickers(
    request: Request,
    trial_id: str,
    labels: str = "a4-21",
    gone: Annotated[int, Query(ge=0, le=_MOST_GONE)] = 0,
    blind: bool = False,
) -> Response:
    """Stickers with codes for every piece; with ``blind``, one for its back behind each."""
    _, layout = _laid(request, trial_id)
    content = stickers_pdf(
        stickers_of(layout),
        sheet=label_sheet(labels),
        skip=gone,
        title=f"Stickers for form {layout.form}",
        blind=blind,
    )
    return _pdf(content, f"stickers-{layout.form}.pdf")


def _laid(request: Request, trial_id: str) -> tuple[TrialFacts, RollLayout]:
    """What an address asks to be laid out.

    Raises
    ------
    RefusedInput
        Something is missing or does not fit.
    """
    with desk_of(request).records.look() as look:
        facts = load_facts(look, trial_id)
        uses = uses_of(look, facts)
    choice = choice_sent(request.query_params)
    asked = asked_for(facts, choice)
    for lack in asked.lacks:
        raise RefusedInput(lack.words, todo=lack.todo)
    if asked.candidate is None or asked.form is None:
        raise RefusedInput("no candidate is named yet.", todo="Name them with their rolls or boxes.")
    options = choice.options(facts.studio.units)
    return facts, lay_on_roll(facts, asked.candidate, asked.form, uses=uses, options=options)


def _pdf(content: bytes, name: str) -> Response:
    headers = {"Content-Disposition": disposition(name, shown=True)}
    return Response(content, media_type="application/pdf", headers=headers)
