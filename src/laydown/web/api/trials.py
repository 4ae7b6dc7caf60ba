"""Trials: begun, looked at, briefed, planned, put away; and searching."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Body, Depends, Query, Request

from laydown.kernel.errors import BadSetting
from laydown.records.search_query import Found
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.route import Route, route_of
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial
from laydown.usecases.acted import Acted
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.change_brief import change_brief
from laydown.usecases.trial.close_trial import close_trial, reopen_trial
from laydown.usecases.trial.draw_sheets import draw_sheets
from laydown.usecases.trial.name_candidate import alter_candidate, name_candidate, name_coated_arm
from laydown.usecases.trial.remove_trial import bring_back_trial, remove_trial
from laydown.usecases.trial.rename_trial import rename_trial
from laydown.usecases.trial.seal_brief import seal_brief
from laydown.usecases.trial.search import search
from laydown.usecases.trial.set_recipe import set_recipe
from laydown.usecases.trial.withdraw_candidate import withdraw_candidate
from laydown.usecases.trial.write_brief import write_brief
from laydown.usecases.trial.write_plan import write_plan
from laydown.web.api.answers import Listed
from laydown.web.api.changing import Id, Limit, Page, Seen
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["trials"])
OWNER = [Depends(allow())]
BENCH = [Depends(allow("bench"))]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewTrial:
    """What a trial is begun with."""

    name: str
    question: str = ""
    client: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why."""

    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefChanged:
    """A sealed brief as it shall be from now on, and why."""

    brief: Brief
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewArm:
    """The coated arm of a candidate."""

    coat: Coat = field(default_factory=Coat)


@router.get("/trials", dependencies=BENCH)
def trials(request: Request, page: Page = 1, limit: Limit = 25) -> Listed[Trial]:
    """Every trial, the newest first; those in the trash have ``removed_at``."""
    with desk_of(request).records.look() as look:
        found = look.find(Trial, order=("-begun", "id"), limit=limit + 1, offset=(page - 1) * limit)
    return Listed(found[:limit], page, len(found) > limit)


@router.post("/trials", dependencies=OWNER, status_code=201)
def begin(request: Request, new: Annotated[NewTrial, Body()]) -> Acted[Trial]:
    """Begin a trial."""
    desk, who = desk_of(request), person_of(request).name
    return begin_trial(desk.records, new.name, who=who, question=new.question, client=new.client)


@router.get("/trials/{trial_id}", dependencies=BENCH)
def trial(request: Request, trial_id: Id) -> TrialFacts:
    """Everything about one trial; prices are shown to the owner alone."""
    with desk_of(request).records.look() as look:
        facts = load_facts(look, trial_id)
    if person_of(request).role == "owner":
        return facts
    return replace(facts, rolls=tuple(replace(roll, price=None, currency="") for roll in facts.rolls))


@router.get("/trials/{trial_id}/route", dependencies=BENCH)
def route(request: Request, trial_id: Id) -> Route:
    """Where the trial stands at every station."""
    records = desk_of(request).records
    with records.look() as look:
        return route_of(load_facts(look, trial_id), now=records.now())


@router.put("/trials/{trial_id}/name", dependencies=OWNER)
def rename(
    request: Request, trial_id: Id, new: Annotated[NewTrial, Body()], seen: Seen = None
) -> Acted[Trial]:
    """Give a trial another name, question or client."""
    return rename_trial(
        desk_of(request).records,
        trial_id,
        who=person_of(request).name,
        name=new.name,
        question=new.question,
        client=new.client,
        seen=seen,
    )


@router.post("/trials/{trial_id}/{act}", dependencies=OWNER)
def put_away(
    request: Request, trial_id: Id, act: Literal["remove", "bring-back", "close", "reopen"]
) -> Acted[Trial]:
    """Put a trial into the trash, bring it back, close it or open it again."""
    acts = {
        "remove": remove_trial,
        "bring-back": bring_back_trial,
        "close": close_trial,
        "reopen": reopen_trial,
    }
    return acts[act](desk_of(request).records, trial_id, who=person_of(request).name)


