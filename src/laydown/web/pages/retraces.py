"""Retracing a bad print: what is seen, what it points to, what to check next, what helped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, cast

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.science.faults import Mark
from laydown.trials.retracing import Answer, Retrace
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.answer_check import answer_check
from laydown.usecases.retracing.begin_retrace import begin_retrace
from laydown.usecases.retracing.close_retrace import close_retrace, reopen_retrace
from laydown.usecases.retracing.mark_symptoms import mark_symptoms
from laydown.usecases.retracing.note_fix import note_fix_tried
from laydown.usecases.retracing.own_faults import faults_in_use
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.retrace import retrace_view
from laydown.web.views.retrace_symptoms import Asked, symptoms_view
from laydown.web.views.retraces import retrace_list_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
_HELPED = {"yes": True, "no": False, "not known yet": None}


@router.get("/retraces")
def list_retraces(
    request: Request, number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1
) -> HTMLResponse:
    """Every bad print that was retraced, open ones first."""
    with desk_of(request).records.look() as look:
        view = retrace_list_view(look, number=number)
    return page(request, "retraces.html", view)


@router.get("/retraces/new")
def ask_new(request: Request, sheet: str = "", find: str = "", family: str = "") -> HTMLResponse:
    """Mark what is seen on a print; ``sheet`` says which one it is."""
    with desk_of(request).records.look() as look:
        if sheet:
            look.get(Sheet, sheet)
        view = symptoms_view(look, Asked(marks={}, sheet_id=sheet, find=find, family=family))
    return page(request, "retrace_symptoms.html", view)


@router.post("/retraces/new", response_model=None)
def begin(request: Request, form: Annotated[Form, Depends(posted)]) -> Response:
    """Begin a retrace; or show other symptoms, with nothing lost of what was marked."""
    records = desk_of(request).records
    with records.look() as look:
        marks = _marks(look, form)
    asked = _asked(form, marks)
    if form.text("do") == "show":
        return _symptoms(request, asked)
    try:
        acted = begin_retrace(
            records,
            marks,
            who=person_of(request).name,
            title=asked.title,
            sheet_id=asked.sheet_id or None,
            words=asked.words,
        )
    except LaydownError as error:
        return _symptoms(request, asked, problem=str(error))
    return done(f"/retraces/{acted.thing.id}", acted.entry_id)


@router.get("/retraces/{retrace_id}")
def show(request: Request, retrace_id: str) -> HTMLResponse:
    """One retrace: likely causes, the next cheapest check, what to do."""
    return _show(request, retrace_id)


@router.get("/retraces/{retrace_id}/symptoms")
def ask_symptoms(request: Request, retrace_id: str, find: str = "", family: str = "") -> HTMLResponse:
    """Change what is marked."""
    with desk_of(request).records.look() as look:
        retrace = look.get(Retrace, retrace_id)
        marks: dict[str, Mark] = {one.symptom: one.seen for one in retrace.symptoms}
        asked = Asked(marks=marks, title=retrace.title, find=find, family=family)
        view = symptoms_view(look, asked, retrace_id=retrace_id, seen=look.revision(Retrace, retrace_id))
    return page(request, "retrace_symptoms.html", view)


@router.post("/retraces/{retrace_id}/symptoms", response_model=None)
def mark(request: Request, retrace_id: str, form: Annotated[Form, Depends(posted)]) -> Response:
    """Keep what is marked; or show other symptoms."""
    records = desk_of(request).records
    seen = form.whole("seen", "the page's number", low=0, high=10**12) or 0
    with records.look() as look:
        marks = _marks(look, form)
        asked = _asked(form, marks, title=look.get(Retrace, retrace_id).title)
    if form.text("do") == "show":
        return _symptoms(request, asked, retrace_id=retrace_id, seen=seen)
    try:
        acted = mark_symptoms(records, retrace_id, marks, who=person_of(request).name, seen=seen)
    except LaydownError as error:
        return _symptoms(request, asked, retrace_id=retrace_id, seen=seen, problem=str(error))
    return done(f"/retraces/{retrace_id}", acted.entry_id)


@router.post("/retraces/{retrace_id}/checks/{check_id}", response_model=None)
def answer(
    request: Request, retrace_id: str, check_id: str, form: Annotated[Form, Depends(posted)]
) -> Response:
    """Answer a check with one tap."""

    def act(records: Records, who: str) -> Acted[Retrace]:
        given = cast(Answer, form.choice("answer", ("yes", "no", "unsure"), "the answer"))
        return answer_check(records, retrace_id, check_id, given, who=who, words=form.text("words"))

    return _act(request, retrace_id, act, at="next")


@router.post("/retraces/{retrace_id}/tried", response_model=None)
def tried(request: Request, retrace_id: str, form: Annotated[Form, Depends(posted)]) -> Response:
    """Note what was tried, and whether it helped."""

    def act(records: Records, who: str) -> Acted[Retrace]:
        helped = _HELPED[form.choice("helped", tuple(_HELPED), "whether it helped")]
        cause, words = form.text("cause"), form.text("words")
        return note_fix_tried(records, retrace_id, cause, words, helped=helped, who=who)

    return _act(request, retrace_id, act, at="tried")


@router.post("/retraces/{retrace_id}/close", response_model=None)
def close(request: Request, retrace_id: str, form: Annotated[Form, Depends(posted)]) -> Response:
    """Close it as solved or as still wrong."""

    def act(records: Records, who: str) -> Acted[Retrace]:
        outcome: Any = form.choice("outcome", ("solved", "still wrong"), "how it ended")
        return close_retrace(records, retrace_id, outcome, who=who, words=form.text("words"))

    return _act(request, retrace_id, act)


@router.post("/retraces/{retrace_id}/reopen", response_model=None, dependencies=[Depends(posted)])
def reopen(request: Request, retrace_id: str) -> Response:
    """Go on with a closed retrace."""
    return _act(request, retrace_id, lambda records, who: reopen_retrace(records, retrace_id, who=who))


def _marks(look: Look, form: Form) -> dict[str, Mark]:
    marks: dict[str, Mark] = {}
    for symptom in faults_in_use(look).model.symptoms:
        given = form.text(f"s-{symptom}")
        if given in ("present", "absent"):
            marks[symptom] = cast(Mark, given)
    return marks


def _asked(form: Form, marks: dict[str, Mark], *, title: str = "") -> Asked:
    return Asked(
        marks=marks,
        find=form.text("find"),
        family=form.text("family"),
        title=title or form.text("title"),
        words=form.text("words"),
        sheet_id=form.text("sheet"),
    )


def _symptoms(
    request: Request, asked: Asked, *, retrace_id: str = "", seen: int = 0, problem: str = ""
) -> HTMLResponse:
    with desk_of(request).records.look() as look:
        view = symptoms_view(look, asked, retrace_id=retrace_id, seen=seen, problem=problem)
    return page(request, "retrace_symptoms.html", view, status=422 if problem else 200)


def _act(
    request: Request,
    retrace_id: str,
    act: Callable[[Records, str], Acted[Retrace]],
    *,
    at: str = "",
) -> Response:
    """Do it and go back to the page; a refusal is shown there."""
    try:
        acted = act(desk_of(request).records, person_of(request).name)
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, retrace_id, problem=str(error))
    return done(f"/retraces/{retrace_id}", acted.entry_id, at=at)


def _show(request: Request, retrace_id: str, *, problem: str = "") -> HTMLResponse:
    with desk_of(request).records.look() as look:
        view = retrace_view(look, look.get(Retrace, retrace_id), problem=problem)
    return page(request, "retrace.html", view, status=422 if problem else 200)
