"""Gloss at one place and angle as findings and differences like any other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from laydown.science.deciding.apart import mean_apart
from laydown.science.deciding.types import Difference, Quantity
from laydown.science.medium.gloss import ANGLES, STEP, gloss_margin
from laydown.usecases.comparison import ComparedDifference, Finding
from laydown.usecases.measuring.gloss_of_sheets import DIFFERENTIAL, GlossOfSheet, Under
from laydown.usecases.measuring.type_gloss import PAPER_WHITE

UNIT = "GU"
DECIMALS = 1
ALPHA, CONFIDENCE = 0.05, 0.95
MARGIN_SOURCE = "a tenth of the gloss held against, at least 1 GU: our own judgement, no source"
METHODS: Mapping[bool, str] = {
    False: "mean over sheets of the mean of repeats at this place; interval over sheets",
    True: "paper white less black of the same sheet at the same angle: our own simple definition",
}


def finding_id(under: Under) -> str:
    """Such as "gloss_paper_white_60_along"."""
    parts = ("gloss", *under.place.removeprefix("gloss ").split(), str(under.angle), under.direction)
    return "_".join(part for part in parts if part)


def condition_of(under: Under, sheets: Sequence[GlossOfSheet]) -> str:
    """The angle, how the meter lay, and which meters: what stands beside every number."""
    meters = sorted({meter for one in sheets for meter in one.meters})
    return f"{under.words}, {' and '.join(meters)}"


def quantity_of(under: Under, *, level: float) -> Quantity:
    """What is judged; ``level`` is the gloss of what is held against, for the margin."""
    margin = gloss_margin(level) if np.isfinite(level) else None
    return Quantity(finding_id(under), UNIT, margin=margin, resolution=float(STEP))


def finding_of(under: Under, sheets: Sequence[GlossOfSheet]) -> Finding:
    """Gloss of one medium as a finding like any other: the mean over its sheets and the interval."""
    found = mean_apart(
        [one.value for one in sheets], quantity_of(under, level=float("nan")), confidence=CONFIDENCE
    )
    return Finding(
        id=finding_id(under),
        label=under.label,
        family="gloss",
        value=found.value,
        low=found.low,
        high=found.high,
        n=found.n,
        sd=found.sd,
        unit=UNIT,
        decimals=DECIMALS,
        condition=condition_of(under, sheets),
        method=METHODS[under.place == DIFFERENTIAL],
        source=ANGLES[under.angle],
        judged=True,
        note="one sheet: no interval" if found.n == 1 else "",
        per_sheet=tuple((one.sheet.code, one.value) for one in sheets),
    )


def told_difference(under: Under, told: Difference, *, condition: str) -> ComparedDifference:
    """A difference in gloss like any other."""
    return ComparedDifference(
        finding=finding_id(under),
        label=under.label,
        unit=UNIT,
        decimals=DECIMALS,
        condition=condition,
        candidate=told.candidate,
        against=told.against,
        difference=told.difference,
        low=told.low,
        high=told.high,
        margin=told.margin,
        margin_source=MARGIN_SOURCE,
        call=told.call,
        sheets_needed=told.sheets_needed,
        p_adjusted=told.p_adjusted,
        real=told.real,
        refused=told.refused,
        reason=told.reason,
    )


def level_of(under: Under, sheets: Sequence[GlossOfSheet], every: Sequence[GlossOfSheet]) -> float:
    """The gloss a margin is a share of: the mean, and for the differential that of the paper white."""
    if under.place == DIFFERENTIAL:
        ids = {one.sheet.id for one in sheets}
        white = Under(PAPER_WHITE, under.angle, under.direction)
        sheets = [one for one in every if one.under == white and one.sheet.id in ids]
    return float(np.mean([one.value for one in sheets])) if sheets else float("nan")
