"""What a chart offers: its different device colours, where white, the ramps and the surface are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData
from laydown.science.findings.reduction import SAME_COLOUR, Reduced
from laydown.science.gamut import DeviceSurface, NoSurface, UniqueColours, explain_surface, unique_colours
from laydown.science.tone import Ramp, neutral_ramp, primary_ramps

MISSING_ALLOWED = Constant(0.02, "of the colours", "our own choice", "common practice, no source")


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A set of different device colours (u, k) and what is where among them; row numbers into ``device``.

    ``white`` is the unprinted medium, ``neutral`` the grey ramp; None where the chart lacks it.
    """

    channels: tuple[str, ...]
    device: Floats
    white: int | None
    neutral: Ramp | None
    primaries: Mapping[str, Ramp]
    surface: DeviceSurface | NoSurface


def make_chart(device: Floats, *, channels: Sequence[str]) -> Chart:
    """Find white, ramps and surface among the device colours of a chart.

    Parameters
    ----------
    device : (n, k)
        Device values of all patches, 0 to 1; equal ones are merged.
    channels
        Names of the k columns, such as R, G, B.

    Returns
    -------
    Chart

    Notes
    -----
    Checked against: measured charts with known white and black (``tests/reference``).
    """
    colours = unique_colours(device).device
    light = is_light(channels)
    return Chart(
        channels=tuple(channels),
        device=colours,
        white=_row_of(colours, 1.0 if light else 0.0),
        neutral=_neutral(colours, channels),
        primaries=primary_ramps(colours, channels=channels),
        surface=explain_surface(colours, channels=channels),
    )


def is_light(channels: Sequence[str]) -> bool:
    """Whether the channels are light (RGB: 1 is paper) and not ink (1 is full ink).

    Parameters
    ----------
    channels
        Channel names.

    Returns
    -------
    bool

    Notes
    -----
    Checked against: nothing outside; it is a definition.
    """
    return tuple(channels) == ("R", "G", "B")


def place_on_chart(chart: Chart, item: Reduced) -> UniqueColours | None:
    """Which colour of the chart each patch of a reading is, or None where it was read from another chart.

    Parameters
    ----------
    chart
        The chart to place it on.
    item
        A reading of n patches.

    Returns
    -------
    UniqueColours or None
        The chart's colours, with ``inverse`` (n,) the colour of each patch, -1 for a patch the chart has not.

    Notes
    -----
    A reading may miss up to 2 % of a chart's colours (patches lost to a misread) and hold as many strangers.

    Checked against: shuffled, shortened and foreign charts in the tests.
    """
    if item.device is None or item.channels != chart.channels:
        return None
    from scipy.spatial import cKDTree

    reach = float(SAME_COLOUR)
    known = np.flatnonzero(~np.isnan(item.device).any(axis=1))
    query = cKDTree(chart.device).query(item.device[known], distance_upper_bound=reach * 2, p=np.inf)
    apart, nearest = (np.asarray(part) for part in query)
    inverse = np.full(len(item.device), -1, dtype=np.int64)
    found = apart <= reach
    inverse[known[found]] = nearest[found]
    missing = len(chart.device) - len(np.unique(inverse[inverse >= 0]))
    strangers = len(item.device) - int(found.sum())
    allowed = max(2.0, float(MISSING_ALLOWED) * len(chart.device))
    if missing > allowed or strangers > allowed:
        return None
    return UniqueColours(device=chart.device, inverse=inverse)


def same_chart(first: Reduced, second: Reduced) -> bool:
    """Whether two readings are of one chart, but for a few patches lost.

    Parameters
    ----------
    first, second
        Readings; without device values the number of patches has to do.

    Returns
    -------
    bool

    Notes
    -----
    Either has to find nearly all of its colours on the other; see ``place_on_chart``.

    Checked against: shortened and foreign charts in the tests.
    """
    if first.device is None or second.device is None:
        return first.device is second.device and len(first.lab) == len(second.lab)
    if first.channels != second.channels:
        return False
    small, large = sorted((first, second), key=lambda item: len(item.lab))
    if small.device is large.device:
        return True
    assert large.device is not None
    return place_on_chart(colours_alone(large.device, channels=large.channels), small) is not None


def colours_alone(device: Floats, *, channels: Sequence[str]) -> Chart:
    """A chart of which nothing is asked but its colours.

    Parameters
    ----------
    device, channels
        As for ``make_chart``.

    Returns
    -------
    Chart

    Notes
    -----
    Checked against: ``make_chart``.
    """
    return Chart(tuple(channels), unique_colours(device).device, None, None, {}, NoSurface("not asked for"))


def _neutral(colours: Floats, channels: Sequence[str]) -> Ramp | None:
    try:
        return neutral_ramp(colours, channels=channels)
    except NotEnoughData:
        return None


def _row_of(colours: Floats, level: float) -> int | None:
    rows: Ints = np.flatnonzero(np.all(np.abs(colours - level) < float(SAME_COLOUR), axis=1)).astype(np.int64)
    return int(rows[0]) if rows.size else None
