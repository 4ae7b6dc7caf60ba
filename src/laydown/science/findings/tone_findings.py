"""Tone, sheet by sheet: reversals, lost steps and grey balance of the neutral ramp."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.tone import TOLD_APART, Ramp, grey_balance, lost_steps, tone_reversal


def tone_findings(sheets: Sequence[SheetOnChart], chart: Chart | None) -> dict[str, Found]:
    """What the neutral ramp says.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        Their chart; without device values, or without a ramp, there is nothing to say.

    Returns
    -------
    dict of str to Found

    Notes
    -----
    Checked against: see ``laydown.science.tone``.
    """
    if chart is None or chart.neutral is None:
        return {}
    ramp = chart.neutral
    labs = np.stack([sheet.lab[ramp.rows] for sheet in sheets])
    whole: Bools = np.asarray(np.isfinite(labs).all(axis=(1, 2)))
    note = "" if whole.all() else f"{int((~whole).sum())} sheet(s) lack a step of the ramp"
    if not whole.any():
        return {}
    kind = f"{len(ramp)} steps, {ramp.kind}"
    reversal = tone_reversal(labs[whole])
    lost = lost_steps(labs[whole])
    greys = grey_balance(labs[whole])
    threshold = f"{kind}; told apart from {float(TOLD_APART):g} dE00"
    return {
        "tone_reversal": Found(
            _fill(whole, reversal.rise), detail=_where(reversal.step, ramp, kind), note=note
        ),
        "shadow_steps_lost": Found(_fill(whole, lost.shadow), detail=threshold, note=note),
        "highlight_steps_lost": Found(_fill(whole, lost.highlight), detail=threshold, note=note),
        "grey_balance": Found(_fill(whole, greys.mean), detail=kind, note=note),
        "grey_balance_p95": Found(_fill(whole, greys.p95), detail=kind, note=note),
        "grey_balance_max": Found(_fill(whole, greys.largest), detail=kind, note=note),
    }


def _fill(whole: Bools, values: Floats | Ints) -> Floats:
    filled = np.full(len(whole), np.nan)
    filled[whole] = values
    return filled


def _where(steps: Ints, ramp: Ramp, kind: str) -> str:
    risen = steps[steps >= 0]
    if not risen.size:
        return f"{kind}; monotone on every sheet"
    return f"{kind}; largest rise at {float(ramp.steps[int(np.bincount(risen).argmax())]):.0%} of full ink"
