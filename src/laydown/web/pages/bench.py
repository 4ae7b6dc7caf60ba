"""At the printer: the checklist of a sitting, its sheets, and how it was really set."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from laydown.kernel.errors import BadSetting, LaydownError, UnknownRecord
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.report.checklist_paper import checklist_pdf
from laydown.report.lengths import parse_length
from laydown.trials.checklist import Step
from laydown.trials.contradictions import CLOCK_LEEWAY
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import BenchRun
from laydown.usecases.bench.begin_run import end_run, set_run
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.run_steps import run_steps
from laydown.usecases.bench.tick_step import tick_step, untick_step
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.print_station import candidate_of
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.room_climate import parse_warmth, room_of
from laydown.web.views.candidate import recipe_sources
from laydown.web.views.recipe_form import recipe_texts, told_recipe, typed_recipe
from laydown.web.views.run import run_view, step_lines
from laydown.web.views.run_recipe import run_recipe_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]


@router.get("/bench/{run_id}.pdf")
def run_on_paper(request: Request, run_id: str) -> Response:
    """The checklist of a sitting on paper, with what is ticked already."""
    records = desk_of(request).records
    with records.look() as look:
        facts, run = _facts_of(look, run_id)
    return _pdf(checklist_pdf(facts, facts.candidate(run.candidate_id), run=run, now=records.now()))


@router.get("/trials/{trial_id}/candidates/{candidate_id}/checklist.pdf")
def checklist_on_paper(request: Request, trial_id: str, candidate_id: str) -> Response:
    """The checklist of a candidate on paper, before a sitting is begun."""
    records = desk_of(request).records
    with records.look() as look:
        candidate = candidate_of(look, trial_id, candidate_id)
        facts = load_facts(look, trial_id)
    return _pdf(checklist_pdf(facts, candidate, run=None, now=records.now()))


@router.get("/bench/{run_id}")
def show_run(request: Request, run_id: str, find: str = "") -> HTMLResponse:
    """The next step, the sheets, then how it was really set; ``find`` looks for the roll that is loaded."""
    return _show(request, run_id, find=find)


@router.post("/bench/{run_id}/tick")
def tick(request: Request, run_id: str, form: Posted) -> Response:
    """A step was done, or skipped with a reason."""
    records = desk_of(request).records
    step_id, why = form.must("step", "the step"), form.text("why")
    try:
        if form.text("what") == "skip" and not why:
            raise BadSetting("why is it skipped?", todo="Say it in a few words.")
        with records.look() as look:
            facts, run = _facts_of(look, run_id)
        acted = tick_step(
            records,
            run_id,
            step_id,
            who=person_of(request).name,
            value="" if form.text("what") == "skip" else _value(facts, run, step_id, form.text("value")),
            skipped_why=why if form.text("what") == "skip" else "",
            at=_sent_at(form, "at"),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        if _for_script(request):
            raise
        typed = {"value": form.text("value"), "why": why}
        return _show(request, run_id, problem=str(error), at=step_id, typed=typed)
    return _ticked(request, acted.thing, step_id, acted.entry_id)


@router.post("/bench/{run_id}/untick")
def untick(request: Request, run_id: str, form: Posted) -> Response:
    """A tick is taken back."""
    step_id = form.must("step", "the step")
    acted = untick_step(
        desk_of(request).records,
        run_id,
        step_id,
        who=person_of(request).name,
        ticked_at=_sent_at(form, "ticked_at"),
    )
    return _ticked(request, acted.thing, step_id, acted.entry_id, stay=True)


@router.post("/bench/{run_id}/sheets/{sheet_id}/printed")
def printed(request: Request, run_id: str, sheet_id: str, form: Posted) -> Response:
    """A sheet was printed in this sitting."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            facts, run = _facts_of(look, run_id)
        acted = print_sheet(
            records,
            sheet_id,
            run_id=run_id,
            who=person_of(request).name,
            at=_typed_at(form, facts, run) or _believed(_sent_at(form, "at"), run, now=records.now()),
            used_mm=form.length("used", "the length used", studio=facts.studio),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        if _for_script(request):
            raise
        typed = form.texts(("when", "used"))
        return _show(request, run_id, problem=str(error), at=sheet_id, typed=typed)
    if _for_script(request):
        return JSONResponse({"sheet": sheet_id, "state": "printed", "at": acted.thing.at.isoformat()})
    return done(f"/bench/{run_id}", acted.entry_id, at="sheets")


@router.post("/bench/{run_id}/set")
def set_down(request: Request, run_id: str, form: Posted) -> Response:
    """The room, the roll and remarks of a sitting."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            facts, _ = _facts_of(look, run_id)
        warmth, humidity = room_of(form, facts.studio)
        acted = set_run(
            records,
            run_id,
            who=person_of(request).name,
            roll_id=form.text("roll") or None,
            room_c=warmth,
            room_rh=humidity,
            words=form.text("words"),
            seen=form.whole("seen", "the page's number", low=0, high=10**12),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, run_id, problem=str(error), at="room")
    return done(f"/bench/{run_id}", acted.entry_id, at="room")


@router.get("/bench/{run_id}/recipe")
def recipe_form(request: Request, run_id: str, source: str = "") -> HTMLResponse:
    """How it was really set: the form, filled from the sitting or from an earlier recipe."""
    return _recipe(request, run_id, source=source)


@router.post("/bench/{run_id}/recipe")
def set_recipe(request: Request, run_id: str, form: Posted) -> Response:
    """Keep how it was really set."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            run = look.get(BenchRun, run_id)
        acted = set_run(
            records,
            run_id,
            who=person_of(request).name,
            recipe=told_recipe(form, run.recipe),
            seen=form.whole("seen", "the page's number", low=0, high=10**12),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _recipe(request, run_id, typed=typed_recipe(form), problem=str(error))
    return done(f"/bench/{run_id}", acted.entry_id, at="as-set")


@router.post("/bench/{run_id}/end")
def end(request: Request, run_id: str, form: Posted) -> Response:
    """End the sitting; where steps are open, once it was asked whether it is to end all the same."""
    records = desk_of(request).records
    with records.look() as look:
        facts, _ = _facts_of(look, run_id)
    try:
        acted = end_run(
            records,
            run_id,
            who=person_of(request).name,
            at=form.moment("when", "when it ended", studio=facts.studio),
            all_the_same=form.flag("all_the_same"),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, run_id, problem=str(error), at="end")
    return done(f"/trials/{facts.trial.id}/print", acted.entry_id)


def _facts_of(look: Look, run_id: str) -> tuple[TrialFacts, BenchRun]:
    run = look.get(BenchRun, run_id)
    return load_facts(look, run.trial_id), run


def _value(facts: TrialFacts, run: BenchRun, step_id: str, typed: str) -> str:
    """What was typed at a step, in the units that are kept."""
    step = _step(facts, run, step_id)
    field = step.noted.field if step and step.noted else ""
    if field == "room_c":
        celsius = parse_warmth(typed, units=facts.studio.units)
        return "" if celsius is None else f"{celsius:.1f}"
    if field == "used_mm":
        length = parse_length(typed, units=facts.studio.units, what="the length used") if typed else None
        return "" if length is None else f"{length:g}"
    return typed


def _step(facts: TrialFacts, run: BenchRun, step_id: str) -> Step | None:
    return next((step for step in run_steps(facts, run) if step.id == step_id), None)


def _sent_at(form: Form, name: str) -> datetime | None:
    """A moment a script sent; what is no such moment counts as not sent."""
    try:
        moment = datetime.fromisoformat(form.text(name))
    except ValueError:
        return None
    return moment if moment.tzinfo else None


def _typed_at(form: Form, facts: TrialFacts, run: BenchRun) -> datetime | None:
    """A time of printing somebody typed; in whole minutes, so that the minute of the beginning is within."""
    at = form.moment("when", "when it was printed", studio=facts.studio)
    begun = run.begun_at
    return begun if at is not None and at == begun.replace(second=0, microsecond=0) else at


def _believed(at: datetime | None, run: BenchRun, *, now: datetime) -> datetime | None:
    """A tablet's time of a print, not before the sitting; None where its clock is far off."""
    leeway = timedelta(hours=CLOCK_LEEWAY.value)
    if at is None or at > now + leeway or at < run.begun_at - leeway:
        return None
    return max(at, run.begun_at)


def _for_script(request: Request) -> bool:
    return "text/html" not in request.headers.get("accept", "")


def _ticked(request: Request, run: BenchRun, step_id: str, entry_id: str, *, stay: bool = False) -> Response:
    """To a script the step as it is now; else the page, at the next open step."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, run.trial_id)
    lines = step_lines(facts, run, now=records.now())
    if not _for_script(request):
        following = step_id if stay else next((one.id for one in lines if one.is_next), "sheets")
        return done(
            f"/bench/{run.id}", entry_id, at=f"step-{following}" if following != "sheets" else following
        )
    line = next(one for one in lines if one.id == step_id)
    return JSONResponse(
        {
            "step": step_id,
            "state": line.state,
            "said": line.said,
            "ticked_at": line.ticked_at,
            "done": sum(one.state != "open" for one in lines),
        }
    )


def _show(
    request: Request,
    run_id: str,
    *,
    problem: str = "",
    at: str = "",
    typed: Mapping[str, str] | None = None,
    find: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts, run = _facts_of(look, run_id)
        view = run_view(look, facts, run, now=records.now(), problem=problem, at=at, typed=typed, find=find)
    return page(request, "run.html", view, status=422 if problem else 200)


def _recipe(
    request: Request,
    run_id: str,
    *,
    source: str = "",
    typed: Mapping[str, str] | None = None,
    problem: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts, run = _facts_of(look, run_id)
        candidate = facts.candidate(run.candidate_id)
        sources = recipe_sources(look, candidate, time_zone=facts.studio.time_zone)
        taken = next((one for one in sources if one.value == source), None)
        view = run_recipe_view(
            facts,
            run,
            texts=typed or recipe_texts(taken.recipe if taken else run.recipe),
            sources=[one for one in sources if one.value != f"r:{run.id}"],
            taken=taken,
            now=records.now(),
            seen=look.revision(BenchRun, run.id),
            problem=problem,
        )
    return page(request, "run_recipe.html", view, status=422 if problem else 200)


def _pdf(content: bytes) -> Response:
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="checklist.pdf"'},
    )
