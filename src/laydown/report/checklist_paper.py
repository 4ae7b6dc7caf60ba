"""The checklist of a sitting on paper: big boxes, cautions, and room for what is read off."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict, dataclass
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from laydown.kernel.version import __version__
from laydown.report.moments import moment_words
from laydown.report.typesetting import typeset
from laydown.report.wording import display_name
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.studio import Paper
from laydown.trials.trial import Candidate
from laydown.usecases.bench.run_steps import candidate_checklist, run_steps

FACE = "Libertinus Serif"
MOST_SHEETS = 24  # as many as have room on the second page


@dataclass(frozen=True, slots=True)
class PaperStep:
    """One step on paper; ``done`` is what the tick says, "" where the box is empty."""

    number: int
    text: str
    expected: str
    caution: str
    note: str
    done: str


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """A sheet to be printed: its code, its use beside the order, and when it was, "" where it was not yet."""

    code: str
    use: str
    printed: str


@dataclass(frozen=True, slots=True)
class PaperChecklist:
    """The list as it is set on paper; every word that stands there. ``head`` is to be filled in by hand."""

    paper: Paper
    title: str
    trial: str
    stated: tuple[tuple[str, str], ...]
    head: tuple[tuple[str, str], ...]
    steps: tuple[PaperStep, ...]
    sheets: tuple[PaperSheet, ...]
    more_sheets: int
    made: str
    version: str
    invented: bool


def checklist_pdf(facts: TrialFacts, candidate: Candidate, *, run: BenchRun | None, now: datetime) -> bytes:
    """The checklist of a candidate, empty or with what is ticked in a sitting, as a PDF.

    Parameters
    ----------
    facts
        The trial.
    candidate
        Whose list it is.
    run
        A sitting; without one the list is that of the plan, and every box is empty.
    now
        When it is made; aware. It stands at the foot, and the same input gives the same bytes.

    Returns
    -------
    bytes
        A4 or US Letter, as the studio has it.
    """
    view = paper_checklist(facts, candidate, run=run, now=now)
    with tempfile.TemporaryDirectory(prefix="laydown-") as made:
        folder = Path(made)
        (folder / "view.json").write_text(json.dumps(asdict(view), ensure_ascii=False), encoding="utf-8")
        template = files("laydown.report").joinpath("checklist_paper.typ").read_text(encoding="utf-8")
        (folder / "checklist.typ").write_text(template, encoding="utf-8")
        return typeset(folder / "checklist.typ", moment=now.replace(microsecond=0))


def paper_checklist(
    facts: TrialFacts, candidate: Candidate, *, run: BenchRun | None, now: datetime
) -> PaperChecklist:
    """What stands on the paper."""
    zone = facts.studio.time_zone
    steps = run_steps(facts, run) if run else candidate_checklist(facts, candidate)
    ticks = {tick.step: tick for tick in run.ticks} if run else {}
    told = []
    for number, step in enumerate(steps, start=1):
        tick = ticks.get(step.id)
        words = ""
        if tick is not None:
            what = f"skipped: {tick.value}" if tick.skipped else tick.value
            words = ", ".join(part for part in (what, tick.by, moment_words(tick.at, time_zone=zone)) if part)
        note = ""
        if step.noted is not None:
            note = f"{step.noted.label}{f', {step.noted.unit}' if step.noted.unit else ''}"
        told.append(PaperStep(number, step.text, step.expected, step.caution, note, words))
    sheets = _sheets(facts, candidate, run)
    return PaperChecklist(
        paper=facts.studio.paper,
        title=display_name(candidate.name),
        trial=display_name(facts.trial.name),
        stated=_stated(facts, candidate, run),
        head=_head(facts, run),
        steps=tuple(told),
        sheets=tuple(
            PaperSheet(one.code, "" if one.use == "test" else one.use, _printed(facts, one))
            for one in sheets[:MOST_SHEETS]
        ),
        more_sheets=max(0, len(sheets) - MOST_SHEETS),
        made=moment_words(now, time_zone=zone),
        version=__version__,
        invented=facts.trial.invented,
    )


def _stated(facts: TrialFacts, candidate: Candidate, run: BenchRun | None) -> tuple[tuple[str, str], ...]:
    lot = next((one.code for one in facts.lots if one.id == candidate.lot_id), "")
    roll_id = (run.roll_id if run else None) or candidate.roll_id
    roll = next((one.code for one in facts.rolls if one.id == roll_id), "")
    printer_id = run.printer_id if run else candidate.printer_id
    printer = next((one.name for one in facts.printers if one.id == printer_id), "")
    told = {
        "Medium": facts.medium_of(candidate).name,
        "Lot": lot,
        "Roll or box": roll,
        "Printer": printer,
        "Coated later": "yes" if candidate.finish == "coated" else "no",
    }
    return tuple((name, display_name(value)) for name, value in told.items())


def _head(facts: TrialFacts, run: BenchRun | None) -> tuple[tuple[str, str], ...]:
    """The room is asked for by its own steps."""
    begun = moment_words(run.begun_at, time_zone=facts.studio.time_zone) if run else ""
    return (("who", run.by if run else ""), ("begun", begun))


def _sheets(facts: TrialFacts, candidate: Candidate, run: BenchRun | None) -> list[Sheet]:
    """The sheets printed in the sitting, and those that wait; in print order, then what stands beside it."""
    over = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    here = [
        one
        for one in facts.sheets_of(candidate.id)
        if one.id not in over or (run is not None and one.run_id == run.id)
    ]
    return sorted(here, key=lambda one: (one.place == 0, one.place, one.code))


def _printed(facts: TrialFacts, sheet: Sheet) -> str:
    event = next(iter(facts.events_of(sheet.id, "printed")), None)
    return moment_words(event.at, time_zone=facts.studio.time_zone) if event else ""
