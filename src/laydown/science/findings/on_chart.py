"""The sheets of one medium under one condition, laid on one chart: one value per sheet and colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.findings.chart import Chart, place_on_chart
from laydown.science.findings.pairing import Sheet
from laydown.science.findings.reduction import Reduced
from laydown.science.gamut import UniqueColours, average_by_colour
from laydown.science.numeric.known_mean import known_mean


@dataclass(frozen=True, slots=True, eq=False)
class SheetOnChart:
    """One sheet under one condition: ``lab`` (u, 3), ``visual`` (u,), ``status_t`` (u, 3) by chart colour.

    Repeated readings are averaged into them and kept apart in ``readings``; ``places`` holds, for each
    reading, the chart colour of every patch. Without device values, colours are patches in file order.
    """

    name: str
    lab: Floats
    visual: Floats
    status_t: Floats
    readings: tuple[Reduced, ...]
    places: tuple[Ints, ...]

    @property
    def condition(self) -> str:
        """Condition, backing and colorimetry in words."""
        return self.readings[0].condition


def lay_on_chart(sheet: Sheet, readings: Sequence[Reduced], chart: Chart | None) -> SheetOnChart | None:
    """Lay the readings of one sheet under one condition on a chart; None where they are of another chart.

    Parameters
    ----------
    sheet
        The sheet, for its name.
    readings
        Its readings under the one condition, at least one.
    chart
        The chart, or None for files without device values.

    Returns
    -------
    SheetOnChart or None

    Notes
    -----
    Readings that are not of the chart are passed over where others are.

    Checked against: simulated sheets in the tests.
    """
    placed = [(item, _places(item, chart)) for item in readings]
    fitting = [(item, place) for item, place in placed if place is not None]
    if not fitting:
        return None
    return SheetOnChart(
        name=sheet.name,
        lab=known_mean([average_by_colour(item.lab, place) for item, place in fitting]),
        visual=known_mean([average_by_colour(item.visual[:, None], place) for item, place in fitting])[:, 0],
        status_t=known_mean([average_by_colour(item.status_t, place) for item, place in fitting]),
        readings=tuple(item for item, _ in fitting),
        places=tuple(place.inverse for _, place in fitting),
    )


def _places(item: Reduced, chart: Chart | None) -> UniqueColours | None:
    if chart is not None:
        return place_on_chart(chart, item)
    if item.device is not None:
        return None
    rows = np.arange(len(item.lab), dtype=np.int64)
    return UniqueColours(device=rows[:, None].astype(np.float64), inverse=rows)
