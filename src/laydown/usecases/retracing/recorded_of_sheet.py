"""Evidence from the records of a bad print: recipe, printer, clocks and room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from laydown.kernel.constants import Constant
from laydown.records.look import Look
from laydown.science.faults import (
    BlackInk,
    Evidence,
    clock_evidence,
    colour_path_evidence,
    printer_evidence,
    room_evidence,
)
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.retracing.measured_of_sheet import surface_of

PAUSE = Constant(
    12.0,
    "h",
    "our judgement: a night; shorter rests seldom show on the first print",
    "common practice, no source",
)
_CLEANED = ("head cleaned", "head replaced")


@dataclass(frozen=True, slots=True)
class Recorded:
    """Evidence from records; ``unknown`` says what is not on record, in sentences."""

    evidence: tuple[Evidence, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pause:
    """Whether a print was the first after a pause or a cleaning, and how that is known."""

    first: bool | None
    words: str = ""


def run_of(facts: TrialFacts, sheet: Sheet) -> BenchRun | None:
    """The sitting a sheet was printed in."""
    return next((run for run in facts.runs if run.id == sheet.run_id), None)


def recipe_set(facts: TrialFacts, sheet: Sheet) -> Recipe:
    """How a sheet was really printed; the recipe planned for its candidate where no sitting is on record."""
    run = run_of(facts, sheet)
    return run.recipe if run is not None else facts.candidate(sheet.candidate_id).recipe


def recorded_of_sheet(
    look: Look, facts: TrialFacts, sheet: Sheet, *, hours_to_reading: float | None
) -> Recorded:
    """What the records of a sheet speak for and against."""
    parts = [
        _colour_path(facts, sheet),
        _printer(look, facts, sheet),
        _clocks(facts, sheet, hours_to_reading=hours_to_reading),
        _room(facts, sheet),
    ]
    return Recorded(
        tuple(piece for part in parts for piece in part.evidence),
        tuple(words for part in parts for words in part.unknown),
    )


def pause_before(look: Look, facts: TrialFacts, sheet: Sheet) -> Pause:
    """Whether a sheet was the first print after idle time or a head cleaning, as far as is on record."""
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    run = run_of(facts, sheet)
    if printed is None or run is None:
        return Pause(None)
    before = max(_earlier_prints(look, facts, run, printed.at), default=None)
    for event in look.find(PrinterEvent, printer_id=run.printer_id, order=("-at", "id")):
        between = event.at <= printed.at and (before is None or event.at >= before)
        recent = printed.at - event.at < timedelta(hours=PAUSE.value)
        if event.kind in _CLEANED and between and (before is not None or recent):
            return Pause(True, f"No print is on record between it and a {_NAMES[event.kind]}.")
    if before is None:
        return Pause(None)
    gap = (printed.at - before) / timedelta(hours=1)
    if gap < PAUSE.value:
        return Pause(False)
    words = (
        f"For {gap:.0f} h before it no print is on record here; other work of this printer is not recorded."
    )
    return Pause(True, words)


_NAMES = {"head cleaned": "head cleaning", "head replaced": "new head"}


def _earlier_prints(look: Look, facts: TrialFacts, run: BenchRun, at: datetime) -> Iterator[datetime]:
    """When this printer printed before, in this trial and in sittings of others."""
    own = {one.id for one in facts.runs if one.printer_id == run.printer_id}
    sheets = {one.id for one in facts.sheets if one.run_id in own}
    yield from (e.at for e in facts.events if e.kind == "printed" and e.sheet_id in sheets and e.at < at)
    for other in look.find(BenchRun, printer_id=run.printer_id):
        if other.id not in own and other.ended_at is not None and other.ended_at < at:
            yield other.ended_at


def _colour_path(facts: TrialFacts, sheet: Sheet) -> Recorded:
    recipe = recipe_set(facts, sheet)
    times = len(recipe.colour_managed_by)
    if not times:
        # A chart is printed unmanaged on purpose, and a recipe that says nothing looks the same.
        words = (
            "Where its colours were managed: the record of settings names no place, as is right for a chart."
        )
        return Recorded((), (words,))
    medium = {"own": True, "borrowed": False}.get(recipe.profile_origin)
    setting = (
        _same(recipe.profile_media_setting, recipe.media_setting)
        if recipe.profile_media_setting and recipe.media_setting
        else None
    )
    found = colour_path_evidence(
        times_managed=times, profile_for_this_medium=medium, profile_for_this_setting=setting
    )
    unknown = [
        (medium is None, "Whether its profile was made on this medium in this studio."),
        (setting is None, "Whether its profile was made with this media setting."),
        (True, "Whether its profile was made on this lot: no record holds that."),
    ]
    return Recorded(found, tuple(words for lacking, words in unknown if lacking))


def _printer(look: Look, facts: TrialFacts, sheet: Sheet) -> Recorded:
    candidate = facts.candidate(sheet.candidate_id)
    medium, recipe = facts.medium_of(candidate), recipe_set(facts, sheet)
    run = run_of(facts, sheet)
    coated = bool(facts.events_of(sheet.id, "coated"))
    pause = pause_before(look, facts, sheet)
    gap = _gap_widened(recipe, _printer_used(facts, run, candidate.printer_id))
    nozzles = _nozzles(run)
    setting = (
        _same(recipe.media_setting, candidate.recipe.media_setting)
        if run is not None and recipe.media_setting and candidate.recipe.media_setting
        else None
    )
    black = _black_ink(recipe)
    found = printer_evidence(
        surface=surface_of(medium, coated=coated),
        black_ink=black,
        weight_g_m2=medium.weight_gsm,
        thickness_mm=None if medium.caliper_um is None else medium.caliper_um / 1000.0,
        gap_widened=gap,
        cutter_used=None if recipe.cutter_off is None else not recipe.cutter_off,
        nozzles_whole=nozzles,
        first_after_pause=pause.first,
        setting_for_this_medium=setting,
        two_way={"one way": False, "both ways": True}.get(recipe.direction),
        protected=_protected(facts, sheet, medium),
    )
    if pause.words:
        found = tuple(
            replace(piece, words=pause.words) if piece.id == "first-after-pause" else piece for piece in found
        )
    unknown = [
        (surface_of(medium, coated=coated) is None, "What kind of surface the medium has."),
        (black is None, "Which black ink was used."),
        (gap is None, "Whether the head gap was widened."),
        (nozzles is None, "Whether the nozzle pattern was whole."),
        (pause.first is None, "Whether it was the first print after a pause or a head cleaning."),
        (setting is None, "Whether the media setting was that of the recipe."),
        (not recipe.direction, "Whether the head printed in one direction or both."),
    ]
    return Recorded(found, tuple(words for lacking, words in unknown if lacking))


def _clocks(facts: TrialFacts, sheet: Sheet, *, hours_to_reading: float | None) -> Recorded:
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    if printed is None:
        return Recorded((), ("When it was printed, and so how old it was.",))

    def hours_to(kind: str) -> float | None:
        then = next((event for event in facts.events_of(sheet.id) if event.kind == kind), None)
        return None if then is None else round((then.at - printed.at) / timedelta(hours=1), 1)

    medium = facts.medium_of(facts.candidate(sheet.candidate_id))
    found = clock_evidence(
        hours_to_reading=None if hours_to_reading is None else round(hours_to_reading, 1),
        hours_to_coating=hours_to("coated"),
        hours_to_glazing=hours_to("glazed"),
        barrier_paper=bool(medium.barrier),
        humidity_percent=_humidity(facts, sheet),
    )
    return Recorded(found, ())


def _room(facts: TrialFacts, sheet: Sheet) -> Recorded:
    run = run_of(facts, sheet)
    humidity, rested = _humidity(facts, sheet), _rested(run)
    form = next((roll.form for roll in facts.rolls if roll.id == (sheet.roll_id or "")), "sheets")
    found = room_evidence(humidity_percent=humidity, hours_rested=rested, roll=form == "roll")
    unknown = [
        (humidity is None, "How humid the room was."),
        (rested is None, "How long the medium had rested in the room."),
        (True, "How warm it was at the printer's last calibration: no record holds that."),
    ]
    return Recorded(found, tuple(words for lacking, words in unknown if lacking))


def _printer_used(facts: TrialFacts, run: BenchRun | None, planned: str | None) -> Printer | None:
    used = run.printer_id if run is not None else planned
    return next((one for one in facts.printers if one.id == used), None)


def _gap_widened(recipe: Recipe, printer: Printer | None) -> bool | None:
    """Whether the gap is one of the wider half of the printer's own; those in the middle count as not."""
    gaps = [gap.casefold() for gap in printer.head_gaps] if printer else []
    if recipe.head_gap.casefold() not in gaps:
        return None
    return gaps.index(recipe.head_gap.casefold()) > (len(gaps) - 1) / 2


