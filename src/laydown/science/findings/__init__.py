"""From readings to named numbers: what was found about one medium under one condition, sheet by sheet.

``reduce_readings`` brings a file's table to a common form, ``gather_sheets`` sorts readings into sheets,
``make_chart`` and ``lay_on_chart`` align them by device colour, ``find_everything`` works out every metric of
the ``catalogue``. Whether a difference is real is not decided here; see ``laydown.science.deciding``.
"""

from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.chart import Chart, make_chart, place_on_chart
from laydown.science.findings.everything import find_everything
from laydown.science.findings.found import Found
from laydown.science.findings.likeness import Likeness, likeness
from laydown.science.findings.metric import FAMILY_TITLES, Metric
from laydown.science.findings.on_chart import SheetOnChart, lay_on_chart
from laydown.science.findings.pairing import Sheet, gather_sheets
from laydown.science.findings.reduction import Reduced, reduce_readings

__all__ = [
    "FAMILY_TITLES",
    "METRICS",
    "Chart",
    "Found",
    "Likeness",
    "Metric",
    "Reduced",
    "Sheet",
    "SheetOnChart",
    "find_everything",
    "gather_sheets",
    "lay_on_chart",
    "likeness",
    "make_chart",
    "place_on_chart",
    "reduce_readings",
]
