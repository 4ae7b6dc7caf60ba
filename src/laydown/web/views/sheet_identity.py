"""The whole identity of a sheet: two sheets may be compared only if what differs is what is under test."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.trials.clocks import SheetClocks
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.recipes import LABELS, setting_words
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.web.room_climate import room_words
from laydown.web.views.stock_words import roll_words

NOT_STATED = "not stated"
_SETTINGS = (
    "media_setting", "quality", "resolution_ppi", "passes", "direction", "ink_adjust_percent",
    "ink_load_ml_m2", "black_ink", "head_gap", "cutter_off", "feed_adjust", "drying_seconds_per_pass",
)  # fmt: skip
_COLOUR = (
    "profile_name", "profile_sha256", "profile_origin", "profile_media_setting", "intent",
    "black_point_compensation", "colour_managed_by", "file_name", "file_sha256",
)  # fmt: skip
_HEAD = {"head replaced": "head replaced", "head cleaned": "cleaned", "nozzle check": "nozzle check"}


@dataclass(frozen=True, slots=True)
class Stated:
    """One part of the identity; ``known`` is False where nobody stated it."""

    label: str
    words: str
    known: bool


@dataclass(frozen=True, slots=True)
class IdentityGroup:
    """Parts of the identity that belong together."""

    name: str
    parts: tuple[Stated, ...]


def sheet_identity(
    look: Look, facts: TrialFacts, sheet: Sheet, clocks: SheetClocks, *, now: datetime
) -> tuple[IdentityGroup, ...]:
    """Everything stated about a sheet, from the medium to its age; what is missing is shown as missing."""
    run = next((one for one in facts.runs if one.id == sheet.run_id), None)
    return (
        IdentityGroup("Medium", tuple(_medium(look, facts, sheet))),
        IdentityGroup("Printer", tuple(_printer(look, facts, sheet, run))),
        IdentityGroup(
            "Settings, as really set" if run else "Settings, as planned", tuple(_set(facts, sheet, run))
        ),
        IdentityGroup("Print", tuple(_print(facts, sheet, run, clocks, now=now))),
    )


def recipe_of(facts: TrialFacts, sheet: Sheet, run: BenchRun | None) -> Recipe:
    """The recipe of a sheet: as really set in its sitting, else as planned."""
    return run.recipe if run else facts.candidate(sheet.candidate_id).recipe


def coat_words(coat: Coat | None) -> str:
    """A coat in a line."""
    if coat is None:
        return ""
    told = (
        coat.product,
        f"batch {coat.batch}" if coat.batch else "",
        f"dilution {coat.dilution}" if coat.dilution else "",
        coat.tool,
        f"{coat.coats} coat{'' if coat.coats == 1 else 's'}" if coat.coats is not None else "",
        f"{coat.wet_g_m2:g} g/m² wet" if coat.wet_g_m2 is not None else "",
        f"flow cup {coat.flow_cup_seconds:g} s" if coat.flow_cup_seconds is not None else "",
        coat.words,
    )
    return ", ".join(part for part in told if part)


def turn_in_sitting(facts: TrialFacts, sheet: Sheet, run: BenchRun | None) -> int | None:
    """Which print of its sitting a sheet was, from 1."""
    if run is None:
        return None
    ids = {one.id for one in facts.sheets if one.run_id == run.id}
    printed = [event.sheet_id for event in facts.events if event.kind == "printed" and event.sheet_id in ids]
    return printed.index(sheet.id) + 1 if sheet.id in printed else None


def _stated(label: str, words: str) -> Stated:
    return Stated(label, words or NOT_STATED, bool(words) and words != NOT_STATED)


def _medium(look: Look, facts: TrialFacts, sheet: Sheet) -> Iterator[Stated]:
    candidate = facts.candidate(sheet.candidate_id)
    medium: Medium = facts.medium_of(candidate)
    supplier = look.seek(Supplier, medium.supplier_id)
    roll = look.seek(Roll, sheet.roll_id or candidate.roll_id)
    lot = look.seek(Lot, roll.lot_id if roll else candidate.lot_id)
    yield _stated("medium", medium.name)
    yield _stated("supplier", supplier.name if supplier else "")
    yield _stated("lot", lot.code if lot else "")
    yield _stated("roll or box", roll_words(roll, units=facts.studio.units) if roll else "")
    yield _stated("finish", candidate.finish)


def _printer(look: Look, facts: TrialFacts, sheet: Sheet, run: BenchRun | None) -> Iterator[Stated]:
    candidate = facts.candidate(sheet.candidate_id)
    printer = look.seek(Printer, run.printer_id if run else candidate.printer_id)
    yield _stated("printer", printer.name if printer else "")
    yield _stated("serial", printer.serial if printer else "")
    yield _stated("ink set", printer.ink_set if printer else "")
    if printer is None or run is None:
        yield _stated("firmware", printer.firmware if printer else "")
        return
    before = [
        event
        for event in look.find(PrinterEvent, printer_id=printer.id, order=("at", "id"))
        if event.at <= run.begun_at
    ]
    zone = facts.studio.time_zone
    firmware = next((event.words for event in reversed(before) if event.kind == "firmware"), "")
    yield _stated("firmware", firmware or printer.firmware)
    ink = next((event for event in reversed(before) if event.kind == "ink"), None)
    yield _stated("last ink noted", f"{ink.words}, {moment_words(ink.at, time_zone=zone)}" if ink else "")
    head = next((event for event in reversed(before) if event.kind in _HEAD), None)
    state = f"{_HEAD[head.kind]} {moment_words(head.at, time_zone=zone)}" if head else ""
    yield _stated("head, last noted", f"{state} {head.words}".strip() if head else "")


def _set(facts: TrialFacts, sheet: Sheet, run: BenchRun | None) -> Iterator[Stated]:
    recipe = recipe_of(facts, sheet, run)
    for name in (*_SETTINGS, *_COLOUR):
        yield _stated(LABELS[name], setting_words(recipe, name))


def _print(
    facts: TrialFacts, sheet: Sheet, run: BenchRun | None, clocks: SheetClocks, *, now: datetime
) -> Iterator[Stated]:
    zone, units = facts.studio.time_zone, facts.studio.units
    printed = _first(facts, sheet, "printed")
    coated = _first(facts, sheet, "coated")
    mounted = _first(facts, sheet, "mounted")
    turn = turn_in_sitting(facts, sheet, run)
    room = room_words(printed.room_c, printed.room_rh, units=units) if printed else ""
    yield _stated("printed", moment_words(printed.at, time_zone=zone) if printed else "")
    yield _stated("print number in its sitting", str(turn) if turn else "")
    yield _stated("room", room)
    yield _stated("cure", f"{clocks.cure_hours:g} h: {clocks.cure_why}")
    if facts.candidate(sheet.candidate_id).finish == "coated":
        yield _stated("coat", coat_words(coated.coat) if coated else "")
        yield _stated("coated", moment_words(coated.at, time_zone=zone) if coated else "")
        yield _stated("coat dries", f"{clocks.dry_hours:g} h: {clocks.dry_why}")
    yield _stated("mount", (mounted.words or "mounted") if mounted else "")
    if printed:
        hours = (now - printed.at) / timedelta(hours=1)
        yield _stated("age now", f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days")


def _first(facts: TrialFacts, sheet: Sheet, kind: str) -> SheetEvent | None:
    return next((event for event in facts.events_of(sheet.id) if event.kind == kind), None)
