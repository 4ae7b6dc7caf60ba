"""A small trial as facts, for the tests of its rules: a house rag, a baryta, a canvas bare and coated."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.recipe import Coat
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent, SheetEventKind
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Brief, Candidate, Plan, Trial

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)
NAMES = ("rag", "baryta", "canvas", "canvas coated")


def after(hours: float) -> datetime:
    return MONDAY + timedelta(hours=hours)


def sealed(brief: Brief, *, at: datetime = MONDAY - timedelta(days=1)) -> Brief:
    return replace(brief, sealed_at=at, sealed_by="Ada", seal=seal_of(brief, at=at, by="Ada"))


def a_trial() -> TrialFacts:
    """Four candidates, two sheets each over two days, brief sealed, nothing printed yet."""
    media = (
        Medium(id="m-rag", name="Rag", surface="matte", weight_gsm=310, barrier=False),
        Medium(id="m-baryta", name="Baryta", surface="baryta", barrier=True),
        Medium(id="m-canvas", name="Canvas", kind="canvas", surface="matte", barrier=False),
    )
    medium = {"rag": "m-rag", "baryta": "m-baryta", "canvas": "m-canvas", "canvas coated": "m-canvas"}
    candidates = tuple(
        Candidate(
            id=f"c-{name}",
            trial_id="t",
            medium_id=medium[name],
            name=name,
            house=name == "rag",
            position=position,
            lot_id=f"l-{medium[name]}",
            roll_id=f"r-{medium[name]}",
            printer_id="p",
            finish="coated" if name == "canvas coated" else "uncoated",
            coat=Coat(product="Clear", coats=2) if name == "canvas coated" else None,
            twin_id="c-canvas" if name == "canvas coated" else None,
        )
        for position, name in enumerate(NAMES)
    )
    sheets = tuple(
        Sheet(
            id=f"s-{name}-{day}",
            trial_id="t",
            candidate_id=f"c-{name}",
            code=f"{letter}{day + 1}",
            place=(day - 1) * 4 + turn,
            day=day,
        )
        for day in (1, 2)
        for turn, (name, letter) in enumerate(zip(NAMES, "KHTX", strict=True), start=1)
    )
    return TrialFacts(
        studio=Studio(id="studio"),
        trial=Trial(id="t", name="Spring trial", begun=date(2026, 2, 27)),
        brief=sealed(Brief(id="b", trial_id="t", question="Which canvas?", stop_date=date(2026, 3, 20))),
        plan=Plan(id="plan", trial_id="t", sheets_per_candidate=2, days=2, first_day=date(2026, 3, 2)),
        candidates=candidates,
        sheets=sheets,
        media=media,
        lots=tuple(Lot(id=f"l-{one.id}", medium_id=one.id, code=f"21-{one.name}") for one in media),
        rolls=tuple(
            Roll(id=f"r-{one.id}", lot_id=f"l-{one.id}", form="roll", width_mm=432, length_mm=6096)
            for one in media
        ),
        printers=(Printer(id="p", name="Wide", head_gaps=("narrow", "wide", "widest"), has_cutter=True),),
    )


def event(sheet_id: str, kind: SheetEventKind, at: datetime, *, rh: float | None = None) -> SheetEvent:
    return SheetEvent(
        id=f"{sheet_id} {kind} {at.isoformat()}",
        trial_id="t",
        sheet_id=sheet_id,
        at=at,
        kind=kind,
        room_rh=rh,
    )


def with_events(facts: TrialFacts, *events: SheetEvent) -> TrialFacts:
    return replace(facts, events=tuple(sorted((*facts.events, *events), key=lambda one: one.at)))


def all_printed(facts: TrialFacts, at: datetime = MONDAY) -> TrialFacts:
    return with_events(facts, *(event(sheet.id, "printed", at) for sheet in facts.sheets))


def a_reading(sheet_id: str | None, at: datetime, *, stated: bool = True) -> Reading:
    return Reading(
        id=f"reading {sheet_id} {at.isoformat()}",
        trial_id="t",
        sheet_id=sheet_id,
        source="dropped",
        file_name=f"{sheet_id}.txt",
        file_sha256="0" * 64,
        received_at=at,
        measured_at=at if stated else None,
    )


def a_gloss(sheet_id: str, at: datetime, **told: Any) -> GlossReading:
    plain = GlossReading(
        id=f"gloss {sheet_id} {at.isoformat()}",
        trial_id="t",
        sheet_id=sheet_id,
        place="paper white",
        angle=60,
        values=(3.0, 3.2),
        received_at=at,
        measured_at=at,
    )
    return replace(plain, **told)


def with_readings(facts: TrialFacts, *readings: Reading) -> TrialFacts:
    return replace(facts, readings=(*facts.readings, *readings))