def _nozzles(run: BenchRun | None) -> bool | None:
    tick = next((one for one in run.ticks if one.step == "nozzles"), None) if run else None
    if tick is None or tick.skipped:
        return None
    return tick.value.casefold() in ("", "whole")  # the step itself says that every line must be whole


def _rested(run: BenchRun | None) -> float | None:
    tick = next((one for one in run.ticks if one.step == "rested"), None) if run else None
    if tick is None or tick.skipped:
        return None
    try:
        return float(tick.value.replace(",", "."))
    except ValueError:
        return None


def _black_ink(recipe: Recipe) -> BlackInk | None:
    words = recipe.black_ink.casefold()
    matte, photo = "matte" in words, "photo" in words
    return None if matte == photo else "matte" if matte else "photo"


def _protected(facts: TrialFacts, sheet: Sheet, medium: Medium) -> bool | None:
    """Whether it was coated. Any sheet is bare to begin with: only canvas put to use bare speaks."""
    if facts.events_of(sheet.id, "coated"):
        return True
    used = any(event.kind in ("mounted", "glazed") for event in facts.events_of(sheet.id))
    return False if medium.kind == "canvas" and used else None


def _humidity(facts: TrialFacts, sheet: Sheet) -> float | None:
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    if printed is not None and printed.room_rh is not None:
        return printed.room_rh
    run = run_of(facts, sheet)
    return run.room_rh if run else None


def _same(one: str, other: str) -> bool:
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())
