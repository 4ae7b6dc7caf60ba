"""What the page of a sheet's drift shows: the verdict in words, the curve, its numbers, what was left out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from urllib.parse import urlencode

import numpy as np

from laydown.report.wording import number, symbols
from laydown.science.settling import DriftCurve
from laydown.trials.clocks import sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet
from laydown.usecases.bench.drift_of_sheet import SheetDrift
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class OccasionLine:
    """Readings at one age, set against the last."""

    age: str
    readings: int
    mean: str
    p95: str
    worst: str
    agrees: str
    rests: bool
    rate: str
    density: str


@dataclass(frozen=True, slots=True)
class DriftView:
    """How a sheet changed. ``why_not`` says why there is no curve, "" where there is one."""

    frame: TrialFrame
    trial_id: str
    sheet_id: str
    code: str
    candidate: str
    why_not: str
    verdict: str
    todo: str
    condition: str
    finish: str
    repeatability: str
    patches: int
    occasions: tuple[OccasionLine, ...]
    left_out: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, str], ...]
    query: str
    density_of: str
    compared: str


def drift_view(facts: TrialFacts, sheet: Sheet, found: SheetDrift, *, now: datetime) -> DriftView:
    """The page of a drift."""
    curve = found.curve
    used = curve.repeatability
    names = found.names
    followed = ", ".join(names[patch] for patch in curve.followed)
    source = "a planning value, from memory" if used.planning else used.source
    hours = sheet_clocks(facts, sheet, now=now).cure_hours
    return DriftView(
        frame=trial_frame(facts, now=now, here="settle"),
        trial_id=facts.trial.id,
        sheet_id=sheet.id,
        code=sheet.code,
        candidate=facts.candidate(sheet.candidate_id).name,
        why_not="",
        verdict=symbols(curve.settling.sentence),
        todo=symbols(curve.settling.todo),
        condition=found.condition,
        finish=found.finish,
        repeatability=f"{number(used.patch, 2)} ΔE00 between two readings of a patch: {source}",
        patches=int(curve.patches.size),
        occasions=tuple(_occasion(found, row) for row in range(curve.hours.size)),
        left_out=tuple((one.file_name, one.why) for one in found.left_out),
        others=tuple((name, urlencode({"condition": name})) for name in found.others),
        query=urlencode({"condition": found.condition}),
        density_of=f"patch {followed}, {curve.density_from}",
        compared=_compared(curve, hours) if found.finish == "uncoated" else "",
    )


def no_drift_view(facts: TrialFacts, sheet: Sheet, *, now: datetime, why: str) -> DriftView:
    """The page where there is no curve yet, with the reason."""
    return DriftView(
        frame=trial_frame(facts, now=now, here="settle"),
        trial_id=facts.trial.id,
        sheet_id=sheet.id,
        code=sheet.code,
        candidate=facts.candidate(sheet.candidate_id).name,
        why_not=why,
        verdict="",
        todo="",
        condition="",
        finish="",
        repeatability="",
        patches=0,
        occasions=(),
        left_out=(),
        others=(),
        query="",
        density_of="",
        compared="",
    )


def _compared(curve: DriftCurve, hours: float) -> str:
    """The verdict beside the hours that are waited; "" where there is none, or density speaks against it."""
    settled = curve.settled_at_hours
    if settled is None:
        return ""
    if np.abs(curve.density_change[curve.hours >= settled]).max() > curve.density_limit:
        return ""
    if settled <= hours:
        return (
            f"This sheet was at rest before its {hours:g} h of cure were over. One sheet in one room is a "
            "hint, not a rule: read a second one before the hours are shortened, and keep those for glazing."
        )
    return f"This sheet came to rest after its {hours:g} h of cure were over: give this candidate longer."


def _occasion(found: SheetDrift, row: int) -> OccasionLine:
    curve, last = found.curve, found.curve.hours.size - 1
    rate = float(curve.rate[row])
    change = float(curve.density_change[row])
    if row == last:
        return OccasionLine(
            _age(float(curve.hours[row])), int(curve.readings[row]), "last", "", "", "", True,
            _rate(rate), number(float(curve.density[row]), 3),
        )  # fmt: skip
    worst = found.names[int(curve.from_last.worst[row])]
    mean, limit = float(curve.from_last.mean[row]), float(curve.limit[row])
    return OccasionLine(
        age=_age(float(curve.hours[row])),
        readings=int(curve.readings[row]),
        mean=number(mean, 2),
        p95=number(float(curve.from_last.p95[row]), 2),
        worst=f"{number(float(curve.from_last.largest[row]), 2)} ({worst})",
        agrees=number(limit, 2),
        rests=mean <= limit,
        rate=_rate(rate),
        density=f"{number(float(curve.density[row]), 3)} ({number(change, 3, signed=True)})",
    )


def _rate(rate: float) -> str:
    return "" if not np.isfinite(rate) else number(rate, 3 if rate < 0.1 else 2)


def _age(hours: float) -> str:
    if hours < 1:
        return f"{60 * hours:.0f} min"
    return f"{hours:.1f} h".replace(".0 h", " h")
