"""What the page shows on which a sitting begins otherwise than planned: printer, roll, an earlier time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.web.views.roll_choices import Choice, RollChoices, roll_choices
from laydown.web.views.stock_words import stock_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class BeginView:
    """The form. ``open_run`` is a sitting of this candidate to go on with, ``open_at`` others by printer."""

    frame: TrialFrame
    trial_id: str
    candidate: str
    candidate_id: str
    stock: str
    printers: tuple[Choice, ...]
    printer_id: str
    rolls: RollChoices
    roll_id: str
    open_run: str
    open_at: tuple[str, ...]
    typed: Mapping[str, str]
    problem: str


def begin_view(
    look: Look,
    facts: TrialFacts,
    candidate: Candidate,
    *,
    now: datetime,
    find: str = "",
    typed: Mapping[str, str] | None = None,
    problem: str = "",
) -> BeginView:
    """The form for a candidate; ``typed`` is what a refused form held."""
    told = typed or {}
    printers = look.find(Printer, order=("name", "id"))
    names = {one.id: one.name for one in printers}
    printer_id = told.get("printer") or candidate.printer_id or ""
    roll_id = told.get("roll") or candidate.roll_id or ""
    running = [run for run in facts.runs if run.ended_at is None]
    return BeginView(
        frame=trial_frame(facts, now=now, here="print"),
        trial_id=facts.trial.id,
        candidate=candidate.name,
        candidate_id=candidate.id,
        stock=stock_words(facts, candidate),
        printers=tuple(Choice(one.id, one.name) for one in printers),
        printer_id=printer_id,
        rolls=roll_choices(look, candidate, facts, keep=roll_id, printer_id=printer_id, find=find),
        roll_id=roll_id,
        open_run=next((run.id for run in running if run.candidate_id == candidate.id), ""),
        open_at=tuple(
            f"{facts.candidate(run.candidate_id).name} at {names.get(run.printer_id, 'another printer')}"
            for run in running
            if run.candidate_id != candidate.id
        ),
        typed=told,
        problem=problem,
    )
