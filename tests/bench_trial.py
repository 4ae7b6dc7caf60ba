"""A small invented trial at the bench: two candidates, one with a coated arm, sheets drawn, brief sealed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Brief, Candidate, Plan, Trial

RECIPE = Recipe(
    media_setting="Heavy rag 2",
    quality="fine",
    resolution_ppi=720,
    direction="one way",
    black_ink="matte",
    head_gap="wide",
    cutter_off=True,
    profile_name="rag-own",
    profile_sha256="9f" * 32,
    profile_origin="own",
    profile_media_setting="Heavy rag 2",
    intent="relative colorimetric",
    black_point_compensation=True,
    colour_managed_by=("application",),
    file_name="test-print-3.tif",
    file_sha256="1c" * 32,
)


@dataclass(frozen=True, slots=True)
class BenchTrial:
    """Ids of what was made: rag is the house medium, canvas has a coated arm, gloss has a barrier layer."""

    trial: str = "trial"
    printer: str = "printer"
    rag: str = "rag"
    canvas: str = "canvas"
    canvas_coated: str = "canvas-coated"
    gloss: str = "gloss"

    def facts(self, records: Records) -> TrialFacts:
        """Everything about the trial as it is kept now."""
        with records.look() as look:
            return load_facts(look, self.trial)

    def sheet(self, records: Records, candidate: str, number: int = 0) -> Sheet:
        """A test sheet of a candidate, in print order."""
        tests = [one for one in self.facts(records).sheets_of(candidate) if one.use == "test"]
        return tests[number]


def make_bench_trial(
    records: Records, *, sheets: int = 2, spares: int = 1, sealed: bool = True, rh: float | None = None
) -> BenchTrial:
    """Keep the trial in one transaction; its clocks are 24 h to cure and 24 h to dry."""
    made = BenchTrial()
    with records.work("made", who="Ada", words="a trial to test with") as work:
        if work.seek(Studio, STUDIO_ID) is None:
            work.add(Studio(id=STUDIO_ID, name="Saltmarsh Print Room (invented)", time_zone="Europe/London"))
        work.add(Printer(id=made.printer, name="North wall", head_gaps=("normal", "wide"), has_cutter=True))
        work.add(
            Trial(
                id=made.trial, name="Spring trial", question="Which rag for big work?", begun=date(2026, 3, 2)
            )
        )
        media = {
            "rag": Medium(id="m-rag", name="Fenland Rag", surface="matte", weight_gsm=310, barrier=False),
            "canvas": Medium(id="m-canvas", name="Withy Canvas", kind="canvas", surface="matte"),
            "gloss": Medium(id="m-gloss", name="Samphire Gloss", surface="gloss", barrier=True),
        }
        for name, medium in media.items():
            work.add(medium)
            work.add(Lot(id=f"l-{name}", medium_id=medium.id, code=f"{name[:2].upper()}-77"))
            work.add(Roll(id=f"r-{name}", lot_id=f"l-{name}", form="roll", code="1", length_mm=12_000))
        gloss = replace(RECIPE, black_ink="photo", media_setting="Photo gloss 1", profile_media_setting="")
        candidates = (
            ("rag", "Fenland Rag", RECIPE, {"house": True}),
            ("canvas", "Withy Canvas", RECIPE, {}),
            ("gloss", "Samphire Gloss", gloss, {}),
        )
        for position, (name, label, recipe, more) in enumerate(candidates, 1):
            work.add(
                Candidate(
                    id=name, trial_id=made.trial, medium_id=f"m-{name}", name=label, position=position,
                    lot_id=f"l-{name}", roll_id=f"r-{name}", printer_id=made.printer, recipe=recipe, **more,
                )
            )  # fmt: skip
        work.add(
            replace(
                work.get(Candidate, made.canvas), id=made.canvas_coated, name="Withy Canvas, coated",
                position=4, finish="coated", coat=Coat(product="Clear coat 5", coats=2), twin_id=made.canvas,
            )
        )  # fmt: skip
        work.add(
            Plan(
                id="plan", trial_id=made.trial, sheets_per_candidate=sheets, days=1, seed=7,
                first_day=work.now.date(), sheet_length_mm=480.0, setting_length_mm=300.0,
                spare_sheets=spares, drawn_at=work.now,
            )
        )  # fmt: skip
        _add_sheets(work, made, sheets, spares)
        brief = Brief(id="brief", trial_id=made.trial, question="Which rag for big work?")
        if sealed:
            at = work.now - timedelta(hours=1)
            brief = replace(brief, sealed_at=at, sealed_by="Ada", seal=seal_of(brief, at=at, by="Ada"))
        work.add(brief)
    return made


def _add_sheets(work: Work, made: BenchTrial, sheets: int, spares: int) -> None:
    place = 0
    arms = (made.rag, made.canvas, made.canvas_coated, made.gloss)
    for number in range(sheets):
        for arm, letter in zip(arms, "KRTX", strict=True):
            place += 1
            code = f"{letter}{number + 2}"
            work.add(Sheet(id=f"s-{code}", trial_id=made.trial, candidate_id=arm, code=code, place=place))
    for number in range(spares):
        for arm, letter in zip(arms, "CEHN", strict=True):
            code = f"{letter}{number + 2}"
            work.add(Sheet(id=f"s-{code}", trial_id=made.trial, candidate_id=arm, code=code, use="spare"))