@router.put("/trials/{trial_id}/brief", dependencies=OWNER)
def brief(request: Request, trial_id: Id, brief: Annotated[Brief, Body()], seen: Seen = None) -> Acted[Brief]:
    """Write the brief, until it is sealed."""
    _same(brief.trial_id, trial_id)
    return write_brief(desk_of(request).records, brief, who=person_of(request).name, seen=seen)


@router.post("/trials/{trial_id}/brief/seal", dependencies=OWNER)
def seal(request: Request, trial_id: Id, seen: Seen = None) -> Acted[Brief]:
    """Seal the brief. This cannot be undone; later changes are dated and shown in every report."""
    return seal_brief(desk_of(request).records, trial_id, who=person_of(request).name, seen=seen)


@router.post("/trials/{trial_id}/brief/changes", dependencies=OWNER)
def change(
    request: Request, trial_id: Id, told: Annotated[BriefChanged, Body()], seen: Seen = None
) -> Acted[tuple[BriefChange, ...]]:
    """Change a sealed brief; each field that differs becomes a dated change."""
    _same(told.brief.trial_id, trial_id)
    records, who = desk_of(request).records, person_of(request).name
    return change_brief(records, told.brief, why=told.why, who=who, seen=seen)


@router.put("/trials/{trial_id}/candidates/{candidate_id}", dependencies=OWNER)
def candidate(
    request: Request,
    trial_id: Id,
    candidate_id: Id,
    candidate: Annotated[Candidate, Body()],
    seen: Seen = None,
) -> Acted[Candidate]:
    """Name a candidate, or alter one."""
    _same(candidate.trial_id, trial_id)
    _same(candidate.id, candidate_id)
    records, who = desk_of(request).records, person_of(request).name
    with records.look() as look:
        known = look.seek(Candidate, candidate_id) is not None
    if known:
        return alter_candidate(records, candidate, who=who, seen=seen)
    return name_candidate(records, candidate, who=who)


@router.post("/candidates/{candidate_id}/coated-arm", dependencies=OWNER)
def coated_arm(request: Request, candidate_id: Id, arm: Annotated[NewArm, Body()]) -> Acted[Candidate]:
    """Add the coated arm of a candidate."""
    records, who = desk_of(request).records, person_of(request).name
    return name_coated_arm(records, candidate_id, coat=arm.coat, who=who)


@router.post("/candidates/{candidate_id}/withdraw", dependencies=OWNER)
def withdraw(
    request: Request, candidate_id: Id, reason: Annotated[Reason, Body()], seen: Seen = None
) -> Acted[Candidate]:
    """Withdraw a candidate; what was printed of it stays."""
    records, who = desk_of(request).records, person_of(request).name
    return withdraw_candidate(records, candidate_id, why=reason.why, who=who, seen=seen)


@router.put("/candidates/{candidate_id}/recipe", dependencies=OWNER)
def recipe(
    request: Request, candidate_id: Id, recipe: Annotated[Recipe, Body()], seen: Seen = None
) -> Acted[Candidate]:
    """Say how a candidate is to be printed."""
    return set_recipe(desk_of(request).records, candidate_id, recipe, who=person_of(request).name, seen=seen)


@router.put("/trials/{trial_id}/plan", dependencies=OWNER)
def plan(request: Request, trial_id: Id, plan: Annotated[Plan, Body()], seen: Seen = None) -> Acted[Plan]:
    """Say how many sheets, on how many days, and why."""
    _same(plan.trial_id, trial_id)
    return write_plan(desk_of(request).records, plan, who=person_of(request).name, seen=seen)


@router.post("/trials/{trial_id}/sheets/draw", dependencies=OWNER)
def draw(request: Request, trial_id: Id) -> Acted[tuple[Sheet, ...]]:
    """Draw the print order as planned; the sheets are made."""
    return draw_sheets(desk_of(request).records, trial_id, who=person_of(request).name)


@router.get("/search", dependencies=BENCH)
def find(request: Request, q: Annotated[str, Query(max_length=200)]) -> tuple[Found, ...]:
    """Look for words everywhere you may look; some of each kind."""
    finds = search(desk_of(request).records, q, role=person_of(request).role)
    return tuple(one for group in finds.groups for one in group.found)


def _same(told: str, address: str) -> None:
    if told != address:
        raise BadSetting("the id in the address and in the thing differ.", todo="Make them the same.")
