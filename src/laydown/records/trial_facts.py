"""Loads everything that belongs to a trial, for one or for many trials at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from laydown.kernel.errors import UnknownRecord
from laydown.records.look import Look
from laydown.records.work import Work
from laydown.trials.contradictions import CLOCK_LEEWAY, contradictions
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial

STUDIO_ID = "studio"
_OF_TRIAL = (
    Trial, Brief, BriefChange, Plan, TestForm, Candidate, Sheet, SheetEvent, BenchRun, Reading, GlossReading
)  # fmt: skip
_WEIGHED = frozenset(noun.__name__ for noun in (Studio, *_OF_TRIAL))  # notes and pictures contradict nothing


class _OfTrial(Protocol):
    """Anything that belongs to a trial."""

    @property
    def trial_id(self) -> str:
        """The trial it belongs to."""
        ...


Belonging = TypeVar("Belonging", bound=_OfTrial)
Identified = TypeVar("Identified", Medium, Lot, Roll, Printer)


def load_facts(look: Look, trial_id: str) -> TrialFacts:
    """Everything about one trial.

    Raises
    ------
    UnknownRecord
        There is no such trial.
    """
    found = load_many_facts(look, [trial_id])
    if not found:
        raise UnknownRecord("there is no such trial.", todo="See the list of trials.")
    return found[0]


def load_many_facts(look: Look, trial_ids: Sequence[str]) -> tuple[TrialFacts, ...]:
    """Everything about several trials, in the order asked for, with a fixed number of queries."""
    trials = {trial.id: trial for trial in look.find_any(Trial, "id", trial_ids)}
    ids = [one for one in trial_ids if one in trials]
    studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    briefs = _by_trial(look.find_any(Brief, "trial_id", ids))
    changes = _by_trial(look.find_any(BriefChange, "trial_id", ids, order=("at", "id")))
    plans = _by_trial(look.find_any(Plan, "trial_id", ids))
    forms = _by_trial(look.find_any(TestForm, "trial_id", ids, order=("made_at", "id")))
    candidates = _by_trial(look.find_any(Candidate, "trial_id", ids, order=("position", "id")))
    sheets = _by_trial(look.find_any(Sheet, "trial_id", ids, order=("place", "code", "id")))
    events = _by_trial(look.find_any(SheetEvent, "trial_id", ids, order=("at", "id")))
    runs = _by_trial(look.find_any(BenchRun, "trial_id", ids, order=("begun_at", "id")))
    readings = _by_trial(look.find_any(Reading, "trial_id", ids, order=("received_at", "id")))
    gloss = _by_trial(look.find_any(GlossReading, "trial_id", ids, order=("received_at", "id")))
    every = [one for group in candidates.values() for one in group]
    ran = [one for group in runs.values() for one in group]
    media = look.find_any(Medium, "id", {one.medium_id for one in every})
    lots = look.find_any(Lot, "id", {one.lot_id for one in every if one.lot_id})
    on_sheets = [one for group in sheets.values() for one in group]
    rolls = look.find_any(Roll, "id", _rolls_of(every, ran, on_sheets))
    printers = look.find_any(Printer, "id", _printers_of(every, ran))
    return tuple(
        TrialFacts(
            studio=studio,
            trial=trials[one],
            brief=next(iter(briefs[one]), None),
            brief_changes=tuple(changes[one]),
            plan=next(iter(plans[one]), None),
            forms=tuple(forms[one]),
            candidates=tuple(candidates[one]),
            sheets=tuple(sheets[one]),
            events=tuple(events[one]),
            runs=tuple(runs[one]),
            readings=tuple(readings[one]),
            gloss=tuple(gloss[one]),
            media=_used(media, {c.medium_id for c in candidates[one]}),
            lots=_used(lots, {c.lot_id for c in candidates[one]}),
            rolls=_used(rolls, _rolls_of(candidates[one], runs[one], sheets[one])),
            printers=_used(printers, _printers_of(candidates[one], runs[one])),
        )
        for one in ids
    )


def contradictions_of(work: Work, trial_id: str) -> Sequence[str]:
    """What contradicts itself in a trial, as sentences; asked before every commit."""
    if all(change.noun not in _WEIGHED for change in work.act.changes):
        return ()
    found = load_many_facts(work, [trial_id])
    return contradictions(found[0], now=work.now if _tells_of_the_future(work) else None) if found else ()


def _tells_of_the_future(work: Work) -> bool:
    """Whether this work itself says that something happens later.

    What was kept while a clock was ahead must not refuse every act until then, its own correction first.
    """
    latest = work.now + timedelta(hours=CLOCK_LEEWAY.value)
    told = (one.after["at"] for one in work.act.changes if one.noun == "SheetEvent" and one.after)
    return any(datetime.fromisoformat(at) > latest for at in told)


def _by_trial(things: Iterable[Belonging]) -> dict[str, list[Belonging]]:
    grouped: dict[str, list[Belonging]] = defaultdict(list)
    for thing in things:
        grouped[thing.trial_id].append(thing)
    return grouped


def _used(things: Sequence[Identified], wanted: Iterable[str | None]) -> tuple[Identified, ...]:
    ids = set(wanted)
    return tuple(thing for thing in things if thing.id in ids)


def _rolls_of(candidates: Iterable[Candidate], runs: Iterable[BenchRun], sheets: Iterable[Sheet]) -> set[str]:
    named = {
        *(one.roll_id for one in candidates),
        *(one.roll_id for one in runs),
        *(one.roll_id for one in sheets),
    }
    return {one for one in named if one}


def _printers_of(candidates: Iterable[Candidate], runs: Iterable[BenchRun]) -> set[str]:
    return {one.printer_id for one in candidates if one.printer_id} | {one.printer_id for one in runs}
