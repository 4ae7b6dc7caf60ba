"""A trial with its order drawn and a form of one device and one picture page, for tests of layouts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from laydown.science.forms.form_wish import FormWish
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import draw_order, shares_of, sheet_codes
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.test_form import FormPage, TestForm
from laydown.trials.trial import Candidate, Plan, Trial

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
NAMES = ("rag", "canvas", "canvas coated")


def a_form(*sizes: tuple[float, float], **changes: Any) -> TestForm:
    """A form with pages of these sizes: D1, then P1, P2 ..."""
    sizes = sizes or ((400.0, 300.0), (400.0, 180.0))
    pages = tuple(
        FormPage(
            name=f"P{number}" if number else "D1",
            use="picture" if number else "device",
            width_mm=wide,
            length_mm=long,
            patches=0 if number else 400,
            geometry_sha256="0" * 64,
        )
        for number, (wide, long) in enumerate(sizes)
    )
    told: dict[str, Any] = {
        "id": "form",
        "trial_id": "t",
        "code": "F7K2",
        "wish": FormWish(code="F7K2", width_mm=max(wide for wide, _ in sizes)),
        "pages": pages,
        "reference_sha256": "1" * 64,
        "made_at": NOW,
        "made_with": "test",
    }
    return TestForm(**(told | changes))


def a_drawn_trial(
    *,
    sheets: int = 4,
    days: int = 2,
    spares: int = 1,
    roll: dict[str, Any] | None = None,
    plan: dict[str, Any] | None = None,
    printer: dict[str, Any] | None = None,
) -> TrialFacts:
    """A house rag on its own roll; a canvas, bare and coated, on one roll. 17 in x 20 ft = 432 x 6096 mm."""
    told_plan: dict[str, Any] = {
        "sheets_per_candidate": sheets, "days": days, "spare_sheets": spares, "seed": 3, "drawn_at": NOW,
        "order": "randomised, grouped within day",
    }  # fmt: skip
    stock: dict[str, Any] = {"form": "roll", "width_mm": 432.0, "length_mm": 12192.0}
    facts = TrialFacts(
        studio=Studio(id="studio", time_zone="UTC"),
        trial=Trial(id="t", name="Spring trial", begun=NOW.date()),
        plan=Plan(id="plan", trial_id="t", **(told_plan | (plan or {}))),
        candidates=tuple(
            Candidate(
                id=f"c-{name}",
                trial_id="t",
                medium_id=f"m-{name.split()[0]}",
                name=name,
                house=name == "rag",
                position=position,
                lot_id=f"l-{name.split()[0]}",
                roll_id=f"r-{name.split()[0]}",
                printer_id="p",
                finish="coated" if "coated" in name else "uncoated",
                twin_id="c-canvas" if "coated" in name else None,
            )
            for position, name in enumerate(NAMES)
        ),
        media=(Medium(id="m-rag", name="Rag"), Medium(id="m-canvas", name="Canvas", kind="canvas")),
        lots=(
            Lot(id="l-rag", medium_id="m-rag", code="1"),
            Lot(id="l-canvas", medium_id="m-canvas", code="2"),
        ),
        rolls=tuple(
            Roll(id=f"r-{name}", lot_id=f"l-{name}", **(stock | (roll or {}))) for name in ("rag", "canvas")
        ),
        printers=(Printer(id="p", name="Wide one", **(printer or {})),),
    )
    return drawn(facts)


def drawn(facts: TrialFacts) -> TrialFacts:
    """The same with its sheets drawn as its plan has it, spares behind them."""
    assert facts.plan is not None
    shares = shares_of(facts)
    turns = draw_order(shares, days=facts.plan.days, seed=facts.plan.seed, way=facts.plan.order)
    tests = [
        Sheet(
            id=f"s-{turn.code}",
            trial_id="t",
            candidate_id=turn.candidate_id,
            code=turn.code,
            place=turn.place,
            day=turn.day,
        )
        for turn in turns
    ]
    owners = [share.candidate_id for share in shares for _ in range(facts.plan.spare_sheets)]
    codes = sheet_codes(len(owners), seed=9, taken=[one.code for one in tests])
    spares = [
        Sheet(id=f"s-{code}", trial_id="t", candidate_id=owner, code=code, use="spare")
        for owner, code in zip(owners, codes, strict=True)
    ]
    return replace(facts, sheets=(*tests, *spares))


def printed(facts: TrialFacts, *codes: str, kind: str = "printed") -> TrialFacts:
    """The same with something having happened to some sheets."""
    events = tuple(
        SheetEvent(id=f"{kind}-{code}", trial_id="t", sheet_id=f"s-{code}", at=NOW, kind=kind)  # type: ignore[arg-type]  # by name
        for code in codes
    )
    return replace(facts, events=(*facts.events, *events))


def arm(facts: TrialFacts, name: str) -> Candidate:
    return next(one for one in facts.candidates if one.name == name)
