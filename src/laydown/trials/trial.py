"""A trial: its question, its brief, its candidates and its plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from laydown.trials.recipe import NOTHING_SET, Coat, Recipe

Finish = Literal["uncoated", "coated"]
Product = Literal["wrapped canvas", "framed paper", "open-framed paper", "loose sheet"]
OrderKind = Literal["randomised, blocked by day", "randomised, grouped within day", "as listed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One trial. ``removed_at`` is set while it is in the trash; ``chart_sha256`` names its chart.

    ``cure_hours`` and ``dry_hours`` are taken from the studio when a trial begins, so that its clocks stay
    the same wherever it is opened later.
    """

    id: str
    name: str
    question: str = ""
    client: str = ""
    begun: date
    closed_at: datetime | None = None
    removed_at: datetime | None = None
    chart_name: str = ""
    chart_sha256: str = ""
    cure_hours: float = 24.0
    dry_hours: float = 24.0
    invented: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A must-have: a candidate that fails it is out, whatever else it does well."""

    name: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """What counts, and how much; weights are shares of their sum. ``finding`` names a measured finding."""

    name: str
    weight: float
    finding: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedDifference:
    """The smallest difference in a finding that would matter to this studio.

    In the finding's own unit; a share of the value (0.05 for 5 %) where the catalogue's margin is one.
    """

    finding: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """What is sold and what counts, fixed before printing. One per trial.

    ``question`` is what the trial is to answer, in one sentence. ``seal`` is the SHA-256 of everything above
    it, set when the brief is sealed; from then on the brief changes only through a ``BriefChange``, which
    never touches these fields.
    """

    id: str
    trial_id: str
    question: str = ""
    products: tuple[Product, ...] = ()
    sizes: str = ""
    display_light: str = ""
    viewing_distance: str = ""
    glazing: str = ""
    coating: str = ""
    must_match: str = ""
    gates: tuple[Gate, ...] = ()
    criteria: tuple[Criterion, ...] = ()
    judges: str = ""
    lights: str = ""
    differences: tuple[WantedDifference, ...] = ()
    stop_date: date | None = None
    words: str = ""
    sealed_at: datetime | None = None
    sealed_by: str = ""
    seal: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefChange:
    """A dated change to a sealed brief: which field, from what to what (in words), why, by whom.

    ``part`` names the gate, criterion or finding where the field holds several, else "". ``before_plain`` and
    ``after_plain`` are the values themselves as JSON text ("null" where the part was not there, or is taken
    out), so that the brief in force is computed and never retyped (see ``brief_changes``).
    """

    id: str
    trial_id: str
    at: datetime
    by: str
    field: str
    part: str = ""
    before: str
    after: str
    before_plain: str
    after_plain: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One arm of a trial: a medium of a lot, in one finish, on one printer with one recipe.

    The coated and the uncoated arm of a medium are two candidates that know each other: ``twin_id`` of the
    coated one names the uncoated one.
    """

    id: str
    trial_id: str
    medium_id: str
    name: str
    house: bool = False
    position: int = 0
    lot_id: str | None = None
    roll_id: str | None = None
    printer_id: str | None = None
    finish: Finish = "uncoated"
    coat: Coat | None = None
    twin_id: str | None = None
    recipe: Recipe = NOTHING_SET
    cure_hours: float | None = None
    dry_hours: float | None = None
    withdrawn_at: datetime | None = None
    withdrawn_why: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How many sheets, in which order and why. One per trial; ``drawn_at`` says when the order was drawn.

    Lengths are for one candidate. ``seed`` is stated so that the order can be drawn again.
    """

    id: str
    trial_id: str
    sheets_per_candidate: int = 5
    why: str = ""
    order: OrderKind = "randomised, blocked by day"
    days: int = 2
    seed: int = 1
    first_day: date | None = None
    sheet_length_mm: float | None = None
    sheet_width_mm: float | None = None
    chart_length_mm: float | None = None
    strip_length_mm: float | None = None
    handling_length_mm: float | None = None
    fading_length_mm: float | None = None
    setting_length_mm: float | None = None
    spare_sheets: int = 1
    drawn_at: datetime | None = None
