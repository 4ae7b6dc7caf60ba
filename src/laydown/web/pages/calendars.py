"""Calendars to take along: of a trial with its clocks, and of every clock on the board."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from laydown.records.trial_facts import load_facts
from laydown.report.board_calendar import board_calendar
from laydown.report.calendar_file import MEDIA_TYPE, calendar_file
from laydown.trials.calendar import trial_calendar
from laydown.usecases.bench.board import running_facts
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.views.plan_calendar import studio_hours

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/trials/{trial_id}/calendar.ics")
def of_trial(request: Request, trial_id: str) -> Response:
    """What is planned for a trial, and its running clocks."""
    records = desk_of(request).records
    now = records.now()
    with records.look() as look:
        facts = load_facts(look, trial_id)
    told = trial_calendar(facts, now=now, hours=studio_hours(facts.studio, now=now))
    content = calendar_file(facts, told, made_at=now)
    return _file(content, f"laydown-{facts.trial.id}.ics")


@router.get("/board.ics")
def of_board(request: Request) -> Response:
    """Every clock of every running trial."""
    records = desk_of(request).records
    now = records.now()
    with records.look() as look:
        content = board_calendar(running_facts(look, now=now), made_at=now)
    return _file(content, "laydown-board.ics")


def _file(content: bytes, name: str) -> Response:
    return Response(
        content, media_type=MEDIA_TYPE, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
