"""Every number Laydown finds about a medium: what it is, its unit, its source, and the margin that matters.

Page, PDF, JSON, terminal and docs all read this list. Adding a metric starts in the file of its family.
"""

from __future__ import annotations

from laydown.kernel.constants import Constant
from laydown.science.findings.black_metrics import BLACK_METRICS
from laydown.science.findings.gamut_metrics import GAMUT_METRICS
from laydown.science.findings.metric import Metric
from laydown.science.findings.spread_metrics import SPREAD_METRICS
from laydown.science.findings.tone_metrics import TONE_METRICS
from laydown.science.findings.white_metrics import WHITE_METRICS

# How well an ordinary instrument repeats on paper, by unit; shown where one sheet allows no interval.
INSTRUMENT_NOISE: dict[str, Constant] = {
    unit: Constant(size, unit, "short-term repeatability of ordinary instruments on paper", "from memory")
    for unit, size in (
        ("L*", 0.1),
        ("a*", 0.1),
        ("b*", 0.1),
        ("C*", 0.1),
        ("dE00", 0.1),
        ("D", 0.01),
        ("%", 0.1),
    )
}

METRICS: dict[str, Metric] = {
    metric.id: metric
    for metric in (*WHITE_METRICS, *BLACK_METRICS, *GAMUT_METRICS, *TONE_METRICS, *SPREAD_METRICS)
}
