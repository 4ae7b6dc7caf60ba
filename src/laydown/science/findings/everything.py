"""Every metric of the catalogue, for one medium under one condition."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from laydown.science.findings.black_findings import black_findings
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.gamut_findings import gamut_findings
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.findings.spread_findings import spread_findings
from laydown.science.findings.tone_findings import tone_findings
from laydown.science.findings.white_findings import white_findings


def find_everything(
    sheets: Sequence[SheetOnChart],
    chart: Chart | None,
    *,
    others: Mapping[tuple[str, str], Sequence[SheetOnChart]],
) -> dict[str, Found]:
    """Work out every finding the sheets allow.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition, at least one.
    chart
        Their chart, or None where the files have no device values.
    others
        The same medium's sheets under its other conditions, by (M, backing).

    Returns
    -------
    dict of str to Found
        By the ids of ``METRICS``; what cannot be found is not there.

    Notes
    -----
    Checked against: reference figures of measured charts (``tests/reference``).
    """
    return {
        **white_findings(sheets, chart, others=others),
        **black_findings(sheets, chart),
        **gamut_findings(sheets, chart),
        **tone_findings(sheets, chart),
        **spread_findings(sheets, chart),
    }
