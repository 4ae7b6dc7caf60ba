"""Where the spread of a colour comes from: sheets, places on a sheet, readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats, Ints
from laydown.science.numeric.variance_components import nested_components


@dataclass(frozen=True, slots=True)
class Share:
    """Standard deviations of one source over all colours, in Lab distance (dE76 units): mean, p95, max.

    NaN where no colour lets this source be told from the others.
    """

    mean: float
    p95: float
    max: float
    colours: int


@dataclass(frozen=True, slots=True, eq=False)
class SpreadComponents:
    """Spread by source; ``variance`` (g, 3 sources, 3) in squared L*, a*, b* for each device colour.

    The sources are ``sheet``, ``place`` (repeats of the colour on one sheet) and ``reading``. A source that
    was not repeated is NaN, and its variance is then part of the source before it: with one reading of
    everything, place holds the reading too, and with no repeated patch either, sheet holds all three.
    ``group_numbers`` (g,) says which device colour it is.
    """

    sheet: Share
    place: Share
    reading: Share
    variance: Floats
    group_numbers: Ints


def variance_components(labs: ArrayLike, *, groups: ArrayLike) -> SpreadComponents:
    """Split the spread of each device colour into sheet, place on the sheet, and reading.

    Parameters
    ----------
    labs : (s, r, n, 3) array
        s sheets, r readings of each, n patches; NaN where missing.
    groups : (n,) array of int
        Equal numbers mean equal device colours; negative numbers are left out.

    Returns
    -------
    SpreadComponents
        Standard deviations are square roots of the variances summed over L*, a* and b*.

    Notes
    -----
    Where nothing was repeated every number is NaN. Analysis of variance on L*, a*, b* separately (nested,
    method of moments), negative estimates cut at zero before they are summed. With few sheets the sheet
    component is itself very uncertain: two sheets give it one degree of freedom.

    References
    ----------
    See ``laydown.science.numeric.variance_components``.

    Checked against
    ---------------
    Simulated sheets with known components, balanced and with missing readings.
    """
    data, numbers = np.asarray(labs, dtype=np.float64), np.asarray(groups, dtype=np.int64)
    sheets, readings = data.shape[:2]
    found, counts = np.unique(numbers[numbers >= 0], return_counts=True)
    variance = np.full((found.size, 3, 3), np.nan)
    for count in np.unique(counts):
        chosen = np.flatnonzero(counts == count)
        places = np.stack([np.flatnonzero(numbers == found[item]) for item in chosen])
        # (g, 3, sheet, place, reading), the order of the nested levels
        block = np.moveaxis(data[:, :, places], (2, 4), (0, 1)).swapaxes(3, 4)
        variance[chosen] = _nested(block.reshape(chosen.size, 3, -1), sheets, int(count), readings)
    return SpreadComponents(
        sheet=_share(variance[:, 0]),
        place=_share(variance[:, 1]),
        reading=_share(variance[:, 2]),
        variance=variance,
        group_numbers=found,
    )


def _nested(values: Floats, sheets: int, places: int, readings: int) -> Floats:
    """(g, 3 sources, 3) from (g, 3, sheets x places x readings); colours with gaps are done one by one."""
    sheet, place, _ = np.indices((sheets, places, readings)).reshape(3, -1)
    out = np.full((len(values), 3, 3), np.nan)
    whole = np.isfinite(values).all(axis=(1, 2))
    if whole.any():
        out[whole] = np.moveaxis(nested_components(values[whole], levels=(sheet, place)).variance, 0, 1)
    for item in np.flatnonzero(~whole):
        there = np.isfinite(values[item]).all(axis=0)
        if there.sum() >= 2:
            found = nested_components(values[item][:, there], levels=(sheet[there], place[there]))
            out[item] = found.variance
    return out


def _share(variance: Floats) -> Share:
    """Summary over colours of the summed variances of one source."""
    deviation = np.sqrt(variance.sum(axis=-1))
    known = deviation[np.isfinite(deviation)]
    if not known.size:
        nan = float("nan")
        return Share(nan, nan, nan, 0)
    return Share(
        mean=float(known.mean()),
        p95=float(np.percentile(known, 95.0)),
        max=float(known.max()),
        colours=int(known.size),
    )
