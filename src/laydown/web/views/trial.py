"""One trial at a glance: the next step, every station, candidates, sheets, notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import day_words, moment_short, moment_words
from laydown.trials.clocks import SheetClocks, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.recipes import setting_words
from laydown.trials.remarks import Note
from laydown.trials.route import Route, is_usable, route_of
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate, Trial
from laydown.web.views.notes import NotesView, notes_view
from laydown.web.views.test_form import FormLine, form_lines
from laydown.web.views.trial_frame import TrialFrame, trial_frame

SHEETS_SHOWN = 50
# What a recipe comes down to at a glance; the rest stands on the candidate's own page.
_SHORT = {
    "media_setting": "{}",
    "quality": "{} quality",
    "direction": "{}",
    "black_ink": "{}",
    "head_gap": "head gap {}",
}
_STAGES = {
    "planned": "not printed yet",
    "curing": "curing until {ready}",
    "cured": "cured",
    "drying": "coat drying until {ready}",
    "dry": "coated and dry",
    "spoiled": "spoiled",
}


@dataclass(frozen=True, slots=True)
class NextStep:
    """The thing to do now; ``done`` where nothing is left to do at the stations that are there."""

    label: str
    words: str
    told: str
    href: str
    done: bool


@dataclass(frozen=True, slots=True)
class CandidateCard:
    """One candidate in short."""

    id: str
    href: str
    name: str
    house: bool
    finish: str
    medium: str
    medium_href: str
    stock: str
    recipe: str
    profile: str
    withdrawn: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One sheet: whose it is, when its turn was, where it stands, whether it was read."""

    id: str
    code: str
    href: str
    candidate: str
    turn: str
    use: str
    stage: str
    readings: str


@dataclass(frozen=True, slots=True)
class TrialView:
    """The trial's first page. ``sheets`` is one page of ``sheet_count``."""

    frame: TrialFrame
    trial_id: str
    revision: int
    question: str
    begun: str
    chart: str
    state: str
    state_since: str
    next: NextStep
    forms: tuple[FormLine, ...]
    candidates: tuple[CandidateCard, ...]
    sheets: tuple[SheetRow, ...]
    sheet_count: int
    number: int
    more: bool
    notes: NotesView


@dataclass(frozen=True, slots=True)
class TrialFormView:
    """The form of a new trial, or of an old one's name, question and client; ``typed`` is what it holds."""

    title: str
    action: str
    back: str
    name: str
    question: str
    client: str
    sealed: bool
    seen: str
    refusal: str = ""


def trial_view(look: Look, facts: TrialFacts, *, now: datetime, number: int) -> TrialView:
    """The trial's first page, with the ``number``-th page of its sheets."""
    trial, zone = facts.trial, facts.studio.time_zone
    route = route_of(facts, now=now)
    first = (number - 1) * SHEETS_SHOWN
    in_turn = sorted(facts.sheets, key=lambda sheet: (not sheet.place, sheet.place, sheet.code))
    shown = in_turn[first : first + SHEETS_SHOWN]
    since = trial.removed_at or trial.closed_at
    notes: dict[str, list[str]] = {one.id: [] for one in facts.candidates}
    for note in look.find_any(Note, "about", notes, order=("at", "id")):
        notes[note.about].append(note.words)
    return TrialView(
        frame=trial_frame(facts, now=now, route=route),
        trial_id=trial.id,
        revision=look.revision(Trial, trial.id),
        question=trial.question,
        begun=day_words(trial.begun),
        chart=trial.chart_name,
        state="in the trash" if trial.removed_at else "closed" if trial.closed_at else "running",
        state_since=moment_words(since, time_zone=zone) if since else "",
        next=_next(facts, route),
        forms=form_lines(facts),
        candidates=tuple(_card(facts, one, notes[one.id]) for one in facts.candidates),
        sheets=tuple(_row(facts, sheet, now=now) for sheet in shown),
        sheet_count=len(facts.sheets),
        number=number,
        more=first + SHEETS_SHOWN < len(facts.sheets),
        notes=notes_view(look, about=trial.id, back=f"/trials/{trial.id}", studio=facts.studio),
    )


def _next(facts: TrialFacts, route: Route) -> NextStep:
    station = route.station(route.current)
    href = f"/trials/{facts.trial.id}/{station.name}"
    if station.next:
        return NextStep(station.name.capitalize(), station.next, station.words, href, False)
    waiting = next((one for one in route.stations if one.next), None)
    if waiting is not None:
        return NextStep(
            waiting.name.capitalize(),
            waiting.next,
            waiting.words,
            f"/trials/{facts.trial.id}/{waiting.name}",
            False,
        )
    measured = route.station("measure")
    return NextStep("Measure", "Everything is measured. Read what differs.", measured.words, href, True)


def _card(facts: TrialFacts, one: Candidate, notes: Sequence[str]) -> CandidateCard:
    medium, printer = facts.medium_of(one), facts.printer_of(one)
    lot = next((lot for lot in facts.lots if lot.id == one.lot_id), None)
    parts = [
        f"lot {lot.code}" if lot else "lot not stated",
        printer.name if printer else "printer not stated",
    ]
    settings = [(words, setting_words(one.recipe, field)) for field, words in _SHORT.items()]
    stated = [words.format(told) for words, told in settings if told != "not stated"]
    origin = one.recipe.profile_origin
    return CandidateCard(
        id=one.id,
        href=f"/trials/{facts.trial.id}/candidates/{one.id}",
        name=one.name,
        house=one.house,
        finish=one.finish,
        medium=medium.name,
        medium_href=f"/stock/media/{medium.id}",
        stock=", ".join(parts),
        recipe=", ".join(stated) if stated else "Recipe not stated yet",
        profile=f"profile: {origin}" if origin else "",
        withdrawn=f"Withdrawn: {one.withdrawn_why}" if one.withdrawn_at else "",
        notes=tuple(notes),
    )


def _row(facts: TrialFacts, sheet: Sheet, *, now: datetime) -> SheetRow:
    clocks = sheet_clocks(facts, sheet, now=now)
    turn = f"day {sheet.day}, turn {sheet.place}" if sheet.place else ""
    return SheetRow(
        id=sheet.id,
        code=sheet.code,
        href=f"/trials/{facts.trial.id}/sheets/{sheet.id}",
        candidate=facts.candidate(sheet.candidate_id).name,
        turn=turn,
        use=sheet.use,
        stage=stage_words(clocks, time_zone=facts.studio.time_zone, now=now),
        readings=_readings(facts, sheet),
    )


def stage_words(clocks: SheetClocks, *, time_zone: str, now: datetime) -> str:
    """Where a sheet stands, in words."""
    ends = clocks.dry_at if clocks.stage == "drying" else clocks.cured_at
    ready = moment_short(ends, time_zone=time_zone, now=now) if ends else ""
    return _STAGES[clocks.stage].format(ready=ready)


def _readings(facts: TrialFacts, sheet: Sheet) -> str:
    own = facts.readings_of(sheet.id)
    if not own:
        return "–"
    usable = sum(is_usable(facts, reading_id=one.id) for one in own)
    left = len(own) - usable
    told = f"{usable} in use" if usable else "none in use"
    return f"{told}, {left} left out" if left else told
